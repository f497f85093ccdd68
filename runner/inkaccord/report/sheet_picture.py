"""A sheet as it lies on the table, with its pieces and its numbered cuts. For paper."""

from typing import TYPE_CHECKING

from inkaccord.drawing.canvas import BOLD, REGULAR, text_width
from inkaccord.run.imposed import SheetRun

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas
    from reportlab.platypus import Flowable

_NUMBER_PT = 5.5
_DOT_PT = 4.2
_NAME_PT = 7.0
_SMALLEST_PT = 3.5
_EDGE, _FIELD = 0.55, 0.93
"""Grey of edges and of what becomes pieces."""


def sheet_picture(sheet: SheetRun, width_pt: float, height_pt: float) -> "Flowable":
    """Return a drawing of one sheet's front that fits into a width and a height.

    Each cut runs across the paper that lies on the table when it is made; its number stands at
    one end, those of cuts that follow each other at opposite ends.
    """
    from reportlab.platypus import Flowable  # noqa: PLC0415 - slow to load

    rim = 2 * _DOT_PT
    unit = min((width_pt - 2 * rim) / sheet.width_mm, (height_pt - 2 * rim) / sheet.height_mm)

    class Picture(Flowable):
        """Draws itself where the page has room."""

        def __init__(self) -> None:
            super().__init__()
            self.width = sheet.width_mm * unit + 2 * rim
            self.height = sheet.height_mm * unit + 2 * rim

        def draw(self) -> None:
            canvas: Canvas = self.canv
            canvas.saveState()
            canvas.translate(rim, rim)
            _draw(canvas, sheet, unit)
            canvas.restoreState()

    return Picture()


def _draw(canvas: "Canvas", sheet: SheetRun, unit: float) -> None:
    """Draw the sheet at ``unit`` points for each millimetre."""
    canvas.setLineWidth(0.5)
    canvas.setStrokeGray(_EDGE)
    canvas.rect(0, 0, sheet.width_mm * unit, sheet.height_mm * unit)
    for trim in sheet.trims:
        left, bottom, right, top = (edge * unit for edge in trim.box_mm)
        canvas.setFillGray(_FIELD)
        canvas.rect(left, bottom, right - left, top - bottom, fill=1)
        upright = top - bottom > right - left
        along, across = sorted((right - left, top - bottom), reverse=True)
        size = min(
            _NAME_PT, 0.8 * across, _NAME_PT * along / (text_width(trim.piece, _NAME_PT) + 4)
        )
        if size < _SMALLEST_PT:
            continue
        canvas.saveState()
        canvas.translate((left + right) / 2, (bottom + top) / 2)
        canvas.rotate(90 if upright else 0)
        canvas.setFillGray(0)
        canvas.setFont(REGULAR, size)
        canvas.drawCentredString(0, -0.35 * size, trim.piece)
        canvas.restoreState()
    canvas.setStrokeGray(0)
    for cut in sheet.cuts:
        canvas.line(*(end * unit for end in cut.ends_mm))
    canvas.setFont(BOLD, _NUMBER_PT)
    for cut in sheet.cuts:  # over all lines
        ends = [end * unit for end in cut.ends_mm]
        x, y = ends[2:] if cut.number % 2 else ends[:2]
        canvas.setFillGray(0)
        canvas.circle(x, y, _DOT_PT, stroke=0, fill=1)
        canvas.setFillGray(1)
        canvas.drawCentredString(x, y - 0.36 * _NUMBER_PT, str(cut.number))
