"""A pen for one page: black type in the device's own black, and exact builds."""

from collections.abc import Iterable
from typing import TYPE_CHECKING

from inkaccord.colour.builds import Build, Drive
from inkaccord.drawing.canvas import REGULAR, fit_text, text_width
from inkaccord.sizes import Box

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas


class Pen:
    """Sets type, rules and shapes on a canvas in black only, and fills boxes with builds."""

    def __init__(self, canvas: "Canvas", drive: Drive) -> None:
        self._canvas = canvas
        self._drive = drive

    def black(self) -> None:
        """Take black ink only: CMYK 0 0 0 100, or RGB 0 0 0 where the driver mixes the inks."""
        if self._drive is Drive.CMYK:
            self._canvas.setFillColorCMYK(0, 0, 0, 1)
            self._canvas.setStrokeColorCMYK(0, 0, 0, 1)
        else:
            self._canvas.setFillColorRGB(0, 0, 0)
            self._canvas.setStrokeColorRGB(0, 0, 0)

    def build(self, build: Build) -> None:
        """Take a build, number for number, for filling."""
        if build.drive is Drive.CMYK:
            self._canvas.setFillColorCMYK(*(value / 100 for value in build.values))
        else:
            self._canvas.setFillColorRGB(*(value / 255 for value in build.values))

    def under(self, plate: str, box: Box) -> None:
        """Fill a box on a plate of white, and let all that comes after lie over it."""
        from reportlab.lib.colors import CMYKColorSep  # noqa: PLC0415 - slow to load

        self._canvas.setFillColor(CMYKColorSep(0, 0, 0, 0.1, spotName=plate))
        self.fill_boxes([(box.left, box.bottom, box.width, box.height)])
        # Mode 0: process plates are replaced all the same (ISO 32000-2, 8.6.7).
        self._canvas.setFillOverprint(1)
        self._canvas.setStrokeOverprint(1)

    def fill_boxes(self, boxes: Iterable[tuple[float, float, float, float]]) -> None:
        """Fill boxes given as x, y, width, height, as one path."""
        path = self._canvas.beginPath()
        for x, y, width, height in boxes:
            path.rect(x, y, width, height)
        self._canvas.drawPath(path, stroke=0, fill=1)

    def ring(self, x: float, y: float, radius: float, width: float) -> None:
        """Stroke a circle."""
        self._canvas.setLineWidth(width)
        self._canvas.circle(x, y, radius, stroke=1, fill=0)

    def frame(self, x: float, y: float, width: float, height: float, line: float = 0.35) -> None:
        """Draw the outline of a rectangle."""
        self._canvas.setLineWidth(line)
        self._canvas.rect(x, y, width, height, stroke=1, fill=0)

    def dot(self, x: float, y: float, radius: float) -> None:
        """Fill a circle."""
        self._canvas.circle(x, y, radius, stroke=0, fill=1)

    def line(self, x1: float, y1: float, x2: float, y2: float, width: float = 0.35) -> None:
        """Draw a straight line."""
        self._canvas.setLineWidth(width)
        self._canvas.line(x1, y1, x2, y2)

    def cross(self, x: float, y: float, arm: float, width: float) -> None:
        """Draw an upright cross whose arms reach so far from its centre."""
        self.line(x - arm, y, x + arm, y, width)
        self.line(x, y - arm, x, y + arm, width)

    def dashed(self, x1: float, y1: float, x2: float, y2: float) -> None:
        """Draw a straight dashed line, along which something is cut."""
        self._canvas.setDash(3, 2)
        self.line(x1, y1, x2, y2, 0.35)
        self._canvas.setDash()

    def dashed_box(self, box: Box) -> None:
        """Draw a dashed rectangle, along which something is cut out."""
        self._canvas.setDash(3, 2)
        self.frame(box.left, box.bottom, box.width, box.height)
        self._canvas.setDash()

    def arrow(self, x: float, y: float, *, pointing: int) -> None:
        """Draw a small arrow whose tip is at x: to the right for 1, to the left for -1."""
        self.line(x, y, x - pointing * 5.0, y, 0.5)
        for side in (-1.6, 1.6):
            self.line(x, y, x - pointing * 2.2, y + side, 0.5)

    def corners(self, box: Box) -> None:
        """Draw short rules above and below the corners of a box, without touching it."""
        left, bottom, right, top = box
        gap, length = 1.3, 4.0
        for y in (bottom - gap, top + gap):
            self.line(left, y, left + length, y, 0.3)
            self.line(right - length, y, right, y, 0.3)

    def text(self, x: float, y: float, text: str, size: float, font: str = REGULAR) -> None:
        """Set a line of type from the left."""
        self._canvas.setFont(font, size)
        self._canvas.drawString(x, y, text)

    def text_within(
        self,
        x: float,
        y: float,
        text: str,
        width: float,
        size: float,
        smallest: float,
        font: str = REGULAR,
    ) -> None:
        """Set a line of type from the left, smaller where it must be, then shortened."""
        wide = text_width(text, size, font)
        fitted = size if wide <= width else max(smallest, size * width / wide)
        # Type set to the very width may come out a rounding error too wide.
        self.text(x, y, fit_text(text, width + 0.01, fitted, font), fitted, font)

    def text_right(self, x: float, y: float, text: str, size: float, font: str = REGULAR) -> None:
        """Set a line of type that ends at x."""
        self._canvas.setFont(font, size)
        self._canvas.drawRightString(x, y, text)

    def text_middle(self, x: float, y: float, text: str, size: float, font: str = REGULAR) -> None:
        """Set a line of type round a middle."""
        self._canvas.setFont(font, size)
        self._canvas.drawCentredString(x, y, text)
