"""The text of another shelf: what of it is new here is shown, and then taken in, or not."""

from collections.abc import Sequence
from pathlib import Path

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from inkaccord.diagnostics import Diagnostic
from inkaccord.errors import InkaccordError
from inkaccord.shelf.store import Shelf
from inkaccord.web.rendering import page
from inkaccord.web.studio import ShelfOnPage, asked_shelf
from inkaccord.web.undoing import Doing, done_on_shelf, undos
from inkaccord.web.uploads import HELD, nothing_dropped, uploads_of

MOST_SHOWN = 300
"""Sheets that are listed; more are counted."""


def another_page(request: Request) -> Response:
    """Ask for the export of another shelf."""
    return page("another.html", here=asked_shelf(request), news=None, findings=())


async def change(request: Request) -> Response:
    """Show what of a zip is new here; or take it in as shown, or discard it."""
    uploads = uploads_of(request)
    async with request.form(max_files=1) as form:
        do = str(form.get("do", ""))
        try:
            word = await uploads.of_form(form, "file")
            if not word and HELD not in form:
                raise nothing_dropped()
            file = uploads.find(word)[0]
        except InkaccordError as problem:
            return _refused(request, problem.findings)
    if do == "discard":
        uploads.discard(word)
        return RedirectResponse(f"{asked_shelf(request).at}/shelf", 303)
    try:
        if do == "keep":
            doing = await run_in_threadpool(_taken_in, asked_shelf(request), file)
            uploads.discard(word)
            return undos(request).done(doing)
        return await run_in_threadpool(_shown, request, word, file)
    except InkaccordError as problem:
        uploads.discard(word)
        return _refused(request, uploads.as_dropped(problem.findings))


def _shown(request: Request, word: str, file: Path) -> Response:
    here = asked_shelf(request)
    with Shelf.open(here.place) as shelf:
        news = shelf.copies.news_of(file)
    return page(
        "another.html",
        here=here,
        news=news,
        shown=MOST_SHOWN,
        word=word,
        name=file.name,
        findings=(),
    )


def _refused(request: Request, findings: Sequence[Diagnostic]) -> Response:
    return page("another.html", 409, here=asked_shelf(request), news=None, findings=findings)


def _taken_in(here: ShelfOnPage, file: Path) -> Doing:
    with Shelf.open(here.place) as shelf, shelf.noting() as noted:
        news = shelf.copies.take_in(file)
    words = f"Taken in: {news.words('look')}."
    return done_on_shelf(words, f"{here.at}/shelf", here.place, noted)
