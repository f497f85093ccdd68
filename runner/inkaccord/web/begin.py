"""A new order, begun from artwork that was dropped on the page, or from nothing."""

from collections.abc import Sequence
from functools import partial
from pathlib import Path

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from inkaccord.diagnostics import Diagnostic
from inkaccord.errors import InkaccordError, OrderError
from inkaccord.files import safe_name
from inkaccord.foresight.beginning import begin_order
from inkaccord.order.loading import ORDER_FILE
from inkaccord.recording.book import names_in_book
from inkaccord.recording.places import shelf_of
from inkaccord.shelf.store import Shelf
from inkaccord.starter.order import write_starter
from inkaccord.today import today
from inkaccord.web.rendering import page
from inkaccord.web.studio import Studio
from inkaccord.web.uploads import nothing_dropped, uploads_of

MOST_FILES = 60
STARTER = "starter"
"""What the button says that begins without artwork."""


def begin_page(request: Request) -> Response:
    """Ask for a name and for artwork. Raises OrderError ``one-order``."""
    studio: Studio = request.app.state.studio
    studio.folder_for_another()
    return _asking(request)


async def begin(request: Request) -> Response:
    """Write an order into a folder of its own, and go on with its pieces.

    Where that can't be, the artwork lies here still, and needs not be dropped again.
    """
    studio: Studio = request.app.state.studio
    uploads = uploads_of(request)
    async with request.form(max_files=MOST_FILES) as form:
        name = str(form.get("name", ""))
        starter = form.get("do") == STARTER
        booked = tuple(str(it) for it in form.getlist("from_book"))
        word = await uploads.of_form(form, "artwork")
    files = uploads.find(word) if word else []
    try:
        path = await run_in_threadpool(_begin, studio, name, files, booked, starter=starter)
    except InkaccordError as problem:
        findings = uploads.as_dropped(problem.findings)
        asking = partial(
            _asking, name=name, findings=findings, held=word, files=files, booked=booked
        )
        return await run_in_threadpool(asking, request)
    uploads.discard(word)
    return RedirectResponse(f"/order/{studio.at(path).key}/pieces", 303)


def _begin(
    studio: Studio, name: str, artworks: list[Path], booked: Sequence[str], *, starter: bool
) -> Path:
    """Return the file of the order that was begun: for its artwork, or one to try it on."""
    folder = studio.folder_for_another() / safe_name(name)
    if starter:
        with Shelf.open(shelf_of(None, studio.shelf)) as shelf:
            names = names_in_book(shelf, booked)
        write_starter(folder, today(), from_book=names)
    elif artworks and booked:
        raise OrderError.of(
            "two-beginnings",
            "artwork brings its own colours",
            hint="take the ticks off the colours of the book, or begin without artwork",
        )
    elif artworks:
        begin_order(folder, artworks, today(), title=name.strip())
    else:
        raise nothing_dropped()
    return folder / ORDER_FILE


def _asking(
    request: Request,
    *,
    name: str = "",
    findings: Sequence[Diagnostic] = (),
    held: str = "",
    files: Sequence[Path] = (),
    booked: Sequence[str] = (),
) -> Response:
    status = 409 if findings else 200
    return page(
        "begin.html",
        status,
        name=name,
        findings=findings,
        held=held,
        files=files,
        book=_in_book(request.app.state.studio),
        booked=booked,
    )


def _in_book(studio: Studio) -> tuple[str, ...]:
    """Return the names in the book of the common shelf; none where that can't be read."""
    try:
        with Shelf.open(shelf_of(None, studio.shelf)) as shelf:
            return tuple(it.colour.name for it in shelf.book.colours())
    except InkaccordError:  # an order begins without it; the shelf's own page says what is wrong
        return ()
