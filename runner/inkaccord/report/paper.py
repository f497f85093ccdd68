"""The house style of our lists on paper: one typeface, wide margins, hairlines, no colour."""

import html
import io
from collections.abc import Callable, Sequence
from functools import cache
from typing import TYPE_CHECKING, Any

from inkaccord.drawing.canvas import BOLD, ITALIC, REGULAR, Drawing, fit_text, text_width
from inkaccord.order.model import Order
from inkaccord.sizes import Size
from inkaccord.units import PT_PER_MM

if TYPE_CHECKING:
    from reportlab.lib.styles import ParagraphStyle
    from reportlab.platypus import Flowable

    Row = Sequence[Flowable | list[Flowable]]

MARGIN_PT = 18 * PT_PER_MM
FOOT_PT = 12 * PT_PER_MM
GREY = 0.42
HAIRLINE = 0.4

Story = Callable[[float], "list[Flowable]"]
"""Makes the content for a width in points."""


def paper_of(order: Order) -> Size:
    """Return US Letter for an order that thinks in inches, A4 for others."""
    in_inches = [str(piece.trim).endswith("in") for piece in order.pieces.values()]
    return Size.parse("letter" if sum(in_inches) * 2 > len(in_inches) else "a4")


def typeset(story: Story, *, size: Size, title: str, running: str) -> bytes:
    """Return a PDF of flowing content with a foot line ``running … page 1 of 2``.

    The same content gives the same bytes.
    """
    from reportlab.platypus import Frame  # noqa: PLC0415 - slow to load

    drawing = Drawing(size, title=title, subject=running)
    canvas = drawing.canvas
    width = size.width_pt - 2 * MARGIN_PT
    left = story(width)
    pages = 0
    while left or pages == 0:
        pages += 1
        drawing.page(size)
        frame = Frame(
            MARGIN_PT,
            MARGIN_PT + FOOT_PT,
            width,
            page_room(size),
            leftPadding=0,
            rightPadding=0,
            topPadding=0,
            bottomPadding=0,
        )
        before = len(left)
        frame.addFromList(left, canvas)
        if left and len(left) == before:
            parts = frame.split(left[0], canvas)
            if not parts:
                raise ValueError("a part of the page is higher than the page")
            left[:1] = parts
            frame.addFromList(left, canvas)
        canvas.doForm(_foot_name(pages))
        canvas.showPage()
    # A foot line says how many pages there are, so all of them are drawn last.
    for page in range(1, pages + 1):
        canvas.beginForm(_foot_name(page), 0, 0, size.width_pt, size.height_pt)
        _foot(drawing, size, running, f"page {page} of {pages}")
        canvas.endForm()
    return drawing.bytes()


def page_room(size: Size) -> float:
    """Return the height that flowing content has on one page, in points."""
    return size.height_pt - 2 * MARGIN_PT - FOOT_PT


def heights_of(parts: "Sequence[Flowable]", width_pt: float) -> list[float]:
    """Return how much height each part takes at a width, in points."""
    return [
        part.getSpaceBefore() + part.wrap(width_pt, 1e6)[1] + part.getSpaceAfter() for part in parts
    ]


def _foot_name(page: int) -> str:
    return f"foot{page}"


def _foot(drawing: Drawing, size: Size, running: str, page: str) -> None:
    canvas = drawing.canvas
    canvas.setFont(REGULAR, 7.5)
    canvas.setFillGray(GREY)
    room = size.width_pt - 2 * MARGIN_PT - text_width(page, 7.5) - 24
    canvas.drawString(MARGIN_PT, MARGIN_PT, fit_text(running, room, 7.5))
    canvas.drawRightString(size.width_pt - MARGIN_PT, MARGIN_PT, page)


_STYLES: dict[str, dict[str, Any]] = {
    "body": {"fontSize": 9.25, "leading": 12.75},
    "small": {"fontSize": 8, "leading": 10.75},
    "quiet": {"fontSize": 8, "leading": 10.75, "textColor": "#6b6b6b"},
    "label": {"fontSize": 7.5, "leading": 12.75, "textColor": "#6b6b6b"},
    "tag": {"fontSize": 9.25, "leading": 12.75, "textColor": "#6b6b6b"},
    "strong": {"fontSize": 9.25, "leading": 12.75, "fontName": BOLD},
    "number": {"fontSize": 9.25, "leading": 12.75, "alignment": 2},
    "number-label": {"fontSize": 7.5, "leading": 12.75, "textColor": "#6b6b6b", "alignment": 2},
    "italic": {"fontSize": 9.25, "leading": 12.75, "fontName": ITALIC},
    "title": {"fontSize": 21, "leading": 25, "fontName": BOLD},
    "heading": {"fontSize": 12, "leading": 16, "fontName": BOLD},
    "fact": {"fontSize": 11.5, "leading": 15, "fontName": BOLD},
}


def escape(words: str) -> str:
    """Return words as markup that shows them as they are."""
    return html.escape(words, quote=False)


def text(words: str, style: str = "body") -> "Flowable":
    """Return a paragraph of plain words; nothing in them is taken for markup."""
    return marked(escape(words), style)


def marked(markup: str, style: str = "body") -> "Flowable":
    """Return a paragraph of markup whose words the caller has escaped."""
    from reportlab.platypus import Paragraph  # noqa: PLC0415 - slow to load

    return Paragraph(markup, _style(style))


@cache
def _style(name: str) -> "ParagraphStyle":
    from reportlab.lib.styles import ParagraphStyle  # noqa: PLC0415 - slow to load

    settings = {"fontName": REGULAR, "splitLongWords": 1, **_STYLES[name]}
    return ParagraphStyle(name, **settings)


def gap(height_pt: float) -> "Flowable":
    """Return empty room."""
    from reportlab.platypus import Spacer  # noqa: PLC0415 - slow to load

    return Spacer(1, height_pt)


def rule(weight: float = HAIRLINE, before: float = 0, after: float = 0) -> "Flowable":
    """Return a level line across the column."""
    from reportlab.lib.colors import Color  # noqa: PLC0415 - slow to load
    from reportlab.platypus import HRFlowable  # noqa: PLC0415 - slow to load

    return HRFlowable(
        width="100%",
        thickness=weight,
        color=Color(0, 0, 0) if weight > HAIRLINE else Color(0.6, 0.6, 0.6),
        spaceBefore=before,
        spaceAfter=after,
    )


def together(parts: "Sequence[Flowable]") -> "Flowable":
    """Return parts that stay on one page. They must fit on one."""
    from reportlab.platypus import Table  # noqa: PLC0415 - slow to load

    block = Table([[list(parts)]], colWidths=["100%"], hAlign="LEFT")
    block.setStyle([*_NO_PADDING])
    return block


_NO_PADDING = tuple(
    (f"{side}PADDING", (0, 0), (-1, -1), 0) for side in ("LEFT", "RIGHT", "TOP", "BOTTOM")
)


def grid(
    rows: "Sequence[Row]",
    widths_pt: Sequence[float],
    *,
    head: bool = False,
    lines: bool = True,
    pad_pt: float = 3.0,
    head_span: int = 1,
    over: bool = False,
) -> "Flowable":
    """Return a table: a line under the head, hairlines between rows, the first column flush.

    ``head_span`` is over how many columns the first cell of the head reaches; ``over`` draws a
    line over the first row, to be signed on.
    """
    from reportlab.platypus import Table  # noqa: PLC0415 - slow to load

    table = Table(
        [[*row] for row in rows],
        colWidths=list(widths_pt),
        repeatRows=1 if head else 0,
        hAlign="LEFT",
    )
    style: list[tuple[Any, ...]] = [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (0, -1), 0),
        ("LEFTPADDING", (1, 0), (-1, -1), 5),
        ("RIGHTPADDING", (0, 0), (-1, -1), 5),
        ("RIGHTPADDING", (-1, 0), (-1, -1), 0),
        ("TOPPADDING", (0, 0), (-1, -1), pad_pt),
        ("BOTTOMPADDING", (0, 0), (-1, -1), pad_pt),
    ]
    if lines and len(rows) > 1:
        style.append(("LINEBELOW", (0, 0), (-1, -2), 0.3, (0.8, 0.8, 0.8)))
    if over:
        style.append(("LINEABOVE", (0, 0), (-1, 0), 0.6, (0, 0, 0)))
    if head_span > 1:
        style.append(("SPAN", (0, 0), (head_span - 1, 0)))
    if head:
        style.append(("LINEBELOW", (0, 0), (-1, 0), 0.6, (0, 0, 0)))
    table.setStyle(style)
    return table


def picture(png: bytes, width_px: int, height_px: int, box_pt: tuple[float, float]) -> "Flowable":
    """Return a picture fitted into a box, with a hairline round it so that white paper shows."""
    from reportlab.platypus import Image, Table  # noqa: PLC0415 - slow to load

    from inkaccord.drawing.flowables import packed_picture  # noqa: PLC0415 - loads reportlab

    scale = min(box_pt[0] / width_px, box_pt[1] / height_px)
    size = width_px * scale, height_px * scale
    image = packed_picture(png, *size) or Image(io.BytesIO(png), width=size[0], height=size[1])
    frame = Table([[image]], colWidths=[size[0]], rowHeights=[size[1]], hAlign="LEFT")
    frame.setStyle(
        [
            *_NO_PADDING,
            ("BOX", (0, 0), (-1, -1), 0.3, (0.65, 0.65, 0.65)),
        ]
    )
    return frame


def tick_box() -> "Flowable":
    """Return an empty box to tick."""
    from reportlab.platypus import Table  # noqa: PLC0415 - slow to load

    box = Table([[""]], colWidths=[9.0], rowHeights=[9.0], hAlign="LEFT")
    box.setStyle([("BOX", (0, 0), (-1, -1), 0.7, (0, 0, 0))])
    return box
