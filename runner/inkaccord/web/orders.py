"""The first page: every order in the folder, where it stands, and what it waits for."""

from dataclasses import dataclass

from starlette.requests import Request
from starlette.responses import Response

from inkaccord.report.wording import first_step, how_pieces_stand
from inkaccord.run.record import PieceStatus
from inkaccord.web.rendering import page
from inkaccord.web.studio import OrderOnPage, Studio


@dataclass(frozen=True)
class OrderRow:
    """An order as the list shows it."""

    order: OrderOnPage
    counts: tuple[tuple[PieceStatus, int], ...]
    next: str


def orders(request: Request) -> Response:
    """Show every order in the opened folder."""
    studio: Studio = request.app.state.studio
    return page(
        "orders.html",
        rows=[_row(it) for it in studio.orders()],
        opened=studio.opened,
        on_network=request.app.state.start.joining is not None,
    )


def _row(order: OrderOnPage) -> OrderRow:
    run = order.run
    if run is None:
        waits = "Mend its file" if order.trouble else "Run it for the first time"
        return OrderRow(order, (), waits)
    waits = "Changed since its last run: run it again" if order.is_stale else first_step(run)
    return OrderRow(order, tuple(how_pieces_stand(run).items()), waits)
