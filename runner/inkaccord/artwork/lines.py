"""Colours on a straight line between two others, as numbers of one colour space."""

from __future__ import annotations

from collections.abc import Sequence

from inkaccord.pdf.colours.sections import Numbers

ON_LINE = 0.006
"""How far a mixture may lie off the straight line between two: rounding to 8 bits and more."""


def mixture(share: float, first: Numbers, last: Numbers) -> Numbers:
    """Return the colour at a share of the way between two."""
    return tuple(a + (b - a) * share for a, b in zip(first, last, strict=True))


def share_between(colour: Numbers, first: Numbers, last: Numbers) -> tuple[float, float]:
    """Return where a colour lies between two, from 0 to 1, and how far off their line."""
    weight = sum((b - a) ** 2 for a, b in zip(first, last, strict=True))
    share = 0.0
    if weight:
        share = sum((c - a) * (b - a) for c, a, b in zip(colour, first, last, strict=True)) / weight
        share = min(max(share, 0.0), 1.0)
    return share, apart(colour, mixture(share, first, last))


def is_between(colour: Numbers, first: Numbers, last: Numbers) -> bool:
    """Whether a colour is a mixture of two others, within rounding."""
    return colour in (first, last) or share_between(colour, first, last)[1] <= ON_LINE


def line_of(colours: Sequence[Numbers]) -> tuple[Numbers, Numbers] | None:
    """Return the ends of the straight line on which all colours lie, if there is one."""
    one = max(colours, key=lambda colour: apart(colour, colours[0]))
    other = max(colours, key=lambda colour: apart(colour, one))
    on_it = all(is_between(colour, one, other) for colour in colours)
    return (one, other) if on_it else None


def apart(one: Numbers, other: Numbers) -> float:
    """Return the largest difference of one number."""
    return max(abs(a - b) for a, b in zip(one, other, strict=True))
