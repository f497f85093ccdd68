"""Copies of the shelf: saved, looked through for damage, and put in its place."""

from functools import partial
from pathlib import Path

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from inkaccord.diagnostics import Diagnostic
from inkaccord.errors import InkaccordError
from inkaccord.files import working_folder, zipped
from inkaccord.shelf.store import Shelf
from inkaccord.today import today
from inkaccord.web.rendering import page
from inkaccord.web.studio import ShelfOnPage, asked_shelf
from inkaccord.web.undoing import Doing, undos
from inkaccord.web.uploads import uploads_of

VERIFY = "verify"


def copies_page(request: Request) -> Response:
    """Offer the copies; and say whether the shelf is sound, where that is asked."""
    here = asked_shelf(request)
    if request.query_params.get("do") != VERIFY:
        return _shown(here)
    with Shelf.open(here.place) as shelf:
        findings = shelf.verify()
    return _shown(here, findings, looked=True)


def save_copy(request: Request) -> Response:
    """Send a copy of the shelf as it is at this moment."""
    with working_folder() as folder:
        with Shelf.open(asked_shelf(request).place) as shelf:
            shelf.copies.back_up(folder / "shelf.sqlite")
        data = (folder / "shelf.sqlite").read_bytes()
    named = {"Content-Disposition": f'attachment; filename="shelf-{today()}.sqlite"'}
    return Response(data, media_type="application/vnd.sqlite3", headers=named)


def save_text(request: Request) -> Response:
    """Send all of the shelf as text, the files of ``inkaccord shelf export`` in a zip."""
    with working_folder() as folder:
        with Shelf.open(asked_shelf(request).place) as shelf:
            written = shelf.copies.export(folder / "shelf")
        parts = {it.relative_to(folder.resolve()).as_posix(): it.read_bytes() for it in written}
    named = {"Content-Disposition": f'attachment; filename="shelf-{today()}.zip"'}
    return Response(zipped(parts, today()), media_type="application/zip", headers=named)


async def put_back(request: Request) -> Response:
    """Put a copy in the place of the shelf; what was there can be had back."""
    here, uploads = asked_shelf(request), uploads_of(request)
    async with request.form(max_files=1) as form:
        try:
            word = await uploads.take(form.getlist("file"))
        except InkaccordError as problem:
            return _shown(here, problem.findings)
    try:
        kept = await run_in_threadpool(_restored, here, uploads.find(word)[0])
    except InkaccordError as problem:
        return _shown(here, uploads.as_dropped(problem.findings))
    finally:
        uploads.discard(word)
    return undos(request).done(_doing(here, kept))


def _restored(here: ShelfOnPage, copy: Path) -> Path | None:
    with Shelf.open(here.place) as shelf:
        return shelf.copies.restore(copy)


def _doing(here: ShelfOnPage, kept: Path | None) -> Doing:
    words = "The copy is in the place of the shelf."
    if kept is not None:
        words += f" What was there is kept as {kept.name} beside it."
    return Doing(words, f"{here.at}/shelf", partial(_back, here, kept))


def _back(here: ShelfOnPage, kept: Path | None) -> Doing | None:
    """Put back what was there; where that was nothing, there is nothing to put."""
    return _doing(here, _restored(here, kept)) if kept is not None else None


def _shown(
    here: ShelfOnPage, findings: tuple[Diagnostic, ...] = (), *, looked: bool = False
) -> Response:
    status = 409 if findings and not looked else 200
    return page("copies.html", status, here=here, findings=findings, looked=looked)
