"""A picture on paper with numbered marks on it."""

from collections.abc import Iterable

from inkaccord.report.parts import Part, PicturePart

_RADIUS_PT = 5.2


def marked_picture(
    png: bytes, size_pt: tuple[float, float], marks: Iterable[tuple[int, float, float]]
) -> Part:
    """Return a picture of a size with a hairline round it, and numbers at places on it.

    ``marks`` are numbers with the share of the picture to the right and up; one that would cover
    an earlier one is moved beside it.
    """
    return PicturePart(png, *size_pt, tuple(_apart(marks, *size_pt)))


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
