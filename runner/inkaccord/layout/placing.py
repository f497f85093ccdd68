"""The way from a piece's space to its place on the sheet."""

from inkaccord.layout.model import Placement
from inkaccord.pdf.forms import numbers
from inkaccord.pdf.geometry import Matrix, bounds_of
from inkaccord.sizes import Box


def placing(placed: Placement) -> str:
    """Return the matrix from a piece's space to the sheet's, as a content stream writes it."""
    return numbers(*_matrix(placed))


def placed_at(placed: Placement, box: Box) -> Box:
    """Return a box of a piece's space where it comes to lie on the sheet."""
    return Box(*bounds_of(box, _matrix(placed)))


def _matrix(placed: Placement) -> Matrix:
    x, y, box = placed.x_pt, placed.y_pt, placed.trim
    if placed.rotation == 90:
        return 0, 1, -1, 0, box.right, y
    if placed.rotation == 180:
        return -1, 0, 0, -1, box.right, box.top
    if placed.rotation == 270:
        return 0, -1, 1, 0, x, box.top
    return 1, 0, 0, 1, x, y
