"""The way from a piece's space to its place on the sheet."""

from inkaccord.layout.model import Placement
from inkaccord.pdf.forms import numbers


def placing(placed: Placement) -> str:
    """Return the matrix from a piece's space to the sheet's, as a content stream writes it."""
    x, y, box = placed.x_pt, placed.y_pt, placed.trim
    if placed.rotation == 90:
        return numbers(0, 1, -1, 0, box.right, y)
    if placed.rotation == 180:
        return numbers(-1, 0, 0, -1, box.right, box.top)
    if placed.rotation == 270:
        return numbers(0, -1, 1, 0, x, box.top)
    return numbers(1, 0, 0, 1, x, y)
