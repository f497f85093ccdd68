"""A new order, begun from artwork that was dropped on the page."""

from pathlib import Path

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from inkaccord.errors import InkaccordError
from inkaccord.files import safe_name
from inkaccord.foresight.beginning import begin_order
from inkaccord.order.loading import ORDER_FILE
from inkaccord.today import today
from inkaccord.web.rendering import page
from inkaccord.web.studio import Studio, no_folder_for_another
from inkaccord.web.uploads import nothing_dropped, uploads_of

MOST_FILES = 60


def begin_page(_: Request) -> Response:
    """Ask for a name and for artwork."""
    return page("begin.html", name="", findings=(), held="", files=())


async def begin(request: Request) -> Response:
    """Write an order for the artwork into a folder of its own, and go on with its pieces.

    Where that can't be, the artwork lies here still, and needs not be dropped again.
    """
    studio: Studio = request.app.state.studio
    uploads = uploads_of(request)
    async with request.form(max_files=MOST_FILES) as form:
        name = str(form.get("name", ""))
        word = await uploads.of_form(form, "artwork")
    files = uploads.find(word) if word else []
    try:
        path = await run_in_threadpool(_begin, studio, name, files)
    except InkaccordError as problem:
        findings = uploads.as_dropped(problem.findings)
        return page("begin.html", 409, name=name, findings=findings, held=word, files=files)
    uploads.discard(word)
    return RedirectResponse(f"/order/{studio.at(path).key}/pieces", 303)


def _begin(studio: Studio, name: str, artworks: list[Path]) -> Path:
    """Return the file of the order that was begun."""
    if not studio.opened.is_dir():
        raise no_folder_for_another()
    if not artworks:
        raise nothing_dropped()
    folder = studio.opened / safe_name(name)
    begin_order(folder, artworks, today())
    return folder / ORDER_FILE
