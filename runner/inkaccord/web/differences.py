"""What was changed since another order, or an earlier run that was kept, on a page."""

from collections.abc import Callable, Mapping
from contextlib import suppress
from functools import partial
from pathlib import Path

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from inkaccord.errors import InkaccordError
from inkaccord.files import sha256_of
from inkaccord.order.finding import DEEPEST
from inkaccord.out_folder import RECORD
from inkaccord.report.between import OrderSide, between, kept_run, order_side
from inkaccord.run.differing import RunDifferences
from inkaccord.run.record import Run
from inkaccord.web.rendering import page
from inkaccord.web.studio import OrderOnPage, Studio, asked_order
from inkaccord.web.uploads import uploads_of
from inkaccord.words import day

MOST_KEPT = 24
"""Records of earlier runs that are offered; of more the last in the order of their names."""
Sides = Mapping[str, tuple[str, Callable[[], OrderSide]]]
"""What may be compared with: by the word that the form sends, in words, and read when chosen."""


def differences_page(request: Request) -> Response:
    """Say what was changed between what is chosen; without a choice, ask for it."""
    return _shown(request, request.query_params.get("since", ""))


async def since_dropped(request: Request) -> Response:
    """Say what was changed since the run of which the record is dropped."""
    uploads = uploads_of(request)
    word = ""
    async with request.form(max_files=1) as form:
        try:
            word = await uploads.take(form.getlist("file"))
            return await run_in_threadpool(_shown, request, "", uploads.find(word)[0])
        except InkaccordError as problem:
            return await run_in_threadpool(_shown, request, "", None, problem)
        finally:
            uploads.discard(word)


def _shown(
    request: Request,
    since: str,
    dropped: Path | None = None,
    problem: InkaccordError | None = None,
) -> Response:
    order = asked_order(request)
    sides = _sides(request.app.state.studio, order)
    until = request.query_params.get("until", "")
    _, now = sides.get(until, ("", partial(_side, order)))
    found: RunDifferences | None = None
    try:
        if dropped is not None:
            found = between(OrderSide(dropped.name, kept_run(dropped)), now())
        elif since in sides:
            found = between(sides[since][1](), now())
    except InkaccordError as refused:
        problem = refused
    return page(
        "differences.html",
        200 if problem is None else 409,
        order=order,
        sides={word: words for word, (words, _) in sides.items()},
        since=since,
        until=until,
        dropped=dropped.name if dropped and found else "",
        found=found,
        findings=uploads_of(request).as_dropped(problem.findings) if problem else (),
    )


def _sides(studio: Studio, order: OrderOnPage) -> Sides:
    sides: dict[str, tuple[str, Callable[[], OrderSide]]] = {
        other.key: (f"{other.title} ({_run_words(other.run)})", partial(_side, other))
        for other in studio.orders()
        if other.key != order.key and other.run is not None
    }
    for name, run in _kept(order):
        words = f"{name} ({_run_words(run)})"
        sides[sha256_of(name.encode())[:12]] = words, partial(OrderSide, name, run)
    return sides


def _run_words(run: Run) -> str:
    return f"{run.order}, {day(run.date)}"


def _kept(order: OrderOnPage) -> list[tuple[str, Run]]:
    """Return the records that a person kept in the order's folder, by their places in it."""
    folder, now = order.path.parent, order.out / RECORD
    found: list[tuple[str, Run]] = []
    there = (it for deep in range(DEEPEST + 1) for it in folder.glob("*/" * deep + "*run*.json"))
    paths = [it for it in there if it != now and not it.is_symlink()]
    for path in sorted(paths)[-MOST_KEPT:]:
        with suppress(InkaccordError):  # it is no record, or of another release
            found.append((path.relative_to(folder).as_posix(), kept_run(path)))
    return found


def _side(order: OrderOnPage) -> OrderSide:
    return order_side(order.with_book(), order.run, order.title)
