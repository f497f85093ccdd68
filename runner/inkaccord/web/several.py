"""Several sheets of the shelf at once: their labels, and where they go on paper."""

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from inkaccord.errors import InkaccordError, OrderError
from inkaccord.recording.on_paper import mark_all
from inkaccord.shelf.kept import MoveKind
from inkaccord.shelf.store import Shelf, clock_on
from inkaccord.web.sheet import Said, labels_of
from inkaccord.web.shelf import shown_shelf
from inkaccord.web.studio import MOST_TYPED, asked_shelf
from inkaccord.web.undoing import done_on_shelf, undos

LABELS = "labels"
FIELDS = ("said", "copies", "light", "on", "size")
MOST_SHEETS = 1000


async def change(request: Request) -> Response:
    """Draw labels for the sheets that are ticked, or keep where all of them go."""
    async with request.form(max_fields=MOST_SHEETS + len(FIELDS) + 2) as form:
        ticked = [str(one) for one in form.getlist("sheet")]
        said = {name: str(form.get(name, ""))[:MOST_TYPED].strip() for name in FIELDS}
        do = str(form.get("do", ""))
        try:
            if not ticked:
                raise OrderError.of(
                    "no-sheets", "no sheet is ticked", hint="tick those that it is about"
                )
            if do == LABELS:
                return await run_in_threadpool(_labels, request, ticked, said["size"])
            return await run_in_threadpool(_marked, request, ticked, do, Said.of(form))
        except InkaccordError as problem:
            return await run_in_threadpool(
                shown_shelf, request, findings=problem.findings, ticked=ticked, said=said
            )


def _labels(request: Request, ticked: list[str], size: str) -> Response:
    with Shelf.open(asked_shelf(request).place) as shelf:
        return labels_of(shelf, ticked, size)


def _marked(request: Request, ticked: list[str], do: str, said: Said) -> Response:
    if do not in set(MoveKind):
        raise OrderError.of("not-asked", "that can't be done with sheets")
    here = asked_shelf(request)
    with Shelf.open(here.place, clock=clock_on(said.day)) as shelf, shelf.noting() as noted:
        light = said.in_light if do == MoveKind.LAID else None
        marked = mark_all(shelf, ticked, do, said.text, copies=said.copies, in_light=light)
    at = f"{here.at}/shelf"
    return undos(request).done(done_on_shelf(f"{marked.words}.", at, here.place, noted))
