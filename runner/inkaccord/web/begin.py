"""A new order, begun from artwork that was dropped on the page, or from nothing."""

from pathlib import Path

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from inkaccord.errors import InkaccordError
from inkaccord.files import safe_name
from inkaccord.foresight.beginning import begin_order
from inkaccord.order.loading import ORDER_FILE
from inkaccord.starter.order import write_starter
from inkaccord.today import today
from inkaccord.web.rendering import page
from inkaccord.web.studio import Studio, no_folder_for_another
from inkaccord.web.uploads import nothing_dropped, uploads_of

MOST_FILES = 60
STARTER = "starter"
"""What the button says that begins without artwork."""


def begin_page(_: Request) -> Response:
    """Ask for a name and for artwork."""
    return page("begin.html", name="", findings=(), held="", files=())


async def begin(request: Request) -> Response:
    """Write an order into a folder of its own, and go on with its pieces.

    Where that can't be, the artwork lies here still, and needs not be dropped again.
    """
    studio: Studio = request.app.state.studio
    uploads = uploads_of(request)
    async with request.form(max_files=MOST_FILES) as form:
        name = str(form.get("name", ""))
        starter = form.get("do") == STARTER
        word = await uploads.of_form(form, "artwork")
    files = uploads.find(word) if word else []
    try:
        path = await run_in_threadpool(_begin, studio, name, files, starter=starter)
    except InkaccordError as problem:
        findings = uploads.as_dropped(problem.findings)
        return page("begin.html", 409, name=name, findings=findings, held=word, files=files)
    uploads.discard(word)
    return RedirectResponse(f"/order/{studio.at(path).key}/pieces", 303)


def _begin(studio: Studio, name: str, artworks: list[Path], *, starter: bool) -> Path:
    """Return the file of the order that was begun: for its artwork, or one to try it on."""
    if not studio.opened.is_dir():
        raise no_folder_for_another()
    folder = studio.opened / safe_name(name)
    if starter:
        write_starter(folder, today())
    elif artworks:
        begin_order(folder, artworks, today())
    else:
        raise nothing_dropped()
    return folder / ORDER_FILE
