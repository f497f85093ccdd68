"""The first page: every order in the folder, where it stands, and what it waits for."""

from collections import Counter
from dataclasses import dataclass

from starlette.requests import Request
from starlette.responses import Response

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
    found = Counter(it.status for it in run.pieces)
    counts = tuple((status, found[status]) for status in PieceStatus if found[status])
    if order.is_stale:
        waits = "Changed since its last run: run it again"
    else:
        waits = run.next[0].text if run.next else "Nothing more is asked"
    return OrderRow(order, counts, waits)
