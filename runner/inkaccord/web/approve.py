"""What a client approved, taken down on an order's page."""

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from inkaccord.errors import InkaccordError, OrderError
from inkaccord.report.approving import ApprovalTold, approve, take_back
from inkaccord.web.order import shown_order
from inkaccord.web.studio import MOST_TYPED, OrderOnPage, asked_order
from inkaccord.web.typed import typed_day
from inkaccord.web.undoing import Doing, undos
from inkaccord.web.uploads import uploads_of


async def approved(request: Request) -> Response:
    """Take an approval down, with the signed page where one was dropped, and run the order.

    Nothing can be sent before, since the record that it rests on knows of no approval.
    """
    order, uploads = asked_order(request), uploads_of(request)
    async with request.form(max_files=1) as form:
        by, note, code = (str(form.get(it, "")).strip() for it in ("by", "note", "code"))
        on = str(form.get("on", ""))
        held = await uploads.of_form(form, "scan")
    scan = uploads.find(held)[0] if held else None
    try:
        given = ApprovalTold(by[:MOST_TYPED], typed_day(on), note[:MOST_TYPED], code, scan)
        doing = await run_in_threadpool(_taken_down, order, given)
    except InkaccordError as problem:
        return await run_in_threadpool(shown_order, request, problem, 409)
    finally:
        uploads.discard(held)
    request.app.state.runs.start(order.key, ["run", str(order.path)])
    return undos(request).done(doing)


def _taken_down(order: OrderOnPage, given: ApprovalTold) -> Doing:
    if not given.by:
        raise OrderError.of("no-name", "say who approved it")
    loaded = order.with_book()
    approval = approve(loaded, order.run, order.out, given)

    def undo() -> None:
        take_back(loaded, approval)

    words = f"Taken down: {approval.by} approved what the client’s page shows."
    return Doing(words, f"/order/{order.key}", undo)
