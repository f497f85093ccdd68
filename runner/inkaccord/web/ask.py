"""One question without an order: a colour's build on each pair, its looks, how sure that is."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from inkaccord.diagnostics import Diagnostic
from inkaccord.errors import InkaccordError
from inkaccord.knowledge.asking import (
    Apart,
    AskedColour,
    PairAnswer,
    apart_as_asked,
    apart_on_pairs,
    on_one_pair,
    resolve_colour,
)
from inkaccord.knowledge.values import Evidence
from inkaccord.order.wanted import Wanted
from inkaccord.report.screen import ScreenColour, screen_colour
from inkaccord.web.rendering import page
from inkaccord.web.studio import MOST_TYPED, asked_shelf
from inkaccord.web.typed import thing_in_file, typed_colour, typed_pairs
from inkaccord.web.uploads import uploads_of

FIELDS = ("colour", "against")
NOTHING = dict.fromkeys(FIELDS, "")


@dataclass(frozen=True)
class Answered:
    """A colour on a pair, as the page shows it."""

    answer: PairAnswer
    colour: ScreenColour
    is_known: bool
    """Whether the pair was read or picked from; else nothing sure can be said."""


def answered(answers: Iterable[PairAnswer]) -> list[Answered]:
    """Return answers as a page shows them."""
    return [
        Answered(one, screen_colour(one.predicted_lab), one.evidence is not Evidence.ESTIMATED)
        for one in answers
    ]


def ask(request: Request) -> Response:
    """Answer what is asked; without a colour, ask for one."""
    query = request.query_params
    said = {name: query.get(name, "").strip() for name in FIELDS}
    if not said["colour"]:
        return _shown(request, said)
    return _answered(request, said, lambda: [typed_colour(it) for it in said.values() if it])


async def ask_of_file(request: Request) -> Response:
    """Answer for a thing that was read into a file, which is dropped."""
    uploads = uploads_of(request)
    async with request.form(max_files=1) as form:
        sample = str(form.get("sample", ""))[:MOST_TYPED].strip()
        try:
            word = await uploads.take(form.getlist("file"))
        except InkaccordError as problem:
            return await run_in_threadpool(_shown, request, NOTHING, findings=problem.findings)
    (path,) = uploads.find(word)
    wanted = thing_in_file(path, sample)
    try:
        return await run_in_threadpool(_answered, request, NOTHING, lambda: [wanted])
    finally:
        uploads.discard(word)


def _answered(
    request: Request, said: Mapping[str, str], wanting: Callable[[], Sequence[Wanted]]
) -> Response:
    texts = request.query_params.getlist("pair")
    answers: tuple[PairAnswer, ...] = ()
    try:
        wanted, pairs = wanting(), typed_pairs(texts)
        with asked_shelf(request).opened() as source:
            if len(wanted) > 1:
                asked = [resolve_colour(it, source) for it in on_one_pair(wanted, pairs)]
                between = apart_as_asked(asked)
            else:
                asked = [resolve_colour(wanted[0], source)]
                answers = source.answers(asked[0], pairs)
                between = apart_on_pairs(answers)
    except InkaccordError as problem:
        findings = uploads_of(request).as_dropped(problem.findings)
        return _shown(request, said, findings=findings)
    unread = {str(it.pair) for it in answers if it.evidence is Evidence.ESTIMATED}
    return _shown(
        request,
        said,
        asked=[(it, None if it.lab is None else screen_colour(it.lab)) for it in asked],
        answers=answered(answers),
        between=[it for it in between if not {it.one, it.other} & unread],
    )


def _shown(
    request: Request,
    said: Mapping[str, str],
    *,
    findings: Sequence[Diagnostic] = (),
    asked: Sequence[tuple[AskedColour, ScreenColour | None]] = (),
    answers: Sequence[Answered] = (),
    between: Sequence[Apart] = (),
) -> Response:
    kept = asked_shelf(request)
    with kept.opened() as source:
        pairs = source.pairs()
    return page(
        "ask.html",
        409 if findings else 200,
        kept=kept,
        said=said,
        pairs=[str(it) for it in pairs],
        ticked=request.query_params.getlist("pair"),
        asked=asked,
        answers=answers,
        between=between,
        findings=findings or [it for colour, _ in asked for it in colour.findings],
    )
