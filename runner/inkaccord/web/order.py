"""An order's page: what to do next comes first, then where it stands, and all that was made."""

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from inkaccord.diagnostics import Diagnostic, Severity, error
from inkaccord.errors import InkaccordError
from inkaccord.order.pricing import states_prices
from inkaccord.report.cost_list import cost_list
from inkaccord.report.wording import first_step
from inkaccord.run.record import PieceStatus
from inkaccord.web.answering import answer_in_file, done_in_file, order_text
from inkaccord.web.cards import client_card, parcel_cards, step_cards
from inkaccord.web.rendering import page
from inkaccord.web.running import Commands, Running, as_events
from inkaccord.web.studio import MOST_TYPED, OrderOnPage, asked_order
from inkaccord.web.undoing import told, undos


def order_page(request: Request) -> Response:
    """Show an order as its file and its last run say."""
    return shown_order(request)


async def run(request: Request) -> Response:
    """Start a run; where one goes on it is left to go on."""
    order, _ = _asked(request)
    if order.trouble is None:
        request.app.state.runs.start(order.key, ["run", str(order.path)])
    form = await request.form()
    return _back(order, "/suite" if form.get("to") == "suite" else "")


async def stop(request: Request) -> Response:
    """Stop the run of an order."""
    order, running = _asked(request)
    if running is not None:
        running.stop()
    return _back(order)


async def answer(request: Request) -> Response:
    """Write the lines of a choice into the order file."""
    form = await request.form()
    said = (str(form.get(it, "")).strip() for it in ("step", "choice", "said"))
    return await run_in_threadpool(_answer, request, *said)


def _answer(request: Request, step: str, choice: str, why: str) -> Response:
    order = asked_order(request)
    before = order_text(order)
    try:
        answer_in_file(order, step, choice, why[:MOST_TYPED])
    except InkaccordError as problem:
        return shown_order(request, problem, status=409, said=why)
    words, at = "The choice stands in the order file.", f"/order/{order.key}"
    return undos(request).done(done_in_file(order, before, words, at))


def progress(request: Request) -> Response:
    """Send what a run says, and that it has ended."""
    return as_events(_asked(request)[1])


def _asked(request: Request) -> tuple[OrderOnPage, Running | None]:
    runs: Commands = request.app.state.runs
    order = asked_order(request)
    return order, runs.of(order.key)


def _back(order: OrderOnPage, part: str = "") -> Response:
    return RedirectResponse(f"/order/{order.key}{part}", 303)


def shown_order(
    request: Request,
    problem: InkaccordError | None = None,
    status: int = 200,
    said: str = "",
) -> Response:
    """Return an order's page, with what could not be done."""
    order, running = _asked(request)
    found = problem.findings if problem else _found(order, running)
    last = order.run_now
    return page(
        "order.html",
        status,
        order=order,
        run=last,
        waits=first_step(last) if last else "",
        letters=[it for it in last.files if it.what == "artwork-letter"] if last else [],
        cards=step_cards(order),
        parcels=(parcels := parcel_cards(order)),
        all_sent=bool(parcels) and all(it.sent and not it.sent.changed for it in parcels),
        client=client_card(order),
        cost=cost_list(last.charges if last else ()),
        run_first=any(it.code == "run-first" for it in found),
        holds_others=request.app.state.studio.holds_others,
        priced=order.trouble is None and states_prices(order.loaded.order),
        running=running,
        findings=found,
        said=said,
        done=told(request),
        Status=PieceStatus,
    )


def _found(order: OrderOnPage, running: Running | None) -> tuple[Diagnostic, ...]:
    """Return what stands in the way: in the file, in how the last run went, or in what it found."""
    if order.trouble is not None:
        return order.trouble.findings
    if running is not None and running.fell:
        return (
            error(
                "run-fell",
                "the run was stopped before its end",
                hint="nothing half made was left behind: run it again",
            ),
        )
    if running is not None and running.findings:
        return running.findings
    if order.run is None or order.is_stale:
        return ()
    return tuple(it for it in order.run.findings if it.severity is Severity.ERROR)
