"""A target of others, such as a characterisation set: taken in for a pair, with its own builds."""

from collections.abc import Sequence
from functools import partial

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from inkaccord.diagnostics import Diagnostic
from inkaccord.errors import InkaccordError
from inkaccord.recording.intake import Intake
from inkaccord.recording.target import take_in_target
from inkaccord.shelf.store import Shelf
from inkaccord.today import today
from inkaccord.web.rendering import page
from inkaccord.web.studio import OrderOnPage, asked_order
from inkaccord.web.typed import typed_pair
from inkaccord.web.undoing import Doing, undos
from inkaccord.web.uploads import Uploads, uploads_of
from inkaccord.words import counted

MOST_FILES = 40


def target_page(request: Request) -> Response:
    """Ask for the pair and the files."""
    return _asking(asked_order(request))


async def take_in(request: Request) -> Response:
    """Keep a target with its readings, all of it or nothing, and offer to take that back."""
    order = asked_order(request)
    uploads = uploads_of(request)
    async with request.form(max_files=MOST_FILES) as form:
        pair, name = str(form.get("pair", "")).strip(), str(form.get("name", "")).strip()
        try:
            word = await uploads.take(form.getlist("file"))
        except InkaccordError as problem:
            return _asking(order, pair, name, problem.findings)
    try:
        taken = await run_in_threadpool(_taken, order, uploads, word, pair, name)
    except InkaccordError as problem:
        return _asking(order, pair, name, uploads.as_dropped(problem.findings))
    finally:
        uploads.discard(word)
    sheet = taken.sheet.id
    words = f"{counted(taken.readings, 'reading')} of {taken.sheet.pair} kept as sheet {sheet}."
    back = partial(_take_back, order, sheet)
    return undos(request).done(Doing(words, f"/order/{order.key}/shelf/{sheet}", back))


def _taken(order: OrderOnPage, uploads: Uploads, word: str, pair: str, name: str) -> Intake:
    with Shelf.open(order.shelf) as shelf:
        return take_in_target(
            shelf,
            typed_pair(pair),
            uploads.find(word),
            today=today(),
            order=order.loaded.order,
            name=name or None,
        )


def _take_back(order: OrderOnPage, sheet: str) -> None:
    with Shelf.open(order.shelf) as shelf:
        shelf.retire(sheet, "taken back")


def _asking(
    order: OrderOnPage, pair: str = "", name: str = "", findings: Sequence[Diagnostic] = ()
) -> Response:
    with Shelf.open(order.shelf) as shelf:
        known = shelf.pairs()
    pairs = dict.fromkeys(str(it) for it in (*order.loaded.order.pairs_needed(), *known))
    return page(
        "target.html",
        409 if findings else 200,
        order=order,
        pairs=pairs,
        pair=pair,
        name=name,
        findings=findings,
    )
