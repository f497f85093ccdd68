"""What was changed since another order, on a page."""

from starlette.requests import Request
from starlette.responses import Response

from inkaccord.errors import InkaccordError
from inkaccord.report.between import OrderSide, between, order_side
from inkaccord.run.differing import RunDifferences
from inkaccord.web.rendering import page
from inkaccord.web.studio import OrderOnPage, Studio, asked_order


def differences_page(request: Request) -> Response:
    """Say what was changed since an order that is chosen; without one, ask for it."""
    order = asked_order(request)
    studio: Studio = request.app.state.studio
    others = [it for it in studio.orders() if it.key != order.key and it.run is not None]
    key = request.query_params.get("since", "")
    chosen = next((it for it in others if it.key == key), None)
    try:
        found = None if chosen is None else between(_side(chosen), _side(order))
    except InkaccordError as problem:
        return _shown(order, others, key, None, problem)
    return _shown(order, others, key, found)


def _side(order: OrderOnPage) -> OrderSide:
    return order_side(order.with_book(), order.run, order.title)


def _shown(
    order: OrderOnPage,
    others: list[OrderOnPage],
    since: str,
    found: RunDifferences | None,
    problem: InkaccordError | None = None,
) -> Response:
    return page(
        "differences.html",
        200 if problem is None else 409,
        order=order,
        others=others,
        since=since,
        found=found,
        findings=problem.findings if problem else (),
    )
