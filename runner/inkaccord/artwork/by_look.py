"""Which known colour one with a profile is: by what it looks like, or by its numbers in CMYK.

RGB with a profile, calibrated RGB and CIELAB are compared by their look. A CMYK build says nothing
of its look by itself; typed in a document whose CMYK has a profile, it means those numbers there.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

from inkaccord.artwork.mixing import component_distance, tint_share
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.lab import Lab
from inkaccord.colour.paints import Paint, PaintKind, grey_share
from inkaccord.colour.spaces import srgb_to_lab
from inkaccord.pdf.colours.spaces import Space, in_srgb, lab_of

REACH = 2.0
"""ΔE00 for each percent of a colour's tolerance: with 0.5 %, 1.0, about what is just seen."""
_OWN_NUMBERS = frozenset({PaintKind.CMYK, PaintKind.GRAY})
_COLOURLESS = 1.0
"""Chroma in CIELAB up to which a colour is a neutral."""


_SAME_LOOK = 0.5
"""ΔE00 up to which no one tells two colours apart, beside rounding to 8 bits."""


@dataclass(frozen=True, slots=True)
class Known:
    """A colour that others are compared with."""

    index: int
    paint: Paint
    tolerance: float
    """In percent, or 255ths, of its numbers."""


@dataclass(frozen=True, slots=True)
class Recognised:
    """Which known colour another is."""

    index: int
    tint: float
    """In percent."""


def look_of(paint: Paint) -> Lab | None:
    """Return what a paint looks like, RGB taken for sRGB; None where its numbers don't say."""
    if paint.kind is PaintKind.LAB:
        return lab_of(paint)
    if paint.kind is not PaintKind.RGB:
        return None
    lightness, a, b = (float(v) for v in srgb_to_lab([value / 255 for value in paint.values]))
    return lightness, a, b


def is_srgb(space: Space) -> bool:
    """Whether RGB with a profile looks as sRGB everywhere, looked at from corner to corner."""
    if space.components != 3 or space.profile is None:
        return False
    for numbers in product((0.0, 0.25, 0.5, 0.75, 1.0), repeat=3):
        seen = space.profile.lab(numbers)
        if seen is None or float(delta_e_2000(seen, srgb_to_lab(numbers))) > _SAME_LOOK:
            return False
    return True


class ByLook:
    """Known colours, asked for one colour at a time."""

    def __init__(self, known: Sequence[Known]) -> None:
        self._known = tuple(known)
        self._looks = [(one, look) for one in known if (look := look_of(one.paint)) is not None]

    def of(self, lab: Lab, numbers: Paint | None, *, tints: bool = True) -> Recognised | None:
        """Return the known colour that another is, or is a tint of.

        Parameters
        ----------
        lab
            What it looks like.
        numbers
            What its numbers would be without their profile; None for CIELAB.
        tints
            Whether tints count.
        """
        own = numbers if numbers is not None and numbers.kind in _OWN_NUMBERS else None
        found = self._by_numbers(own) if own is not None else None
        found = found or self._by_look(lab, numbers)
        if found is not None:
            return Recognised(found.index, 100.0)
        plain = own or in_srgb(lab)
        return self._tint(plain) if tints and plain is not None else None

    def near(self, lab: Lab, near: float) -> tuple[int, float] | None:
        """Return the known colour that looks most alike, up to ``near`` ΔE00 away, and how far."""
        best = min(self._distances(lab), key=lambda one: one[1], default=None)
        return (best[0].index, best[1]) if best is not None and best[1] <= near else None

    def _by_numbers(self, paint: Paint) -> Known | None:
        fitting = [
            (off, one.index, one)
            for one in self._known
            if one.paint.kind is paint.kind
            and (off := component_distance(paint, one.paint)) <= one.tolerance + 1e-6
        ]
        return min(fitting)[2] if fitting else None

    def _by_look(self, lab: Lab, numbers: Paint | None) -> Known | None:
        # Black type is no dark brand colour, however alike they look.
        neutral = numbers is not None and grey_share(numbers) is not None
        fitting = [
            (off, one.index, one)
            for one, off in self._distances(lab)
            if off <= max(REACH * one.tolerance, 0.05) and not (neutral and not _is_neutral(one))
        ]
        return min(fitting)[2] if fitting else None

    def _distances(self, lab: Lab) -> Iterator[tuple[Known, float]]:
        if self._looks:
            apart = delta_e_2000(lab, [look for _, look in self._looks])
            for (one, _), off in zip(self._looks, apart, strict=True):
                yield one, float(off)

    def _tint(self, paint: Paint) -> Recognised | None:
        shares = [
            (share, one.index)
            for one in self._known
            if one.paint.kind is paint.kind and (share := tint_share(paint, one.paint)) is not None
        ]
        if not shares:
            return None
        share, index = max(shares, key=lambda one: (one[0], -one[1]))
        return Recognised(index, 100 * share)


def _is_neutral(known: Known) -> bool:
    paint = known.paint
    if paint.kind is PaintKind.LAB:
        return math.hypot(*paint.values[1:]) <= _COLOURLESS
    return grey_share(paint) is not None
