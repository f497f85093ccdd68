"""A picture on paper with numbered marks on it."""

import io
from collections.abc import Iterable
from typing import TYPE_CHECKING

from inkaccord.drawing.canvas import BOLD

if TYPE_CHECKING:
    from reportlab.platypus import Flowable

_RADIUS_PT = 5.2


def marked_picture(
    png: bytes, size_pt: tuple[float, float], marks: Iterable[tuple[int, float, float]]
) -> "Flowable":
    """Return a picture of a size with a hairline round it, and numbers at places on it.

    ``marks`` are numbers with the share of the picture to the right and up; one that would cover
    an earlier one is moved beside it.
    """
    from reportlab.platypus import Image  # noqa: PLC0415 - slow to load

    width, height = size_pt
    placed = _apart(marks, width, height)

    class _Marked(Image):
        def draw(self) -> None:
            super().draw()
            canvas = self.canv
            canvas.saveState()
            canvas.setLineWidth(0.3)
            canvas.setStrokeGray(0.65)
            canvas.rect(0, 0, width, height)
            canvas.setFont(BOLD, 6.5)
            canvas.setLineWidth(0.8)
            canvas.setStrokeGray(1)
            for number, x, y in placed:
                canvas.setFillGray(0)
                canvas.circle(x, y, _RADIUS_PT, fill=1)
                canvas.setFillGray(1)
                canvas.drawCentredString(x, y - 2.3, str(number))
            canvas.restoreState()

    image = _Marked(io.BytesIO(png), width=width, height=height)
    image.hAlign = "LEFT"
    return image


def _apart(
    marks: Iterable[tuple[int, float, float]], width: float, height: float
) -> list[tuple[int, float, float]]:
    """Return the marks in points, inside the picture and none upon another, as far as it goes."""
    rim, step = _RADIUS_PT + 1, 2 * _RADIUS_PT + 1
    placed: list[tuple[int, float, float]] = []
    for number, right, up in marks:
        x = min(max(right * width, rim), width - rim)
        y = min(max(up * height, rim), height - rim)
        while x + step < width and any(
            abs(x - a) < step and abs(y - b) < step for _, a, b in placed
        ):
            x += step
        placed.append((number, x, y))
    return placed
