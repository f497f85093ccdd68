"""Arithmetic of paints: tints, mixtures, paper white, and how far two are apart."""

from __future__ import annotations

from collections.abc import Sequence
from operator import mul

from inkaccord.colour.builds import FULL_SCALE, Drive
from inkaccord.colour.paints import Paint, PaintKind

LOWEST_TINT = 0.04
"""Below this share everything light looks like a tint of everything, so nothing is one."""
HIGHEST_TINT = 0.97
"""Above this share it is the colour itself, a little off: a near miss, not a tint."""
TINT_ROUNDING = 0.55
"""Percent (or 255ths) by which rounding may move each component of a tint."""
SAME_COLOUR = 0.02
"""Percent (or 255ths) by which two readers of one file may differ about a colour."""
FULL = {
    PaintKind.CMYK: FULL_SCALE[Drive.CMYK],
    PaintKind.RGB: FULL_SCALE[Drive.RGB],
    PaintKind.GRAY: 100.0,
}
"""The number of each kind at which it is full."""
WHITE = {
    PaintKind.CMYK: Paint(kind=PaintKind.CMYK, values=(0, 0, 0, 0)),
    PaintKind.RGB: Paint(kind=PaintKind.RGB, values=(255, 255, 255)),
    PaintKind.GRAY: Paint(kind=PaintKind.GRAY, values=(0,)),
}


def inks(paint: Paint) -> tuple[float, ...]:
    """Return a paint's numbers as amounts that are 0 on bare paper."""
    if paint.kind is PaintKind.RGB:
        return tuple(FULL[PaintKind.RGB] - value for value in paint.values)
    return paint.values


def scaled(paint: Paint, share: float) -> Paint:
    """Return the plain tint of a CMYK, RGB or gray paint."""
    return mixed(((share, paint),), paint.kind)


def mixed(parts: Sequence[tuple[float, Paint]], kind: PaintKind) -> Paint:
    """Return the linear mixture of paints of one kind; what is missing to 1 is bare paper."""
    size = len(WHITE[kind].values)
    amounts = [0.0] * size
    for share, paint in parts:
        for index, amount in enumerate(inks(paint)):
            amounts[index] += share * amount
    top = FULL[kind]
    amounts = [min(max(amount, 0.0), top) for amount in amounts]
    if kind is PaintKind.RGB:
        amounts = [top - amount for amount in amounts]
    return Paint(kind=kind, values=tuple(round(amount, 6) for amount in amounts))


def component_distance(one: Paint, other: Paint) -> float:
    """Return the largest difference of one component of two paints of one kind."""
    return max(abs(a - b) for a, b in zip(one.values, other.values, strict=True))


def is_white(paint: Paint) -> bool:
    """Whether a paint is paper white, computed values included."""
    white = WHITE.get(paint.kind)
    return white is not None and component_distance(paint, white) <= SAME_COLOUR


def tint_share(paint: Paint, solid: Paint) -> float | None:
    """Return the share (0.04 to 0.97) if ``paint`` is a linear tint of ``solid``, else None.

    It is one when a single share explains every component within rounding to whole percent. A grey
    of RGB is a grey, and no tint of a nearly black colour.
    """
    amounts, full = inks(paint), inks(solid)
    top = max(full)
    if top == 0:
        return None
    # The largest component was rounded least, relative to its size; it decides roughly.
    rough = amounts[full.index(top)] / top
    for a, b in zip(amounts, full, strict=True):
        if not -2 * TINT_ROUNDING <= a - rough * b <= 2 * TINT_ROUNDING:
            return None
    weight = sum(map(mul, full, full))
    for guess in (sum(map(mul, amounts, full)) / weight, rough):
        if LOWEST_TINT <= guess <= HIGHEST_TINT and all(
            abs(a - guess * b) <= TINT_ROUNDING for a, b in zip(amounts, full, strict=True)
        ):
            grey = paint.kind is PaintKind.RGB and _is_even(paint) and not _is_even(solid)
            return None if grey else round(guess, 6)
    return None


def _is_even(paint: Paint) -> bool:
    return max(paint.values) - min(paint.values) <= SAME_COLOUR
