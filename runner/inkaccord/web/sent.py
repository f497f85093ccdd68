"""That a vendor was sent its files, taken down on an order's page."""

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from inkaccord.errors import InkaccordError
from inkaccord.report.sending import mark_sent, not_sent
from inkaccord.report.wording import vendor_title
from inkaccord.unchanged import RunInputs, run_to_send
from inkaccord.web.order import shown_order
from inkaccord.web.studio import OrderOnPage, asked_order
from inkaccord.web.typed import typed_day
from inkaccord.web.undoing import Doing, undos


async def sent(request: Request) -> Response:
    """Take down that a vendor was sent the zip that lies there."""
    order, form = asked_order(request), await request.form()
    vendor, on = (str(form.get(it, "")) for it in ("vendor", "on"))
    try:
        doing = await run_in_threadpool(_marked, order, vendor, on)
    except InkaccordError as problem:
        return await run_in_threadpool(shown_order, request, problem, 409)
    return undos(request).done(doing)


def _marked(order: OrderOnPage, vendor: str, on: str) -> Doing:
    loaded = order.loaded
    inputs = RunInputs.read(order.with_book(), order.plugins)
    run = run_to_send(inputs, order.out, order.shelf, "run it again", sent=True)
    sending = mark_sent(loaded, run, order.out, vendor, typed_day(on))

    def undo() -> None:
        not_sent(loaded, sending)

    what = "was sent its files" if sending.files else "was told that its files do not hold"
    words = f"Taken down: {vendor_title(loaded.order, vendor)} {what}."
    return Doing(words, f"/order/{order.key}", undo)
