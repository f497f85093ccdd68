"""A mask of grey card with two holes: the eye sees a swatch, the thing, and nothing else.

It is laid out for one sheet, whose swatches its holes suit.
"""

from itertools import product

from inkaccord.cautions import KNIFE
from inkaccord.colour.builds import Build
from inkaccord.drawing.canvas import BOLD, REGULAR, Drawing, text_width
from inkaccord.models import Frozen
from inkaccord.sheets.drawing.card_plan import wrapped
from inkaccord.sheets.drawing.pens import Pen
from inkaccord.sheets.frame import frames_of
from inkaccord.sheets.model import SampleSheet, Swatch
from inkaccord.sheets.planning.grid import build_text, too_small
from inkaccord.sheets.settings import SheetFormat, SheetSettings, rounded
from inkaccord.sizes import Box
from inkaccord.units import PT_PER_MM

INSIDE_PT = 1 * PT_PER_MM
"""How far inside a swatch's edges the hole's lie, so that no paper shows at its rim."""
SURROUND_PT, LEAST_SURROUND_PT = 30 * PT_PER_MM, 12 * PT_PER_MM
"""Grey round the holes: what is wanted, and what a small page must have room for."""
HOW_TO_USE = (
    "Lay the thing right beside a swatch, and the mask over both, so that one hole shows the "
    "swatch and the other the thing; then move on from swatch to swatch and compare what the two "
    "holes show. Hold it flat, so that it throws no shadow, and look straight through."
)
NEUTRAL = (
    "A printed grey is only as neutral as the device that prints it. Where you have neutral grey "
    "card, matt, cut the holes out of that instead, by this one."
)

_TITLE_PT, _TEXT_PT, _LEADING_PT = 10.0, 8.0, 10.4
_PARAGRAPH_PT = 3.0
_TEXT_ROOM_PT = 118.0
_TEXT_WIDTH_PT = 330.0
_TICK_PT, _TICK_GAP_PT = 7.0, 2.0
_IN_HOLE = (
    ("Cut out: away", "from yourself,", "mat, steel rule,", "fingers clear"),
    ("Cut out:", "mind the", "blade"),
    ("Cut out",),
)
_IN_HOLE_PT = (7.0, 6.0)


class Mask(Frozen):
    """A mask for the swatches of one sheet, on one page."""

    sheet: SampleSheet
    page: SheetFormat
    grey: Build
    card: Box
    """The mask's own edge, along which it is cut out."""
    holes: tuple[Box, Box]
    """The one for the thing, and below it the one for the swatch."""
    text: Box
    """Where it says how to use it."""


def lay_mask(sheet: SampleSheet, page: SheetFormat, grey: Build) -> Mask:
    """Lay out a mask whose holes suit the swatches that a sheet has for the eye, or else any.

    A hole is a swatch less :data:`INSIDE_PT` on every side; the two lie as far apart as swatches
    do. Raises OrderError for a sheet that was not drawn here, and ``sheet-too-small`` for a page
    without room.
    """
    frames_of(sheet)
    swatches = sorted((s for s in sheet.swatches if s.box_pt is not None), key=_eye_first)
    swatch = swatches[0].box_pt or Box(0.0, 0.0, 0.0, 0.0)
    width, height = swatch.width - 2 * INSIDE_PT, swatch.height - 2 * INSIDE_PT
    gap = sheet.settings.gutter_pt
    room = SheetSettings().live_area(page)
    ticks = _TICK_PT + _TICK_GAP_PT
    free = (
        room.width - width - 2 * ticks,
        room.height - 2 * height - gap - 2 * ticks - _TEXT_ROOM_PT,
    )
    around = min(SURROUND_PT, min(free) / 2)
    if around < LEAST_SURROUND_PT:
        raise too_small(page, "a mask for this sheet")
    middle, upper = (room.left + room.right) / 2, room.top - ticks - around
    thing, own = (
        rounded((middle - width / 2, edge - height, middle + width / 2, edge))
        for edge in (upper, upper - height - gap)
    )
    card = rounded((own.left - around, own.bottom - around, own.right + around, thing.top + around))
    half = min(_TEXT_WIDTH_PT, room.width) / 2
    return Mask(
        sheet=sheet,
        page=page,
        grey=grey,
        card=card,
        holes=(thing, own),
        text=rounded((middle - half, room.bottom, middle + half, card.bottom - ticks)),
    )


def draw_mask(mask: Mask) -> bytes:
    """Return the PDF of a mask: grey but for its holes, lines to cut by, and how to use it."""
    sheet, page = mask.sheet, mask.page
    drawing = Drawing(page.media, title=f"Mask for sheet {sheet.id}", subject=str(sheet.pair))
    pen = Pen(drawing.canvas, sheet.drive)
    drawing.page(page.media, trim_pt=page.trim_pt, bleed_pt=page.bleed_pt)
    _draw_grey(pen, mask)
    pen.black()
    _draw_ticks(pen, mask.card)
    for hole in mask.holes:
        pen.dashed_box(hole)
        _draw_in_hole(pen, hole)
    _draw_text(pen, mask)
    drawing.canvas.showPage()
    return drawing.bytes()


def _eye_first(swatch: Swatch) -> tuple[bool, bool]:
    return not swatch.for_eye, swatch.control


def _draw_grey(pen: Pen, mask: Mask) -> None:
    """Fill all but the holes: one path, filled by the even-odd rule."""
    pen.build(mask.grey)
    pen.fill_boxes(
        (box.left, box.bottom, box.width, box.height) for box in (mask.card, *mask.holes)
    )


def _draw_ticks(pen: Pen, card: Box) -> None:
    """Draw the lines to cut the mask out by, off its corners."""
    for x, out in ((card.left, -1), (card.right, 1)):
        for y, up in ((card.bottom, -1), (card.top, 1)):
            near, far = _TICK_GAP_PT, _TICK_GAP_PT + _TICK_PT
            pen.line(x + out * near, y, x + out * far, y, 0.35)
            pen.line(x, y + up * near, x, y + up * far, 0.35)


def _draw_in_hole(pen: Pen, hole: Box) -> None:
    """Say in a hole, where it is cut away, that it is to be cut out."""
    for lines, size in product(_IN_HOLE, _IN_HOLE_PT):
        leading = 1.2 * size
        wide = max(text_width(line, size) for line in lines)
        if len(lines) * leading <= hole.height - 2 and wide <= hole.width - 4:
            top = (hole.bottom + hole.top + len(lines) * leading) / 2
            for number, line in enumerate(lines):
                y = top - number * leading - 0.9 * size
                pen.text_middle((hole.left + hole.right) / 2, y, line, size)
            return


def _draw_text(pen: Pen, mask: Mask) -> None:
    left, _, right, y = mask.text
    pen.text(left, y - _TITLE_PT, f"Mask for sheet {mask.sheet.id}", _TITLE_PT, BOLD)
    grey = f"grey {build_text(mask.grey)}, {mask.sheet.pair}"
    pen.text_right(right, y - _TITLE_PT, grey, _TEXT_PT)
    y -= _TITLE_PT + _PARAGRAPH_PT
    for words in (HOW_TO_USE, KNIFE, NEUTRAL):
        font = BOLD if words is KNIFE else REGULAR
        for line in wrapped(words, right - left, _TEXT_PT, font):
            y -= _LEADING_PT
            pen.text(left, y, line, _TEXT_PT, font)
        y -= _PARAGRAPH_PT
