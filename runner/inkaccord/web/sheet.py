"""One sheet of the shelf: what became of it on paper, who read it and looked at it, and when."""

from collections.abc import Callable, Mapping
from functools import partial

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from inkaccord.errors import OrderError
from inkaccord.sheets.drawing.label import LABEL, draw_labels
from inkaccord.sheets.model import Purpose
from inkaccord.sheets.reading.pick_text import in_words
from inkaccord.shelf.kept import KeptSheet, MoveKind
from inkaccord.shelf.place import ShelfPlace
from inkaccord.shelf.store import Shelf
from inkaccord.sizes import Size
from inkaccord.today import today
from inkaccord.web.rendering import page
from inkaccord.web.studio import MOST_TYPED, asked_order
from inkaccord.web.undoing import Doing, told, undos


def sheet_page(request: Request) -> Response:
    """Show all that the shelf keeps of a sheet."""
    order = asked_order(request)
    with Shelf.open(order.shelf) as shelf, shelf.one_state():
        name = request.path_params["sheet"]
        kept = shelf.kept_sheet(name)
        return page(
            "sheet.html",
            order=order,
            kept=kept,
            line=shelf.summary(name),
            records=shelf.readings_of_sheet(name, retired=True),
            looks=[(it, in_words(it.pick)) for it in shelf.picks_of_sheet(name)],
            for_eye=any(it.for_eye for it in kept.sheet.swatches),
            drawn_here=kept.sheet.purpose is not Purpose.IMPORTED,
            today=today(),
            done=told(request),
        )


def draw(request: Request) -> Response:
    """Send the sheet's PDF, to print it again: the same bytes as when it was drawn first."""
    order = asked_order(request)
    with Shelf.open(order.shelf) as shelf:
        sheet = shelf.sheet(request.path_params["sheet"])
    pdf = order.plugins.draw_sheet(sheet, ())
    named = {"Content-Disposition": f'inline; filename="{sheet.id}.pdf"'}
    return Response(pdf, media_type="application/pdf", headers=named)


def draw_label(request: Request) -> Response:
    """Send a label for what the sheet is kept in."""
    with Shelf.open(asked_order(request).shelf) as shelf:
        sheet = shelf.sheet(request.path_params["sheet"])
        until = shelf.summary(sheet.id).on_paper.replace_after
    named = {"Content-Disposition": f'inline; filename="label-{sheet.id}.pdf"'}
    pdf = draw_labels([(sheet, until)], Size.parse(LABEL))
    return Response(pdf, media_type="application/pdf", headers=named)


async def change(request: Request) -> Response:
    """Keep what became of a sheet: each of it can be taken back."""
    form = await request.form()
    fields = {name: str(form.get(name, ""))[:MOST_TYPED] for name in ("do", "said", "from")}
    return await run_in_threadpool(_change, request, **fields)  # a shelf in use is waited for


def _change(request: Request, **fields: str) -> Response:
    order, do, said = asked_order(request), fields["do"], fields["said"]
    with Shelf.open(order.shelf) as shelf:
        kept = shelf.kept_sheet(request.path_params["sheet"])
        if do not in CHANGES:
            raise OrderError.of("not-asked", "that can't be done with a sheet")
        words, back = CHANGES[do](shelf, kept, said)
    at = f"/order/{order.key}"
    if fields["from"] != "order":
        at = f"{at}/shelf/{kept.sheet.id}"
    doing = Doing(f"Sheet {kept.sheet.id} {words}.", at, partial(_on_shelf, order.shelf, back))
    return undos(request).done(doing)


Back = Callable[[Shelf], object]
"""Takes a change back on a shelf."""


def _on_shelf(place: ShelfPlace, back: Back) -> None:
    with Shelf.open(place) as shelf:
        back(shelf)


def _printed(shelf: Shelf, kept: KeptSheet, _: str) -> tuple[str, Back]:
    shelf.paper.mark_printed(kept.sheet.id)
    return "is marked as printed", lambda it: it.paper.not_printed(kept.sheet.id)


def _moved(kind: MoveKind, shelf: Shelf, kept: KeptSheet, place: str) -> tuple[str, Back]:
    move = shelf.paper.move(kept.sheet.id, kind, place)
    words = {
        MoveKind.SENT: "is sent to be printed",
        MoveKind.BACK: "is back",
        MoveKind.LAID: "has its place",
        MoveKind.LENT: "is lent",
        MoveKind.RETURNED: "is returned",
    }[kind]

    def back(opened: Shelf) -> None:
        opened.paper.take_back(kept.sheet.id, move)
        if kind is MoveKind.BACK and kept.printed_at is None:
            opened.paper.not_printed(kept.sheet.id)

    return f"{words}: {move.place}" if move.place else words, back


def _retired(shelf: Shelf, kept: KeptSheet, why: str) -> tuple[str, Back]:
    shelf.retire(kept.sheet.id, why)
    return "counts no more", lambda it: it.use_again(kept.sheet.id)


def _used_again(shelf: Shelf, kept: KeptSheet, _: str) -> tuple[str, Back]:
    shelf.use_again(kept.sheet.id)
    return "counts again", lambda it: it.retire(kept.sheet.id, kept.retired_why or "")


def _reading_retired(shelf: Shelf, kept: KeptSheet, digest: str) -> tuple[str, Back]:
    shelf.retire_readings(kept.sheet.id, digest)
    return "is without one reading", lambda it: it.use_readings_again(kept.sheet.id, digest)


def _reading_used(shelf: Shelf, kept: KeptSheet, digest: str) -> tuple[str, Back]:
    shelf.use_readings_again(kept.sheet.id, digest)
    return "has one reading more", lambda it: it.retire_readings(kept.sheet.id, digest)


CHANGES: Mapping[str, Callable[[Shelf, KeptSheet, str], tuple[str, Back]]] = {
    "printed": _printed,
    "sent": partial(_moved, MoveKind.SENT),
    "back": partial(_moved, MoveKind.BACK),
    "laid": partial(_moved, MoveKind.LAID),
    "lent": partial(_moved, MoveKind.LENT),
    "returned": partial(_moved, MoveKind.RETURNED),
    "retire": _retired,
    "use-again": _used_again,
    "retire-reading": _reading_retired,
    "use-reading": _reading_used,
}
"""What may be done with a sheet, by the word of its button."""
