"""Draw the marks of sheets, one PDF page for each set."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from inkaccord.colour.builds import Build, Drive
from inkaccord.drawing.canvas import REGULAR, Drawing, fit_text
from inkaccord.layout.linemarks import MarkKind
from inkaccord.layout.marks import LABEL_PT, MarkInk, MarkRules, MarkSet, SwatchBox, TextLine
from inkaccord.sizes import Box, Size

if TYPE_CHECKING:
    from reportlab.lib.colors import Color
    from reportlab.pdfgen.canvas import Canvas

_DASHES: dict[MarkKind, list[float]] = {
    MarkKind.CROP: [],
    MarkKind.FOLD: [3, 2],
    MarkKind.SCORE: [0.8, 1.4],
}


def draw_marks(pages: Sequence[tuple[Size, MarkSet]], rules: MarkRules) -> bytes:
    """Return a PDF with one page of marks for each sheet side."""
    drawing = Drawing(Size(width_pt=1, height_pt=1), title="marks")
    for size, marks in pages:
        drawing.page(size)
        _draw(drawing.canvas, marks, rules)
        drawing.canvas.showPage()
    return drawing.bytes()


def _draw(canvas: "Canvas", marks: MarkSet, rules: MarkRules) -> None:
    ink = _mark_ink(rules)
    canvas.setStrokeColor(ink)
    canvas.setLineWidth(rules.line_pt)
    for line in marks.lines:
        canvas.setDash(_DASHES[line.kind], 0)
        canvas.line(line.x1_pt, line.y1_pt, line.x2_pt, line.y2_pt)
    canvas.setDash([], 0)
    for box in marks.targets:
        _target(canvas, box)
    for words in marks.texts:
        _text(canvas, words, rules.drive)
    for swatch in marks.swatches:
        _swatch(canvas, swatch, rules.drive)


def _text(canvas: "Canvas", line: TextLine, drive: Drive) -> None:
    canvas.saveState()
    canvas.setFillColor(_black(drive))
    canvas.setFont(REGULAR, line.size_pt)
    if line.upright:
        canvas.translate(line.box.right, line.box.bottom)
        canvas.rotate(90)
    else:
        canvas.translate(line.box.left, line.box.bottom)
    canvas.drawString(1, line.size_pt * 0.3, line.text)
    canvas.restoreState()


def _target(canvas: "Canvas", box: Box) -> None:
    x, y = (box.left + box.right) / 2, (box.bottom + box.top) / 2
    canvas.line(box.left, y, box.right, y)
    canvas.line(x, box.bottom, x, box.top)
    canvas.circle(x, y, box.width / 4, stroke=1, fill=0)


def _swatch(canvas: "Canvas", placed: SwatchBox, drive: Drive) -> None:
    box = placed.box
    canvas.saveState()
    canvas.setFillColor(_colour(placed.swatch.build))
    canvas.rect(box.left, box.top - box.width, box.width, box.width, stroke=0, fill=1)
    canvas.setFillColor(_black(drive))
    canvas.setFont(REGULAR, LABEL_PT)
    canvas.drawString(
        box.left + 0.3, box.bottom + 2, fit_text(placed.swatch.label, box.width - 0.6, LABEL_PT)
    )
    canvas.restoreState()


def _mark_ink(rules: MarkRules) -> "Color":
    from reportlab.lib.colors import CMYKColorSep  # noqa: PLC0415 - slow to load

    if rules.ink is MarkInk.ALL and rules.drive is Drive.CMYK:
        return CMYKColorSep(1, 1, 1, 1, spotName="All")
    return _black(rules.drive)


def _black(drive: Drive) -> "Color":
    return _colour(Build.cmyk(0, 0, 0, 100) if drive is Drive.CMYK else Build.rgb(0, 0, 0))


def _colour(build: Build) -> "Color":
    from reportlab.lib.colors import CMYKColor, Color  # noqa: PLC0415 - slow to load

    if build.drive is Drive.CMYK:
        c, m, y, k = (value / 100 for value in build.values)
        return CMYKColor(c, m, y, k)
    r, g, b = (value / 255 for value in build.values)
    return Color(r, g, b)
