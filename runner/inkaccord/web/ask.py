"""One question without an order: a colour's build on each pair, its looks, how sure that is."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from inkaccord.diagnostics import Diagnostic
from inkaccord.errors import InkaccordError
from inkaccord.knowledge.asking import PairAnswer
from inkaccord.knowledge.values import Evidence
from inkaccord.order.wanted import Wanted
from inkaccord.recording.asked import Answers
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
    typed = [said["colour"], *filter(None, map(str.strip, said["against"].splitlines()))]
    return _answered(request, said, lambda: [typed_colour(it) for it in typed])


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
    try:
        wanted, pairs = wanting(), typed_pairs(texts)
        with asked_shelf(request).opened() as source:
            found = source.ask(wanted, pairs)
    except InkaccordError as problem:
        findings = uploads_of(request).as_dropped(problem.findings)
        return _shown(request, said, findings=findings)
    return _shown(request, said, found)


def _shown(
    request: Request,
    said: Mapping[str, str],
    found: Answers | None = None,
    *,
    findings: Sequence[Diagnostic] = (),
) -> Response:
    kept = asked_shelf(request)
    with kept.opened() as source:
        pairs = source.pairs()
    asked = found.asked if found is not None else ()
    return page(
        "ask.html",
        409 if findings else 200,
        kept=kept,
        said=said,
        pairs=[str(it) for it in pairs],
        ticked=request.query_params.getlist("pair"),
        asked=[(it, None if it.lab is None else screen_colour(it.lab)) for it in asked],
        answers=answered(found.on_pairs) if found is not None else (),
        between=found.told_between if found is not None else (),
        findings=findings or [it for colour in asked for it in colour.findings],
    )
