"""One sheet of the shelf: what became of it on paper, who read it and looked at it, and when."""

import datetime
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Self

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from inkaccord.errors import OrderError
from inkaccord.planning.on_request import draw_again
from inkaccord.recording.asked import AskedShelf
from inkaccord.recording.on_paper import PRINTED, mark, mark_waiting, nothing_to_mark
from inkaccord.sheets.drawing.label import LABEL, draw_labels
from inkaccord.sheets.model import Purpose
from inkaccord.sheets.reading.pick_text import in_words
from inkaccord.shelf.kept import KeptSheet, MoveKind
from inkaccord.shelf.store import Shelf, clock_on
from inkaccord.sizes import Size
from inkaccord.today import today
from inkaccord.web.rendering import page
from inkaccord.web.studio import MOST_TYPED, asked_order, asked_shelf
from inkaccord.web.typed import typed_day, typed_size
from inkaccord.web.undoing import done_on_shelf, told, undos

MOST_COPIES = 1000
"""Of a sheet."""


def sheet_page(request: Request) -> Response:
    """Show all that the shelf keeps of a sheet."""
    here = asked_shelf(request)
    with Shelf.open(here.place) as shelf, shelf.one_state():
        name = request.path_params["sheet"]
        kept = shelf.kept_sheet(name)
        in_use = shelf.readings_of_sheet(name)
        return page(
            "sheet.html",
            here=here,
            kept=kept,
            line=shelf.summary(name),
            records=shelf.readings_of_sheet(name, retired=True),
            read={one.swatch: one.lab for it in in_use for one in it.readings.readings},
            looks=[(it, in_words(it.pick)) for it in shelf.picks_of_sheet(name)],
            for_eye=any(it.for_eye for it in kept.sheet.swatches),
            drawn_here=kept.sheet.purpose is not Purpose.IMPORTED,
            today=today(),
            done=told(request),
        )


def draw(request: Request) -> Response:
    """Send the sheet's PDF, to print it again."""
    here = asked_shelf(request)
    with Shelf.open(here.place) as shelf:
        source = AskedShelf(shelf, here.known)
        _, files = draw_again(source, here.plugins.draw_sheet, request.path_params["sheet"])
    name = [it for it in files if it.endswith(".pdf")][-1]
    named = {"Content-Disposition": f'inline; filename="{name}"'}
    return Response(files[name], media_type="application/pdf", headers=named)


def draw_label(request: Request) -> Response:
    """Send a label for what the sheet is kept in, in the size that is asked for."""
    size = request.query_params.get("size", "")
    with Shelf.open(asked_shelf(request).place) as shelf:
        return labels_of(shelf, [request.path_params["sheet"]], size)


def labels_of(shelf: Shelf, names: Sequence[str], size: str) -> Response:
    """Return labels as ``inkaccord shelf label`` draws them; of the usual size, if none is typed.

    Raises OrderError for an unknown sheet, or no size that a label can have.
    """
    sheets = [shelf.sheet(it) for it in names]
    labels = [(it, shelf.summary(it.id).on_paper.replace_after) for it in sheets]
    pdf = draw_labels(labels, typed_size(size) or Size.parse(LABEL))
    more = "-and-more" if len(sheets) > 1 else ""
    named = {"Content-Disposition": f'inline; filename="label-{sheets[0].id}{more}.pdf"'}
    return Response(pdf, media_type="application/pdf", headers=named)


async def change(request: Request) -> Response:
    """Keep what became of a sheet: each of it can be taken back."""
    form = await request.form()
    do, came_from = (str(form.get(name, "")) for name in ("do", "from"))
    # A shelf in use is waited for.
    return await run_in_threadpool(_change, request, do, Said.of(form), came_from)


def _change(request: Request, do: str, said: "Said", came_from: str) -> Response:
    here = asked_shelf(request)
    with Shelf.open(here.place, clock=clock_on(said.day)) as shelf, shelf.noting() as noted:
        kept = shelf.kept_sheet(request.path_params["sheet"])
        if do not in CHANGES:
            raise OrderError.of("not-asked", "that can't be done with a sheet")
        words = CHANGES[do](shelf, kept, said)
    at = here.at if came_from == "order" else f"{here.at}/shelf/{kept.sheet.id}"
    words = f"Sheet {kept.sheet.id} {words}."
    return undos(request).done(done_on_shelf(words, at, here.place, noted))


async def of_vendor(request: Request) -> Response:
    """Keep what became of all sample sheets in a vendor's zip: sent, printed, or back."""
    form = await request.form()
    vendor, do = (str(form.get(name, "")) for name in ("vendor", "do"))
    return await run_in_threadpool(_of_vendor, request, vendor, do, Said.of(form))


def _of_vendor(request: Request, vendor: str, do: str, said: "Said") -> Response:
    order = asked_order(request)
    asked = [it for it in (order.run.sampling if order.run else ()) if it.vendor == vendor]
    with Shelf.open(order.shelf, clock=clock_on(said.day)) as shelf, shelf.noting() as noted:
        sheets = [name for it in asked for name in it.sheets]
        marked = mark_waiting(shelf, sheets, do, said.text)
    if not marked.sheets:
        raise nothing_to_mark(vendor, do, "go back: the order's page says where each is")
    at = f"/order/{order.key}"
    return undos(request).done(done_on_shelf(f"{marked.words}.", at, order.shelf, noted))


@dataclass(frozen=True)
class Said:
    """What was typed beside a button.

    Attributes
    ----------
    text
        Where to, who, or why.
    copies
        Of how many copies; None where nobody said.
    in_light
        Whether they lie in the light; None where nobody said.
    day
        When it was.
    digest
        Which reading it is about.
    """

    text: str
    copies: int | None = None
    in_light: bool | None = None
    day: datetime.date = field(default_factory=today)
    digest: str = ""

    @classmethod
    def of(cls, form: FormData) -> Self:
        """Return what a form says. Raises OrderError ``bad-copies``, ``not-so``."""
        copies = str(form.get("copies", "")).strip()
        if copies and not (copies.isdecimal() and 0 < int(copies[:9]) <= MOST_COPIES):
            raise OrderError.of(
                "bad-copies",
                f"{copies[:MOST_TYPED]!r} is no number of copies",
                hint=f"a whole number from 1 to {MOST_COPIES}, or nothing",
            )
        return cls(
            text=str(form.get("said", ""))[:MOST_TYPED],
            copies=int(copies) if copies else None,
            in_light={"yes": True, "no": False}.get(str(form.get("light", ""))),
            day=typed_day(str(form.get("on", ""))),
            digest=str(form.get("digest", ""))[:MOST_TYPED],
        )


def _marked(step: str, words: str, shelf: Shelf, kept: KeptSheet, said: Said) -> str:
    made = mark(shelf, kept.sheet.id, step, said.text, copies=said.copies, in_light=said.in_light)
    return f"{words}: {made.place}" if made.place else words


def _retired(shelf: Shelf, kept: KeptSheet, said: Said) -> str:
    shelf.retire(kept.sheet.id, said.text)
    return "counts no more"


def _used_again(shelf: Shelf, kept: KeptSheet, _: Said) -> str:
    shelf.use_again(kept.sheet.id)
    return "counts again"


def _reading_retired(shelf: Shelf, kept: KeptSheet, said: Said) -> str:
    shelf.retire_readings(kept.sheet.id, said.digest, said.text)
    return "is without one reading"


def _reading_used(shelf: Shelf, kept: KeptSheet, said: Said) -> str:
    shelf.use_readings_again(kept.sheet.id, said.digest)
    return "has one reading more"


CHANGES: Mapping[str, Callable[[Shelf, KeptSheet, Said], str]] = {
    "printed": partial(_marked, PRINTED, "is marked as printed"),
    "sent": partial(_marked, MoveKind.SENT, "is sent to be printed"),
    "back": partial(_marked, MoveKind.BACK, "is back"),
    "laid": partial(_marked, MoveKind.LAID, "has its place"),
    "lent": partial(_marked, MoveKind.LENT, "is lent"),
    "returned": partial(_marked, MoveKind.RETURNED, "is returned"),
    "retire": _retired,
    "use-again": _used_again,
    "retire-reading": _reading_retired,
    "use-reading": _reading_used,
}
"""What may be done with a sheet, by the word of its button."""
