"""Where a page is cut for a piece of a known size: as it states, or as follows from its boxes.

Most programs write no TrimBox: vector editors, office suites, typesetters and drawing libraries
make pages as large as the sheet that was drawn on, bleed and all. What follows from that is found
here, and written into a copy of the file, so that everything else reads one and the same TrimBox.
"""

from collections.abc import Iterator
from enum import Enum
from pathlib import Path

import pikepdf

from inkaccord.models import Frozen
from inkaccord.pdf.boxes import BOX_KEYS, TRIM_TOLERANCE_PT, BoxName, PageBoxes, page_boxes
from inkaccord.pdf.cut_place import CutPlace
from inkaccord.pdf.opening import open_artwork
from inkaccord.pdf.writing import save_as_packed
from inkaccord.sizes import Box, Size
from inkaccord.units import inches

USUAL_BLEED_PT = inches(1 / 16), inches(1 / 4)
"""The bleeds that a rim round a piece is taken for: common practice, no source."""
_SAME_PT = 0.05
_FIRST_SIDES = {
    0: ("left", "top"),
    90: ("bottom", "left"),
    180: ("right", "bottom"),
    270: ("top", "right"),
}
"""The sides of an unrotated page that stand left and on top when it is shown turned clockwise."""


class CutKnown(Enum):
    """How it is known where a page is cut."""

    STATED = "its TrimBox says so"
    WHOLE = "a box of it is as large as the piece"
    BLEED = "a box of it is as large as the piece with bleed on every side"
    TOLD = "the order says so"
    UNKNOWN = "nothing tells"


class PageCut(Frozen):
    """A page's boxes with its trim and bleed as they are understood, and what that rests on."""

    boxes: PageBoxes
    known: CutKnown
    follows: BoxName = "media"
    """The box that it follows from."""
    states_page: bool = False
    """Whether there is a TrimBox, and only repeats the MediaBox."""


def page_cut(
    boxes: PageBoxes, piece: Size, bleed_pt: float, place: CutPlace | None = None
) -> PageCut:
    """Return where a page is cut.

    A ``place`` that was told counts before all; then a TrimBox, save one that only repeats the
    MediaBox and does not fit; then a box as large as the piece, either way round; then one that is
    larger by the same rim on every side, where that is the ``bleed_pt`` that is asked or a usual
    one. Where nothing tells, the trim is what :func:`~inkaccord.pdf.boxes.page_boxes` has.
    """
    if place is not None:
        trim = _placed(boxes, piece, place)
        return PageCut(
            boxes=_cut(boxes, trim, trim.grown(bleed_pt)), known=CutKnown.TOLD, follows="crop"
        )
    stated = "trim" in boxes.stated
    repeats = stated and _same(boxes.trim, boxes.media) and not boxes.fits(piece)
    if stated and not repeats:
        return PageCut(boxes=boxes, known=CutKnown.STATED, follows="trim")
    found = _whole(boxes, piece, bleed_pt) or _with_bleed(boxes, piece, bleed_pt)
    if found is None:
        return PageCut(boxes=boxes, known=CutKnown.STATED if stated else CutKnown.UNKNOWN)
    return found.model_copy(update={"states_page": repeats})


def with_cuts(
    source: Path | bytes, piece: Size, bleed_pt: float, place: CutPlace | None = None
) -> bytes | None:
    """Return a file in which every page states its TrimBox and BleedBox as they are understood.

    None where each states it already, or nothing tells: then the file is right as it is. An
    ArtBox goes, which must not stand beside a TrimBox (ISO 15930-7:2010, 6.17, from memory).
    Raises FileError when the file can't be read.
    """
    with open_artwork(source) as pdf:
        changed = False
        for page in pdf.pages:
            cut = page_cut(page_boxes(page), piece, bleed_pt, place)
            if cut.known in {CutKnown.STATED, CutKnown.UNKNOWN}:
                continue
            changed = True
            for name in ("trim", "bleed"):
                corners = [round(edge / cut.boxes.user_unit, 5) for edge in cut.boxes.of(name)]
                page.obj[BOX_KEYS[name]] = pikepdf.Array(corners)
            if BOX_KEYS["art"] in page.obj:
                del page.obj[BOX_KEYS["art"]]
        return save_as_packed(pdf) if changed else None


def _whole(boxes: PageBoxes, piece: Size, bleed_pt: float) -> PageCut | None:
    for name, box in _stated(boxes, "art", "crop", "bleed", "media"):
        there = boxes.model_copy(update={"trim": box})
        if there.fits(piece) or there.lies_turned(piece):
            cut = _cut(boxes, box, box.grown(bleed_pt))
            return PageCut(boxes=cut, known=CutKnown.WHOLE, follows=name)
    return None


def _with_bleed(boxes: PageBoxes, piece: Size, bleed_pt: float) -> PageCut | None:
    for name, box in _stated(boxes, "bleed", "crop", "media"):
        there = boxes.model_copy(update={"trim": box})
        for way in (piece, piece.turned):
            if _is_bleed(boxes.size_of(box), way, bleed_pt):
                cut = _cut(boxes, there.trim_as(way), box)
                return PageCut(boxes=cut, known=CutKnown.BLEED, follows=name)
    return None


def _is_bleed(found: Size, piece: Size, bleed_pt: float) -> bool:
    """Tell whether a size is a piece's with the same bleed on every side."""
    across, up = found.width_pt - piece.width_pt, found.height_pt - piece.height_pt
    if abs(across - up) > TRIM_TOLERANCE_PT:
        return False
    both = (across + up) / 2
    least, most = (2 * usual for usual in USUAL_BLEED_PT)
    asked = bleed_pt > 0 and abs(both - 2 * bleed_pt) <= TRIM_TOLERANCE_PT
    return asked or least - TRIM_TOLERANCE_PT <= both <= most + TRIM_TOLERANCE_PT


def _stated(boxes: PageBoxes, *names: BoxName) -> Iterator[tuple[BoxName, Box]]:
    for name in names:
        if name in boxes.stated:
            yield name, boxes.of(name)


def _placed(boxes: PageBoxes, piece: Size, place: CutPlace) -> Box:
    """Return the trim where a person sees it; a viewer shows the CropBox."""
    size, page = piece.turned if boxes.rotation in {90, 270} else piece, boxes.crop
    told = dict(zip(_FIRST_SIDES[boxes.rotation], place, strict=True))
    x = _along(page.left, page.right, size.width_pt, told.get("left"), told.get("right"))
    y = _along(page.bottom, page.top, size.height_pt, told.get("bottom"), told.get("top"))
    return Box(x, y, x + size.width_pt, y + size.height_pt)


def _along(
    low: float, high: float, length: float, after: float | None, before: float | None
) -> float:
    if after is not None:
        return low + after
    if before is not None:
        return high - before - length
    return (low + high - length) / 2


def _cut(boxes: PageBoxes, trim: Box, bleed: Box) -> PageBoxes:
    return boxes.model_copy(update={"trim": trim, "bleed": bleed.common(boxes.media)})


def _same(one: Box, other: Box) -> bool:
    return one.holds(other, _SAME_PT) and other.holds(one, _SAME_PT)
