"""Where the holes lie in a page that is kept in a binder.

Holes are even about the middle of the page's left edge. Where their measures come from:

- Two: ISO 838:1974, 'Paper — Holes for general filing purposes — Specifications': diameter 6 mm,
  centres 80 mm apart and 12 mm from the edge (read in an online encyclopedia's article on hole
  punching, which gives ± 0.5, ± 0.5 and ± 1 mm; the standard's own text was not seen).
- Four: two more at 80 mm, widely used with it; same article.
- Three, for letter paper: centres 4¼ in (108 mm) apart; same article, which knows of no standard
  for it: the distance from the edge and the diameter vary.
- Coil: one hole of 11/64 in each 0.2475 in ('Coil binders: punching for plastic coil', an article
  of a printing trade magazine); the distance from the edge is common practice, no source.
- Half letter, three holes 2¾ in apart; A5, six in two groups of three, 19 mm apart and 70 mm
  between the groups; discs an inch apart: common practice, no source.
"""

from enum import StrEnum

from inkaccord.errors import OrderError
from inkaccord.sizes import Size
from inkaccord.units import PT_PER_IN, PT_PER_MM, mm, rounded

_GUIDE_PT = 2 * PT_PER_MM
_ROOM_PT = 10 * PT_PER_MM
"""From the outer holes to the ends of the page, at least."""


class Holes(StrEnum):
    """Which holes a binder wants. Pages are printed on one side: the holes are at the left."""

    TWO = "two"
    """ISO 838."""
    FOUR = "four"
    """ISO 838 with one more hole at either end."""
    THREE = "three"
    """The usual one for letter paper."""
    HALF_LETTER = "half-letter"
    """Three, for half a letter page."""
    SIX = "six"
    """Two groups of three, for A5."""
    DISCS = "discs"
    """An inch apart, as many as the page is inches high."""
    COIL = "coil"
    """Close together, along the whole page."""

    def steps_pt(self, height_pt: float) -> tuple[float, ...]:
        """Return where the holes lie on a page of a height, from its middle, lowest first."""
        if self in _PITCHES:
            number = int(height_pt / _PITCHES[self] + 1e-6)
            return tuple((at - (number - 1) / 2) * _PITCHES[self] for at in range(number))
        upper = _UPPER[self]
        lower = [-step for step in reversed(upper) if step]
        return (*lower, *upper)

    @property
    def edge_pt(self) -> float:
        """From the left edge of the trim to the centres."""
        return _EDGE_MM.get(self, 12.0) * PT_PER_MM

    @property
    def margin_pt(self) -> float:
        """Nothing but the guides stands closer to the left edge than this."""
        return _MARGIN_MM.get(self, 20.0) * PT_PER_MM

    @property
    def guide_pt(self) -> float:
        """How far a guide reaches from its centre: the punch takes all of it away."""
        return min(_GUIDE_PT, 0.8 * _RADIUS_MM.get(self, 3.0) * PT_PER_MM)

    def centres(self, size: Size) -> tuple[tuple[float, float], ...]:
        """Return the centres of the holes on a trimmed page, from the lowest.

        Raises OrderError ``too-short-to-punch`` when the page is too short for them.
        """
        steps = self.steps_pt(size.height_pt)
        runs = self in _PITCHES
        if len(steps) < 2 or (not runs and 2 * (steps[-1] + _ROOM_PT) > size.height_pt):
            raise OrderError.of(
                "too-short-to-punch",
                f"a page of {size} is too short for {self} holes, which reach over "
                f"{rounded(mm(2 * steps[-1]) if steps else 0.0, 0)} mm",
                hint="choose a taller page, other holes, or cards on a ring",
            )
        middle = size.height_pt / 2
        return tuple((self.edge_pt, middle + step) for step in steps)


_UPPER = {
    Holes.TWO: (40 * PT_PER_MM,),
    Holes.FOUR: (40 * PT_PER_MM, 120 * PT_PER_MM),
    Holes.THREE: (0.0, 4.25 * PT_PER_IN),
    Holes.HALF_LETTER: (0.0, 2.75 * PT_PER_IN),
    Holes.SIX: (35 * PT_PER_MM, 54 * PT_PER_MM, 73 * PT_PER_MM),
}
"""The middle hole and those above it, from the middle of the page."""
_PITCHES = {Holes.DISCS: PT_PER_IN, Holes.COIL: 0.2475 * PT_PER_IN}
"""From hole to hole, where they run along the whole page."""
_EDGE_MM = {Holes.SIX: 10.0, Holes.DISCS: 6.0, Holes.COIL: 4.5}
_MARGIN_MM = {Holes.HALF_LETTER: 18.0, Holes.SIX: 16.0, Holes.DISCS: 15.0, Holes.COIL: 12.0}
_RADIUS_MM = {Holes.SIX: 2.5, Holes.DISCS: 1.5, Holes.COIL: 2.18}
