"""The house style of our lists on paper: one typeface, wide margins, hairlines, no colour."""

import html
import io
from collections.abc import Callable, Sequence

import pikepdf

from inkaccord.order.model import Order
from inkaccord.pdf.placeholders import put_pictures
from inkaccord.recall.recall import Recall, computed
from inkaccord.report.parts import (
    HAIRLINE,
    BlockPart,
    GapPart,
    GridPart,
    Part,
    PicturePart,
    RulePart,
    TextPart,
    TickPart,
    without_pictures,
)
from inkaccord.sizes import Box, Size, mostly_metric
from inkaccord.units import PT_PER_MM

MARGIN_PT = 18 * PT_PER_MM
FOOT_PT = 12 * PT_PER_MM

Row = Sequence[Part | Sequence[Part]]
"""The cells of a row."""
Story = Callable[[float], list[Part]]
"""Makes the content for a width in points."""


def paper_of(order: Order) -> Size:
    """Return US Letter for an order that thinks in inches, A4 for others."""
    trims = (piece.trim for piece in order.pieces.values())
    return Size.parse("a4" if mostly_metric(trims) else "letter")


def typeset(
    story: Story, *, size: Size, title: str, running: str, recall: Recall = computed
) -> bytes:
    """Return a PDF of flowing content with a foot line ``running … page 1 of 2``.

    The same content gives the same bytes. Pages are set without their pictures, which are put in
    afterwards, so that ``recall`` need not set them anew when only a picture has changed.
    """
    width = size.width_pt - 2 * MARGIN_PT
    pictures: dict[bytes, int] = {}
    parts = tuple(without_pictures(part, pictures) for part in story(width))
    return put_pictures(recall(set_pages, parts, size, title, running), list(pictures))


def set_pages(parts: tuple[Part, ...], size: Size, title: str, running: str) -> bytes:
    """Return a PDF of parts, with places left for their pictures."""
    from inkaccord.report.setting import set_on_pages  # noqa: PLC0415 - loads reportlab

    foot = MARGIN_PT + FOOT_PT
    column = Box(MARGIN_PT, foot, size.width_pt - MARGIN_PT, foot + page_room(size))
    return set_on_pages(parts, size, column, title, running)


def page_count(data: bytes) -> int:
    """Return how many pages a PDF of ours has."""
    with pikepdf.open(io.BytesIO(data)) as pdf:
        return len(pdf.pages)


def page_room(size: Size) -> float:
    """Return the height that flowing content has on one page, in points."""
    return size.height_pt - 2 * MARGIN_PT - FOOT_PT


def heights_of(parts: Sequence[Part], width_pt: float) -> list[float]:
    """Return how much height each part takes at a width, in points."""
    from inkaccord.report.setting import heights_of as measured  # noqa: PLC0415 - loads reportlab

    return measured(parts, width_pt)


def escape(words: str) -> str:
    """Return words as markup that shows them as they are."""
    return html.escape(words, quote=False)


def text(words: str, style: str = "body") -> Part:
    """Return a paragraph of plain words; nothing in them is taken for markup."""
    return marked(escape(words), style)


def marked(markup: str, style: str = "body") -> Part:
    """Return a paragraph of markup whose words the caller has escaped."""
    return TextPart(markup, style)


def gap(height_pt: float) -> Part:
    """Return empty room."""
    return GapPart(height_pt)


def rule(weight: float = HAIRLINE, before: float = 0, after: float = 0) -> Part:
    """Return a level line across the column."""
    return RulePart(weight, before, after)


def together(parts: Sequence[Part]) -> Part:
    """Return parts that stay on one page. They must fit on one."""
    return BlockPart(tuple(parts))


def grid(
    rows: Sequence[Row],
    widths_pt: Sequence[float],
    *,
    head: bool = False,
    lines: bool = True,
    pad_pt: float = 3.0,
    head_span: int = 1,
    over: bool = False,
) -> GridPart:
    """Return a table; its fields are those of :class:`GridPart`."""
    cells = tuple(
        tuple(tuple(cell) if isinstance(cell, Sequence) else (cell,) for cell in row)
        for row in rows
    )
    return GridPart(cells, tuple(widths_pt), head, lines, pad_pt, head_span, over)


def picture(png: bytes, width_px: int, height_px: int, box_pt: tuple[float, float]) -> Part:
    """Return a picture fitted into a box, with a hairline round it so that white paper shows."""
    scale = min(box_pt[0] / width_px, box_pt[1] / height_px)
    return PicturePart(png, width_px * scale, height_px * scale)


def tick_box() -> Part:
    """Return an empty box to tick."""
    return TickPart()
