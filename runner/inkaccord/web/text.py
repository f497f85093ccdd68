"""The order file as text, with what is wrong beside its line."""

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from inkaccord.diagnostics import Diagnostic
from inkaccord.errors import InkaccordError
from inkaccord.web.answering import done_in_file, order_text, save
from inkaccord.web.draft import checked
from inkaccord.web.rendering import page
from inkaccord.web.studio import OrderOnPage, asked_order
from inkaccord.web.undoing import Undos, undos


def text_page(request: Request) -> Response:
    """Show the order file as it stands."""
    order = asked_order(request)
    findings = order.trouble.findings if order.trouble else order.loaded.findings
    return _shown(order, order.text, order.sha256, findings)


async def keep(request: Request) -> Response:
    """Write the text into the order file, if it is an order; else show it as it was typed."""
    order, form = asked_order(request), await request.form()
    typed, was = str(form.get("text", "")), str(form.get("was", ""))
    if form.get("do") == "check":
        return await run_in_threadpool(_checked, request, order, typed, was)
    return await run_in_threadpool(_keep, undos(request), order, typed, was)


def _checked(request: Request, order: OrderOnPage, typed: str, was: str) -> Response:
    state = request.app.state
    findings, looking = checked(order, typed, state.soon, state.studio.opened)
    return _shown(order, typed, was, findings, looking=looking)


def _keep(undone: Undos, order: OrderOnPage, typed: str, was: str) -> Response:
    before = order_text(order)
    try:
        save(order, typed, was)
    except InkaccordError as problem:
        return _shown(order, typed, was, problem.findings, status=409)
    words, at = "The order file is kept as typed.", f"/order/{order.key}"
    return undone.done(done_in_file(order, before, words, at))


def _shown(
    order: OrderOnPage,
    text: str,
    was: str,
    findings: tuple[Diagnostic, ...],
    status: int = 200,
    *,
    looking: bool = False,
) -> Response:
    by_line = sorted(findings, key=lambda finding: finding.place.line or 0)
    to_mend = [at for at, it in enumerate(by_line, 1) if it.is_to_mend]
    return page(
        "text.html",
        status,
        order=order,
        text=text,
        was=was,
        findings=by_line,
        count=len(to_mend),
        first=next(iter(to_mend), 1),
        looking=looking,
    )
