"""Parts of our lists set on pages, through reportlab."""

from collections.abc import Callable, Sequence
from functools import cache
from typing import Any

from reportlab.lib.colors import Color
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase.pdfdoc import PDFDictionary, PDFName, PDFStream
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, Frame, HRFlowable, Paragraph, Spacer, Table

from inkaccord.drawing.canvas import (
    BOLD,
    ITALIC,
    REGULAR,
    Drawing,
    fit_text,
    ready_typeface,
    text_width,
)
from inkaccord.pdf.placeholders import PLACEHOLDER
from inkaccord.report.paper_chart import draw_chart
from inkaccord.report.parts import (
    HAIRLINE,
    BlockPart,
    ChartPart,
    GapPart,
    GridPart,
    Part,
    PicturePart,
    RulePart,
    TextPart,
    TickPart,
)
from inkaccord.sizes import Box, Size

_GREY = 0.42
_FOOT_SIZE = 7.5
_NUMBER_RADIUS_PT = 5.2

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
_NO_PADDING = tuple(
    (f"{side}PADDING", (0, 0), (-1, -1), 0) for side in ("LEFT", "RIGHT", "TOP", "BOTTOM")
)


def set_on_pages(parts: Sequence[Part], size: Size, room: Box, title: str, running: str) -> bytes:
    """Return a PDF of parts that flow through a column, with a foot line on every page.

    Raises ValueError for a part that is higher than a page.
    """
    drawing = Drawing(size, title=title, subject=running)
    canvas = drawing.canvas
    left = [_flowable(part) for part in parts]
    pages = 0
    while left or pages == 0:
        pages += 1
        drawing.page(size)
        frame = Frame(
            room.left,
            room.bottom,
            room.width,
            room.height,
            leftPadding=0,
            rightPadding=0,
            topPadding=0,
            bottomPadding=0,
        )
        before = len(left)
        frame.addFromList(left, canvas)
        stuck = len(left) == before
        if left and (stuck or isinstance(left[0], _LongTable)):
            halves = frame.split(left[0], canvas)
            if stuck and not halves:
                raise ValueError("a part of the page is higher than the page")
            left[:1] = halves or left[:1]
            frame.addFromList(left, canvas)
        canvas.doForm(_foot_name(pages))
        canvas.showPage()
    # A foot line says how many pages there are, so all of them are drawn last.
    for page in range(1, pages + 1):
        canvas.beginForm(_foot_name(page), 0, 0, size.width_pt, size.height_pt)
        _foot(canvas, room, running, f"page {page} of {pages}")
        canvas.endForm()
    return drawing.bytes()


def heights_of(parts: Sequence[Part], width_pt: float) -> list[float]:
    """Return how much height each part takes at a width, in points."""
    flowables = [_flowable(part) for part in parts]
    return [
        one.getSpaceBefore() + one.wrap(width_pt, 1e6)[1] + one.getSpaceAfter() for one in flowables
    ]


def _foot_name(page: int) -> str:
    return f"foot{page}"


def _foot(canvas: Canvas, room: Box, running: str, page: str) -> None:
    canvas.setFont(REGULAR, _FOOT_SIZE)
    canvas.setFillGray(_GREY)
    left = room.width - text_width(page, _FOOT_SIZE) - 24
    # As far below the column as it stands from the rim of the page.
    canvas.drawString(room.left, room.left, fit_text(running, left, _FOOT_SIZE))
    canvas.drawRightString(room.right, room.left, page)


def _flowable(part: Part) -> Flowable:
    match part:
        case TextPart(markup, style):
            return _Text(markup, _style(style))
        case GapPart(height):
            return Spacer(1, height)
        case RulePart():
            return _rule(part)
        case BlockPart(parts):
            block = Table([[[_flowable(one) for one in parts]]], colWidths=["100%"], hAlign="LEFT")
            block.setStyle([*_NO_PADDING])
            return block
        case GridPart():
            return _table(part)
        case PicturePart(width_pt=width, height_pt=height):
            return _Drawn(width, height, lambda canvas: _draw_picture(canvas, part))
        case TickPart():
            box = Table([[""]], colWidths=[9.0], rowHeights=[9.0], hAlign="LEFT")
            box.setStyle([("BOX", (0, 0), (-1, -1), 0.7, (0, 0, 0))])
            return box
        case ChartPart(chart, scale):
            return _Drawn(
                chart.width * scale,
                chart.height * scale,
                lambda canvas: draw_chart(canvas, chart, scale),
            )


@cache
def _style(name: str) -> ParagraphStyle:
    ready_typeface()  # a paragraph may be measured before anything is drawn
    settings = {"fontName": REGULAR, "splitLongWords": 1, **_STYLES[name]}
    return ParagraphStyle(name, **settings)


def _rule(part: RulePart) -> Flowable:
    return HRFlowable(
        width="100%",
        thickness=part.weight_pt,
        color=Color(0, 0, 0) if part.weight_pt > HAIRLINE else Color(0.6, 0.6, 0.6),
        spaceBefore=part.before_pt,
        spaceAfter=part.after_pt,
    )


class _LongTable(Table):
    """A table that may begin on what is left of a page, since its head stands on the next too."""


def _table(part: GridPart) -> Flowable:
    kind = _LongTable if part.is_long else Table
    table = kind(
        [[_cell(cell) for cell in row] for row in part.rows],
        colWidths=list(part.widths_pt),
        repeatRows=1 if part.head else 0,
        hAlign="LEFT",
    )
    style: list[tuple[Any, ...]] = [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (0, -1), 0),
        ("LEFTPADDING", (1, 0), (-1, -1), 5),
        ("RIGHTPADDING", (0, 0), (-1, -1), 5),
        ("RIGHTPADDING", (-1, 0), (-1, -1), 0),
        ("TOPPADDING", (0, 0), (-1, -1), part.pad_pt),
        ("BOTTOMPADDING", (0, 0), (-1, -1), part.pad_pt),
    ]
    if part.lines and len(part.rows) > 1:
        style.append(("LINEBELOW", (0, 0), (-1, -2), 0.3, (0.8, 0.8, 0.8)))
    if part.over:
        style.append(("LINEABOVE", (0, 0), (-1, 0), 0.6, (0, 0, 0)))
    if part.head_span > 1:
        style.append(("SPAN", (0, 0), (part.head_span - 1, 0)))
    if part.head:
        style.append(("LINEBELOW", (0, 0), (-1, 0), 0.6, (0, 0, 0)))
    table.setStyle(style)
    return table


def _cell(parts: tuple[Part, ...]) -> Flowable | list[Flowable]:
    made = [_flowable(part) for part in parts]
    return made[0] if len(made) == 1 else made


class _Text(Paragraph):
    """Text that is broken into lines once for a width: tables ask several times how high it is."""

    _wrapped: tuple[float, tuple[float, float]] | None = None

    def wrap(self, availWidth: float, availHeight: float) -> tuple[float, float]:  # noqa: N803
        """Return width and height within a width."""
        if self._wrapped is None or self._wrapped[0] != availWidth:
            self._wrapped = availWidth, super().wrap(availWidth, availHeight)
        return self._wrapped[1]


class _Drawn(Flowable):
    """A part of a size in points that draws itself, from its lower left corner."""

    def __init__(self, width_pt: float, height_pt: float, draw: Callable[[Canvas], None]) -> None:
        super().__init__()
        self.width, self.height = width_pt, height_pt
        self._draw = draw

    def draw(self) -> None:
        self._draw(self.canv)


def _draw_picture(canvas: Canvas, part: PicturePart) -> None:
    """Draw the place of a picture, and what stands on it."""
    name = f"picture{part.picture!r}"
    if not canvas.hasForm(name):
        document: Any = canvas._doc  # type: ignore[attr-defined]  # noqa: SLF001 - no other way
        document.addForm(name, _placeholder(part.picture))
    canvas.saveState()
    canvas.transform(part.width_pt, 0, 0, part.height_pt, 0, 0)
    canvas.doForm(name)
    canvas.restoreState()
    canvas.setLineWidth(0.3)
    canvas.setStrokeGray(0.65)
    canvas.rect(0, 0, part.width_pt, part.height_pt)
    canvas.setFont(BOLD, 6.5)
    canvas.setLineWidth(0.8)
    canvas.setStrokeGray(1)
    for number, x, y in part.numbers:
        canvas.setFillGray(0)
        canvas.circle(x, y, _NUMBER_RADIUS_PT, fill=1)
        canvas.setFillGray(1)
        canvas.drawCentredString(x, y - 2.3, str(number))


def _placeholder(number: int | bytes) -> PDFStream:
    entries = {"Type": PDFName("XObject"), "Subtype": PDFName("Image"), PLACEHOLDER: number}
    return PDFStream(PDFDictionary(entries), b"")
