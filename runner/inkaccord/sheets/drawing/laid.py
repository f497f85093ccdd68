"""Blocks laid on the larger sheet that a device takes, to be cut out of it."""

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

from inkaccord.cautions import EITHER_BLADE, INKS_AND_HEAT_IN_BRIEF
from inkaccord.drawing.canvas import Drawing, text_width
from inkaccord.errors import OrderError
from inkaccord.sheets.drawing.drawn import DrawnPage, DrawnSheet, Placed, pages_of, with_pages
from inkaccord.sheets.drawing.pens import Pen
from inkaccord.sheets.drawing.side_by_side import SideBySide, draw_cut_marks, lay_side_by_side
from inkaccord.sheets.settings import SheetFormat
from inkaccord.sizes import Sides
from inkaccord.words import joined

_MARK_OFF_PT, _MARK_PT = 4.0, 12.0
_TEXT_PT, _LEADING_PT = 8.0, 11.0
_CUT = (
    "A smaller cut of this stock does as well, where the device takes one: {}, for the block alone."
)
_HOW = (
    "Print at 100 %, without colour conversion. Let it dry, then cut at the marks.",
    INKS_AND_HEAT_IN_BRIEF,
    EITHER_BLADE,
)


def lay_blocks(
    drawn: Iterable[DrawnSheet],
    on: Sequence[SheetFormat],
    *,
    title: str,
    beside: Iterable[DrawnSheet] = (),
) -> bytes:
    """Return one PDF with sample sheets as blocks on a device's larger sheets, to be cut out.

    Raises OrderError ``sheet-too-small`` when a block is larger than all of them.

    Parameters
    ----------
    drawn
        Sheets for one device and stock, with the PDF of each.
    on
        The sheets that the device takes. Of these the one is taken that needs the least paper.
    title
        What stands beside the blocks: the vendor and the stock.
    beside
        Sheets for other devices that the same paper goes through: their places are left free, and
        the device that comes first by its name draws the marks.
    """
    own = list(pages_of(drawn))
    blocks = [*own, *pages_of(beside)]
    names = {block.sheet.id for block in own}
    drawing = Drawing(on[0].size, title=title, subject=str(blocks[0].sheet.pair))
    pen = Pen(drawing.canvas, blocks[0].sheet.drive)
    places: list[list[Placed]] = []
    for _, group in groupby(sorted(blocks, key=_pair_key), key=_size_key):
        alike = list(group)
        laid = _least_paper(alike, on)
        for number in range(laid.sheets):
            every = list(_on_sheet(laid, number, alike))
            here = [placed for placed in every if placed[0].sheet.id in names]
            if not here:
                continue
            drawing.page(laid.on.size)
            _draw_round(pen, laid, title, [block for block, _, _ in every], here[0][0])
            drawing.canvas.showPage()
            places.append(here)
    return with_pages(drawing.bytes(), places)


def _size_key(block: DrawnPage) -> tuple[float, float]:
    return block.sheet.size.width_pt, block.sheet.size.height_pt


def _pair_key(block: DrawnPage) -> tuple[float, float, str]:
    return *_size_key(block), str(block.sheet.pair)


def _least_paper(blocks: Sequence[DrawnPage], on: Sequence[SheetFormat]) -> SideBySide:
    first = blocks[0].sheet
    ways: list[SideBySide] = []
    problem: OrderError | None = None
    for sheet in on:
        try:
            inset = Sides.even(first.settings.safe_pt)
            ways.append(lay_side_by_side(first.size, inset, len(blocks), sheet))
        except OrderError as found:
            problem = found
    if not ways and problem is not None:
        raise problem
    return min(ways, key=lambda it: it.sheets * it.on.size.width_pt * it.on.size.height_pt)


def _on_sheet(laid: SideBySide, number: int, blocks: Sequence[DrawnPage]) -> Iterator[Placed]:
    """Yield the blocks of one sheet with their lower left corners."""
    for place in range(laid.places):
        at = laid.number(number, place) - 1
        if at < len(blocks):
            yield blocks[at], *laid.corner(place)


def _draw_round(
    pen: Pen, laid: SideBySide, title: str, blocks: Sequence[DrawnPage], own: DrawnPage
) -> None:
    """Draw the cut marks, and what the sheet is where the paper leaves room for it.

    ``blocks`` are all on it, and ``own`` is the first that is printed now.
    """
    left, bottom = laid.left, laid.bottom
    right = left + laid.columns * laid.size.width_pt
    top = bottom + laid.rows * laid.size.height_pt
    pairs = list(dict.fromkeys(str(block.sheet.pair) for block in blocks))
    pair = str(own.sheet.pair)
    if pair == pairs[0]:  # the paper goes through the other devices after this one
        draw_cut_marks(pen, laid)
        _draw_corners(pen, (left, right), (bottom, top))
    names = dict.fromkeys(block.sheet.id for block in blocks if str(block.sheet.pair) == pair)
    lines = [f"{title}: {', '.join(names)}"]
    if len(pairs) > 1:
        lines.append(_passes(pairs, pair))
    lines += [_CUT.format(own.sheet.size), *_HOW]
    # What other devices print stands below.
    base = bottom - _MARK_OFF_PT - _MARK_PT - _LEADING_PT
    base -= pairs.index(pair) * (len(lines) + 1) * _LEADING_PT
    room = right - left
    if base - len(lines) * _LEADING_PT < laid.on.unprintable.bottom:
        return
    for number, line in enumerate(lines):
        size = min(_TEXT_PT, _TEXT_PT * room / text_width(line, _TEXT_PT))
        pen.text(left, base - number * _LEADING_PT, line, size)


def _passes(pairs: Sequence[str], pair: str) -> str:
    """Say through which devices the same paper goes before and after."""
    at = pairs.index(pair)
    before, after = joined(pairs[:at]), joined(pairs[at + 1 :])
    if not before:
        return f"The same paper then goes through {after}, the same edge first."
    then = f", and goes through {after} after it" if after else ""
    return f"On the paper that went through {before}, once dry, the same edge first{then}."


def _draw_corners(pen: Pen, xs: tuple[float, float], ys: tuple[float, float]) -> None:
    for x, out_x in zip(xs, (-1, 1), strict=True):
        for y, out_y in zip(ys, (-1, 1), strict=True):
            near, far = y + out_y * _MARK_OFF_PT, y + out_y * (_MARK_OFF_PT + _MARK_PT)
            pen.line(x, near, x, far, 0.25)
            near, far = x + out_x * _MARK_OFF_PT, x + out_x * (_MARK_OFF_PT + _MARK_PT)
            pen.line(near, y, far, y, 0.25)
