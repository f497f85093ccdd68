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
from inkaccord.web.studio import OrderOnPage, asked_order
from inkaccord.web.undoing import Doing, undos
from inkaccord.web.uploads import uploads_of

VERIFY = "verify"


def copies_page(request: Request) -> Response:
    """Offer the copies; and say whether the shelf is sound, where that is asked."""
    order = asked_order(request)
    if request.query_params.get("do") != VERIFY:
        return _shown(order)
    with Shelf.open(order.shelf) as shelf:
        findings = shelf.verify()
    return _shown(order, findings, looked=True)


def save_copy(request: Request) -> Response:
    """Send a copy of the shelf as it is at this moment."""
    with working_folder() as folder:
        with Shelf.open(asked_order(request).shelf) as shelf:
            shelf.back_up(folder / "shelf.sqlite")
        data = (folder / "shelf.sqlite").read_bytes()
    named = {"Content-Disposition": f'attachment; filename="shelf-{today()}.sqlite"'}
    return Response(data, media_type="application/vnd.sqlite3", headers=named)


def save_text(request: Request) -> Response:
    """Send all of the shelf as text, the files of ``inkaccord shelf export`` in a zip."""
    with working_folder() as folder:
        with Shelf.open(asked_order(request).shelf) as shelf:
            written = shelf.export(folder / "shelf")
        parts = {it.relative_to(folder.resolve()).as_posix(): it.read_bytes() for it in written}
    named = {"Content-Disposition": f'attachment; filename="shelf-{today()}.zip"'}
    return Response(zipped(parts, today()), media_type="application/zip", headers=named)


async def put_back(request: Request) -> Response:
    """Put a copy in the place of the shelf; what was there can be had back."""
    order, uploads = asked_order(request), uploads_of(request)
    async with request.form(max_files=1) as form:
        try:
            word = await uploads.take(form.getlist("file"))
        except InkaccordError as problem:
            return _shown(order, problem.findings)
    try:
        kept = await run_in_threadpool(_restored, order, uploads.find(word)[0])
    except InkaccordError as problem:
        return _shown(order, uploads.as_dropped(problem.findings))
    finally:
        uploads.discard(word)
    return undos(request).done(_doing(order, kept))


def _restored(order: OrderOnPage, copy: Path) -> Path | None:
    with Shelf.open(order.shelf) as shelf:
        return shelf.restore(copy)


def _doing(order: OrderOnPage, kept: Path | None) -> Doing:
    words = "The copy is in the place of the shelf."
    if kept is not None:
        words += f" What was there is kept as {kept.name} beside it."
    return Doing(words, f"/order/{order.key}/shelf", partial(_back, order, kept))


def _back(order: OrderOnPage, kept: Path | None) -> Doing | None:
    """Put back what was there; where that was nothing, there is nothing to put."""
    return _doing(order, _restored(order, kept)) if kept is not None else None


def _shown(
    order: OrderOnPage, findings: tuple[Diagnostic, ...] = (), *, looked: bool = False
) -> Response:
    status = 409 if findings and not looked else 200
    return page("copies.html", status, order=order, findings=findings, looked=looked)
