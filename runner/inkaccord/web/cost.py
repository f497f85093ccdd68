"""What an order costs, what other vendors ask for its pieces, and both for the books."""

from starlette.requests import Request
from starlette.responses import Response

from inkaccord.prepress.offers import offers
from inkaccord.report.cost_list import cost_csv, cost_list, quote_lines
from inkaccord.run.paying import charges_now
from inkaccord.web.rendering import page
from inkaccord.web.studio import asked_order


def cost_page(request: Request) -> Response:
    """Show what ``cost`` says: what is to be paid, and quotes for the same piece side by side."""
    order = asked_order(request)
    charges, as_run = charges_now(order.loaded, order.run)
    asked = offers(order.loaded.order, order.run, request.app.state.recent).items()
    return page(
        "cost_page.html",
        order=order,
        cost=cost_list(charges),
        as_run=as_run,
        quotes=[(order.loaded.order.jobs[piece], quote_lines(made)) for piece, made in asked],
    )


def save_csv(request: Request) -> Response:
    """Send the file that ``cost --csv`` writes."""
    order = asked_order(request)
    charges, _ = charges_now(order.loaded, order.run)
    named = {"Content-Disposition": 'attachment; filename="cost.csv"'}
    data = cost_csv(order.loaded.order, charges)
    return Response(data, media_type="text/csv; charset=utf-8", headers=named)
