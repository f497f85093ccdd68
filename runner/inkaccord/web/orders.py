"""The first page: every order in the folder, where it stands, and what it waits for."""

from dataclasses import dataclass

from starlette.requests import Request
from starlette.responses import Response

from inkaccord.errors import InkaccordError
from inkaccord.report.sample_round import in_brief, sample_round
from inkaccord.report.wording import first_step, how_pieces_stand
from inkaccord.run.record import PieceStatus
from inkaccord.shelf.overview import SheetSummary
from inkaccord.shelf.place import ShelfPlace
from inkaccord.shelf.store import Shelf
from inkaccord.today import today
from inkaccord.web.rendering import page
from inkaccord.web.studio import OrderOnPage, Studio


@dataclass(frozen=True)
class OrderRow:
    """An order as the list shows it."""

    order: OrderOnPage
    counts: tuple[tuple[PieceStatus, int], ...]
    next: str
    samples: tuple[str, ...] = ()
    """Where its sample sheets are, in brief."""


def orders(request: Request) -> Response:
    """Show every order in the opened folder."""
    studio: Studio = request.app.state.studio
    shelves: dict[ShelfPlace, tuple[SheetSummary, ...]] = {}
    return page(
        "orders.html",
        rows=[_row(it, shelves) for it in studio.orders()],
        opened=studio.opened,
        holds_others=studio.holds_others,
        on_network=request.app.state.start.joining is not None,
    )


def _row(order: OrderOnPage, shelves: dict[ShelfPlace, tuple[SheetSummary, ...]]) -> OrderRow:
    run = order.run_now
    if run is None:
        waits = "Mend its file" if order.trouble else "Run it for the first time"
        return OrderRow(order, (), waits)
    waits = "Changed since its last run: run it again" if order.is_stale else first_step(run)
    if order.shelf not in shelves:
        shelves[order.shelf] = _lines(order.shelf)
    samples = in_brief(sample_round(order.loaded.order, shelves[order.shelf]), today())
    return OrderRow(order, tuple(how_pieces_stand(run).items()), waits, tuple(samples))


def _lines(place: ShelfPlace) -> tuple[SheetSummary, ...]:
    """Return what lies on a shelf; nothing where it can't be opened."""
    try:
        with Shelf.open(place) as shelf, shelf.one_state():
            return shelf.overview(drift=False)
    except InkaccordError:
        return ()
