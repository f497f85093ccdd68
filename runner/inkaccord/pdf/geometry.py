"""Plane geometry of PDF content: matrices as six numbers, and the boxes of mapped rectangles.

Plain tuples and Python's arithmetic, which rounds alike on every machine; a compiled library may
fuse a product and a sum. What stands on a page for good is a :class:`~inkaccord.sizes.Box`.
"""

import math
from collections.abc import Iterable

Matrix = tuple[float, float, float, float, float, float]
"""``a b c d e f`` of ISO 32000-2, 8.3.4: x' = a x + c y + e, y' = b x + d y + f."""
Bounds = tuple[float, float, float, float]
"""Left, bottom, right, top."""

IDENTITY: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
NOWHERE: Bounds = (math.inf, math.inf, -math.inf, -math.inf)


def times(first: Matrix, then: Matrix) -> Matrix:
    """Return the matrix that applies ``first`` and after it ``then``."""
    a, b, c, d, e, f = first
    k, l, m, n, o, p = then  # noqa: E741 - the letters of the standard's matrices, continued
    return (
        a * k + b * m,
        a * l + b * n,
        c * k + d * m,
        c * l + d * n,
        e * k + f * m + o,
        e * l + f * n + p,
    )


def bounds_of(bounds: Bounds, matrix: Matrix) -> Bounds:
    """Return the box around a mapped rectangle."""
    if bounds[2] < bounds[0]:
        return NOWHERE
    a, b, c, d, e, f = matrix
    x0, y0, x1, y1 = bounds
    xs = (a * x0 + c * y0, a * x1 + c * y0, a * x0 + c * y1, a * x1 + c * y1)
    ys = (b * x0 + d * y0, b * x1 + d * y0, b * x0 + d * y1, b * x1 + d * y1)
    return min(xs) + e, min(ys) + f, max(xs) + e, max(ys) + f


def shared(one: Bounds, other: Bounds) -> Bounds:
    """Return the part that two boxes share; its right lies left of its left when there is none."""
    return (
        max(one[0], other[0]),
        max(one[1], other[1]),
        min(one[2], other[2]),
        min(one[3], other[3]),
    )


def around(boxes: Iterable[Bounds]) -> Bounds:
    """Return the box around boxes; :data:`NOWHERE` around none."""
    left, bottom, right, top = NOWHERE
    for x0, y0, x1, y1 in boxes:
        left, bottom, right, top = min(left, x0), min(bottom, y0), max(right, x1), max(top, y1)
    return left, bottom, right, top


def scale_of(matrix: Matrix) -> float:
    """Return by how much a matrix enlarges lengths, on average: the root of its determinant."""
    return math.sqrt(abs(matrix[0] * matrix[3] - matrix[1] * matrix[2]))


def axes_of(matrix: Matrix) -> tuple[float, float]:
    """Return the lengths of the mapped unit vectors along x and y."""
    return math.hypot(matrix[0], matrix[1]), math.hypot(matrix[2], matrix[3])
