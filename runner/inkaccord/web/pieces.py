"""From artwork to order: pieces, their colours, and where each is printed, by a form.

The form works on the order file: what is typed is an order's text at once, is checked as one, and
is kept as one. Nothing that was typed is lost where it is none yet.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from http import HTTPStatus

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from inkaccord.artwork.inventory.inventory import Inventory
from inkaccord.colour.paints import Paint
from inkaccord.diagnostics import Diagnostic
from inkaccord.errors import InkaccordError
from inkaccord.files import write_whole
from inkaccord.foresight.adding import add_artwork
from inkaccord.foresight.palette import PaletteColour, names_in, palette
from inkaccord.order.amending import amended, written_at
from inkaccord.order.naming import Changes
from inkaccord.recall.recent import Recent
from inkaccord.run.collected import FoundAs
from inkaccord.sizes import Size
from inkaccord.units import spoken_length
from inkaccord.web.answering import done_in_file, order_text, save
from inkaccord.web.artworks import PictureSize, clicked, held_by, looks, sizes_of
from inkaccord.web.draft import (
    AIM_KINDS,
    IS,
    LEAVE_OUT,
    STAYS,
    aim_parts,
    beside,
    checked,
    draft_of,
)
from inkaccord.web.form import Form
from inkaccord.web.known import asks_for_printer, known_printers, printer_changes
from inkaccord.web.rendering import page
from inkaccord.web.studio import OrderOnPage, asked_order
from inkaccord.web.undoing import told, undos
from inkaccord.web.uploads import HELD, uploads_of

MOST_FILES, MOST_FIELDS = 60, 6000
KEEP, ADD_ARTWORK, ADD_PRINTER, JOIN, AT = "keep", "add-artwork", "add-printer", "join/", "at/"
_DONE = {
    KEEP: "The order is kept as filled in.",
    ADD_ARTWORK: "The artwork is in the order.",
    ADD_PRINTER: "The printer is in the order.",
}


@dataclass(frozen=True)
class ArtworkSeen:
    """What was read from a piece's artwork."""

    inventory: Inventory | None

    @property
    def pages(self) -> tuple[PictureSize, ...]:
        """The pictures of its first pages."""
        return sizes_of(self.inventory) if self.inventory else ()

    @property
    def trim_size(self) -> Size | None:
        """The size that its first page is cut to; None where its boxes can't be read."""
        first = self.inventory.pages[0].boxes if self.inventory else None
        return first.trim_size if first is not None else None

    @property
    def bleed(self) -> str | None:
        """The least bleed of its pages, in words; None where one does not say where it is cut."""
        boxes = [it.boxes for it in self.inventory.pages] if self.inventory else []
        if not boxes or any(it is None or "trim" not in it.stated for it in boxes):
            return None
        least_pt = min(it.bleed_pt.least_pt for it in boxes if it is not None)
        return spoken_length(least_pt, metric=self.trim_size is None or self.trim_size.is_metric)


def pieces_page(request: Request) -> Response:
    """Show the pieces and colours of an order, as its file has them."""
    order = asked_order(request)
    return _shown(request, order, {}, order.sha256)


async def change(request: Request) -> Response:
    """Check what was typed, add to it, or keep it; what was dropped is added where it is kept."""
    order = asked_order(request)
    uploads = uploads_of(request)
    async with request.form(max_files=MOST_FILES, max_fields=MOST_FIELDS) as form:
        typed = {name: it for name, it in form.items() if isinstance(it, str)}
        typed[HELD] = await uploads.of_form(form, "artwork")
    answer = await run_in_threadpool(_change, request, order, typed)
    if answer.status_code == HTTPStatus.SEE_OTHER:
        uploads.discard(typed[HELD])
    return answer


def _change(request: Request, order: OrderOnPage, typed: dict[str, str]) -> Response:
    do, was = typed.get("do", "check"), typed.get("was", "")
    for name in [it for it in typed if it.startswith(JOIN)]:
        paint = name.removeprefix(JOIN)
        typed |= {IS + paint: typed.pop(name), "show": paint}
    pointed = _pointed(order, typed, request.app.state.recent)
    if order.trouble is not None or do not in _DONE:
        return _shown(request, order, typed, was, show=pointed)
    try:
        found = held_by(order, request.app.state.recent)
        colours = palette(order.loaded.order, found)
        draft = draft_of(order, typed, names_in(order.loaded.order, colours))
        files, changes = _dropped(request, order, typed[HELD])
        if do == ADD_PRINTER or asks_for_printer(typed):
            changes |= printer_changes(request.app.state.studio, order, typed)
        text = amended(draft.text, changes)
        save(order, text, was, only_check=True)
        for path, data in files.items():
            write_whole(order.path.parent / path, data)
        before = order_text(order)
        save(order, text, was)
    except InkaccordError as problem:
        return _shown(request, order, typed, was, problem.findings, status=409)
    at = f"/order/{order.key}" if do == KEEP else f"/order/{order.key}/pieces"
    return undos(request).done(done_in_file(order, before, _DONE[do], at))


def _dropped(request: Request, order: OrderOnPage, word: str) -> tuple[dict[str, bytes], Changes]:
    """Return the files and the new pieces of artwork that was dropped."""
    if not word:
        return {}, {}
    artworks = uploads_of(request).find(word)
    return add_artwork(order.loaded.order, order.path.parent, artworks)


def _pointed(order: OrderOnPage, typed: Mapping[str, str], recent: Recent) -> str:
    """Return the colour that was clicked in a picture, by a browser without scripts."""
    for name in typed:
        if name.startswith(AT) and name.endswith(".x"):
            piece, found = name.removeprefix(AT).partition("/")[0], held_by(order, recent)
            if piece in found:
                path = order.loaded.folder / order.loaded.order.pieces[piece].artwork
                return clicked(path, sizes_of(found[piece]), f"{AT}{piece}/", typed)
    return typed.get("show", "")


def _shown(
    request: Request,
    order: OrderOnPage,
    typed: Mapping[str, str],
    was: str,
    problems: tuple[Diagnostic, ...] = (),
    *,
    show: str = "",
    status: int = 200,
) -> Response:
    if order.trouble is not None:
        wrong = problems or order.trouble.findings
        return page("pieces_broken.html", status, order=order, findings=wrong)
    found = held_by(order, request.app.state.recent)
    colours = palette(order.loaded.order, found)
    form = Form(order, typed)
    names = names_in(order.loaded.order, colours)
    text, findings, looking = order.text, problems, False
    places = {it.name: it.path for it in form.fields()}
    places |= {"/".join(it.path): it.path for it in form.groups()}
    places |= {f"colours/{name}": ("colours", name) for name in order.loaded.order.colours}
    try:
        draft = draft_of(order, typed, names)
        text = draft.text
        places = {name: draft.path_now(path) for name, path in places.items()}
        state = request.app.state
        ahead, looking = checked(order, text, state.soon, state.studio.opened)
        findings = problems or ahead
    except InkaccordError as problem:
        findings = problems or problem.findings
    said = beside(findings, places)
    to_mend = [name for name, those in said.items() for it in those if it.is_to_mend]
    return page(
        "pieces.html",
        status,
        order=order,
        was=was,
        form=form,
        colours=[(it, _name_of(it, names, typed)) for it in colours],
        looks=looks(order, colours),
        brands=order.loaded.order.colours,
        aims={name: aim_parts(written_at(order.text, ("colours", name, "aim")))
              for name in order.loaded.order.colours},
        kinds=AIM_KINDS,
        kept=[str(it) for it in order.loaded.order.keep],
        stays=STAYS,
        leave_out=LEAVE_OUT,
        typed=typed,
        artworks={name: ArtworkSeen(found.get(name)) for name in order.loaded.order.pieces},
        known=known_printers(request.app.state.studio, order),
        adding=typed.get("do") == ADD_PRINTER or asks_for_printer(typed),
        said=said,
        looking=looking,
        count=len(to_mend),
        first=next(iter(to_mend), ""),
        text=text,
        show=show,
        done=told(request),
        held=typed.get(HELD, ""),
        files=uploads_of(request).find(typed[HELD]) if typed.get(HELD) else (),
        FoundAs=FoundAs,
    )  # fmt: skip


def _name_of(colour: PaletteColour, names: Mapping[Paint, str], typed: Mapping[str, str]) -> str:
    return typed.get(f"{IS}{colour.paint}", names.get(colour.paint, ""))
