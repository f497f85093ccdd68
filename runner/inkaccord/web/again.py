"""An order made once more: what to think about, and a new folder with all of the last one."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from inkaccord.errors import InkaccordError
from inkaccord.files import safe_name
from inkaccord.order.loading import ORDER_FILE
from inkaccord.recording.again import LastSeason, begin_again, to_think
from inkaccord.today import today
from inkaccord.web.rendering import page
from inkaccord.web.studio import OrderOnPage, Studio, asked_order, recalled


def again_page(request: Request) -> Response:
    """Say what must be thought about, and ask for a name. Raises OrderError ``one-order``."""
    order, studio = asked_order(request), request.app.state.studio
    studio.folder_for_another()
    return _asking(request, order)


async def again(request: Request) -> Response:
    """Write the new order, and go on with its text."""
    order, studio = asked_order(request), request.app.state.studio
    form = await request.form()
    name = str(form.get("name", ""))
    try:
        path = await run_in_threadpool(_begin, request, studio, order, name)
    except InkaccordError as problem:
        return await run_in_threadpool(_asking, request, order, name, problem)
    return RedirectResponse(f"/order/{studio.at(path).key}/text", 303)


def _begin(request: Request, studio: Studio, order: OrderOnPage, name: str) -> Path:
    studio.folder_for_another()
    folder = order.path.parent.parent / safe_name(name)
    with _last(request, order) as last:
        begin_again(folder, last, today(), order.plugins.vendor_kinds())
    return folder / ORDER_FILE


@contextmanager
def _last(request: Request, order: OrderOnPage) -> Iterator[LastSeason]:
    made = order.run.artworks if order.run is not None else ()
    sums = {it.piece: it.sha256 for it in made}
    with recalled(request.app.state.recent, order.loaded) as recall:
        yield LastSeason(order.loaded, order.shelf, sums, recall)


def _asking(
    request: Request, order: OrderOnPage, name: str = "", problem: InkaccordError | None = None
) -> Response:
    if order.trouble is not None:
        raise order.trouble
    with _last(request, order) as last:
        thoughts = to_think(last, today())
    return page(
        "again.html",
        200 if problem is None else 409,
        order=order,
        name=name,
        thoughts=thoughts,
        findings=problem.findings if problem else (),
    )
