"""A target of others, such as a characterisation set: taken in for a pair, with its own builds."""

from collections.abc import Mapping, Sequence

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from inkaccord.diagnostics import Diagnostic
from inkaccord.errors import InkaccordError
from inkaccord.recording.target import take_in_target
from inkaccord.sheets.reading.columns import parse_columns
from inkaccord.shelf.store import Shelf
from inkaccord.today import today
from inkaccord.web.rendering import page
from inkaccord.web.studio import MOST_TYPED, ShelfOnPage, asked_shelf
from inkaccord.web.typed import typed_date, typed_into, typed_number, typed_pair
from inkaccord.web.undoing import Doing, done_on_shelf, undos
from inkaccord.web.uploads import Uploads, uploads_of
from inkaccord.words import counted

FIELDS = ("pair", "name", "ink_limit", "columns", "by", "on")
MOST_FILES = 40


def target_page(request: Request) -> Response:
    """Ask for the pair and the files."""
    return _asking(asked_shelf(request), dict.fromkeys(FIELDS, ""))


async def take_in(request: Request) -> Response:
    """Keep a target with its readings, all of it or nothing, and offer to take that back."""
    here = asked_shelf(request)
    uploads = uploads_of(request)
    async with request.form(max_files=MOST_FILES) as form:
        said = typed_into(form, dict.fromkeys(FIELDS, MOST_TYPED))
        try:
            word = await uploads.take(form.getlist("file"))
        except InkaccordError as problem:
            return await run_in_threadpool(_asking, here, said, problem.findings)
    try:
        doing = await run_in_threadpool(_taken, here, uploads, word, said)
    except InkaccordError as problem:
        findings = uploads.as_dropped(problem.findings)
        return await run_in_threadpool(_asking, here, said, findings)
    finally:
        uploads.discard(word)
    return undos(request).done(doing)


def _taken(here: ShelfOnPage, uploads: Uploads, word: str, said: Mapping[str, str]) -> Doing:
    with Shelf.open(here.place, by=said["by"]) as shelf, shelf.noting() as noted:
        taken = take_in_target(
            shelf,
            typed_pair(said["pair"]),
            uploads.find(word),
            today=today(),
            read_on=typed_date(said["on"]),
            order=here.known,
            name=said["name"] or None,
            ink_limit=typed_number(said["ink_limit"], "total ink, percent,", 100, 400),
            columns=parse_columns([said["columns"]]),
        )
    sheet, at = taken.sheet.id, f"{here.at}/shelf"
    words = f"{counted(taken.readings, 'reading')} of {taken.sheet.pair} kept as sheet {sheet}."
    return done_on_shelf(words, f"{at}/{sheet}", here.place, noted, back_at=at)


def _asking(
    here: ShelfOnPage, said: Mapping[str, str], findings: Sequence[Diagnostic] = ()
) -> Response:
    return page(
        "target.html",
        409 if findings else 200,
        here=here,
        pairs=[str(it) for it in here.pairs()],
        said=said,
        findings=findings,
    )
