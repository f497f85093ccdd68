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
from inkaccord.web.studio import MOST_TYPED, OrderOnPage, asked_order
from inkaccord.web.typed import typed_date, typed_into, typed_number, typed_pair
from inkaccord.web.undoing import Doing, done_on_shelf, undos
from inkaccord.web.uploads import Uploads, uploads_of
from inkaccord.words import counted

FIELDS = ("pair", "name", "ink_limit", "columns", "by", "on")
MOST_FILES = 40


def target_page(request: Request) -> Response:
    """Ask for the pair and the files."""
    return _asking(asked_order(request), dict.fromkeys(FIELDS, ""))


async def take_in(request: Request) -> Response:
    """Keep a target with its readings, all of it or nothing, and offer to take that back."""
    order = asked_order(request)
    uploads = uploads_of(request)
    async with request.form(max_files=MOST_FILES) as form:
        said = typed_into(form, dict.fromkeys(FIELDS, MOST_TYPED))
        try:
            word = await uploads.take(form.getlist("file"))
        except InkaccordError as problem:
            return _asking(order, said, problem.findings)
    try:
        doing = await run_in_threadpool(_taken, order, uploads, word, said)
    except InkaccordError as problem:
        return _asking(order, said, uploads.as_dropped(problem.findings))
    finally:
        uploads.discard(word)
    return undos(request).done(doing)


def _taken(order: OrderOnPage, uploads: Uploads, word: str, said: Mapping[str, str]) -> Doing:
    with Shelf.open(order.shelf, by=said["by"]) as shelf, shelf.noting() as noted:
        taken = take_in_target(
            shelf,
            typed_pair(said["pair"]),
            uploads.find(word),
            today=today(),
            read_on=typed_date(said["on"]),
            order=order.loaded.order,
            name=said["name"] or None,
            ink_limit=typed_number(said["ink_limit"], "total ink, percent,", 100, 400),
            columns=parse_columns([said["columns"]]),
        )
    sheet, at = taken.sheet.id, f"/order/{order.key}/shelf"
    words = f"{counted(taken.readings, 'reading')} of {taken.sheet.pair} kept as sheet {sheet}."
    return done_on_shelf(words, f"{at}/{sheet}", order.shelf, noted, back_at=at)


def _asking(
    order: OrderOnPage, said: Mapping[str, str], findings: Sequence[Diagnostic] = ()
) -> Response:
    with Shelf.open(order.shelf) as shelf:
        known = shelf.pairs()
    pairs = dict.fromkeys(str(it) for it in (*order.loaded.order.pairs_needed(), *known))
    return page(
        "target.html",
        409 if findings else 200,
        order=order,
        pairs=pairs,
        said=said,
        findings=findings,
    )
