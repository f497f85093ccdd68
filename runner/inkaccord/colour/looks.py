"""What a person says who holds a thing beside swatches, as a region of what the eye perceived.

'B7' is the region nearer to B7 than to all other swatches: those that were not named are its
borders. 'Between' and 'a little darker' name a place that nothing is printed at, and mean the
region nearer to it than to any swatch. 'None of them: yellower' lies far from all that was
offered, from its middle more or less that way.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inkaccord.colour.arrays import Array, Array32
from inkaccord.colour.chart import EvenChart
from inkaccord.colour.direction import Direction

SUREST, LEAST_SURE = 1.5, 3.0
"""Root mean square error of a look, ΔE00: of a person who is sure, and of one who guesses (common
practice, no source). What a person really errs by is learned from the looks."""
NUDGE = 1.5
"""ΔE00 of 'a touch darker'."""
ALL_WRONG = 8.0
"""ΔE00 from the nearest swatch at which half of all people say that none is right (no source)."""
_FOCUS = 3
"""How narrowly a word is meant: it is said as often as the cosine between word and way, cubed."""


_WAYS = {
    Direction.DARKER: (-1.0, 0.0, 0.0),
    Direction.LIGHTER: (1.0, 0.0, 0.0),
    Direction.YELLOWER: (0.0, 0.0, 1.0),
    Direction.BLUER: (0.0, 0.0, -1.0),
    Direction.REDDER: (0.0, 1.0, 0.0),
    Direction.GREENER: (0.0, -1.0, 0.0),
}


@dataclass(frozen=True, eq=False)
class Offered:
    """The swatches that there were to choose from. Looks at one sheet share one object.

    Attributes
    ----------
    builds, labs
        (n, k) and (n, 3) CIELAB, as the pair's model has it; a twin is there twice.
    paper
        (3,) CIELAB of the unprinted stock.
    """

    builds: Array
    labs: Array
    paper: Array


@dataclass(frozen=True, eq=False)
class Look:
    """One look at what was offered; swatches are named by their row.

    Attributes
    ----------
    offered
        What there was to choose from.
    swatch
        The nearest; None where none of them was right.
    between, then
        A second that the thing lies between; the one that is next nearest.
    among
        The rows that were looked at, where not at all of them.
    direction
        How the thing lies from the swatch, or beyond all of them.
    sure
        How sure the person was: 0 is a guess, 1 is certain.
    by
        Who looked.
    compared
        (3,) CIELAB and root mean square error, ΔE00, where a scanner compared; then nobody chose.
    """

    offered: Offered
    swatch: int | None
    between: int | None = None
    then: int | None = None
    among: tuple[int, ...] | None = None
    direction: Direction | None = None
    sure: float = 0.5
    by: str = ""
    compared: tuple[Array, float] | None = None

    @property
    def error(self) -> float:
        """Root mean square error, ΔE00, that such a word lets expect."""
        return look_error(self.sure) if self.compared is None else self.compared[1]


def look_error(sure: float) -> float:
    """Return the root mean square error of a look, ΔE00, for how sure the person was (0 to 1)."""
    return LEAST_SURE + (SUREST - LEAST_SURE) * float(np.clip(sure, 0.0, 1.0))


def perceived(looks: Sequence[Look], seen: Array, places: Array, chart: EvenChart) -> list[Array32]:
    """Return how likely a person says this of one sheet who perceived each of many places.

    Parameters
    ----------
    looks
        Looks at the same swatches.
    seen
        (m, 3) places on the chart.
    places
        (n, 3) where the swatches truly lie on it.
    chart
        What the places are on.

    Returns
    -------
    list
        (m,) for each look.
    """
    near = _Nearest(looks[0].offered, seen, places)
    return [_perceived(look, near, chart) for look in looks]


class _Nearest:
    """How far each of m places lies from the swatches of a sheet, squared."""

    def __init__(self, offered: Offered, seen: Array, places: Array) -> None:
        self.offered, self.seen, self.places = offered, seen, places
        # Single precision is many times as fast here, and regions need no more.
        self._flat = np.ascontiguousarray(seen.T, dtype=np.float32)
        self._norm = np.sum(self._flat**2, axis=0)
        self.squares = self.of(places)

    def of(self, places: Array) -> Array32:
        """Return the squares (n, m) for (n, 3) places."""
        there = places.astype(np.float32)
        own = np.sum(there**2, axis=1)[:, None]
        return np.asarray((-2.0 * there) @ self._flat + own + self._norm)

    def twins(self, row: int) -> list[int]:
        """Return all rows of a swatch that may stand on the sheet twice."""
        return np.flatnonzero((self.offered.labs == self.offered.labs[row]).all(axis=1)).tolist()


def _perceived(look: Look, near: _Nearest, chart: EvenChart) -> Array32:
    rows = list(range(len(near.places)) if look.among is None else look.among)
    least = near.squares[rows].min(axis=0)
    if look.swatch is None:
        refused = 1.0 - _accepted(least)
        if look.direction is None:
            return np.asarray(refused)
        return np.asarray(refused * _that_way(look.direction, near, rows, chart))
    if look.between is None and look.direction is None:
        twins = near.twins(look.swatch)
        own = near.squares[twins].min(axis=0)
        said = own <= least
        rows = [it for it in rows if it not in twins]
    else:
        named = near.places[look.swatch]
        if look.between is not None:
            named = 0.5 * (named + near.places[look.between])
        if look.direction is not None:
            named = named + NUDGE * _way(look.direction, named, look.offered.paper, chart)
        own = near.of(named[None])[0]
        said = own < least
    # Who names its twin as the next says nothing more.
    if look.then is not None and look.then in rows:
        second = near.squares[near.twins(look.then)].min(axis=0)
        said &= second <= near.squares[rows].min(axis=0)
    return np.asarray(said * _accepted(own))


def _that_way(direction: Direction, near: _Nearest, rows: list[int], chart: EvenChart) -> Array32:
    """Return how likely a person names a direction for how a place lies from all swatches."""
    places = near.places[rows]
    middle = places.mean(axis=0)
    way = _way(direction, middle, near.offered.paper, chart)
    off = near.seen - middle
    along = (off @ way) / np.maximum(np.linalg.norm(off, axis=1), 1e-9)
    return np.asarray(np.maximum(along, 0.0) ** _FOCUS, dtype=np.float32)


def _accepted(squares: Array32) -> Array32:
    """Return how likely a person takes a swatch for the thing that looks so far off, squared."""
    return np.asarray(1.0 / (1.0 + (squares / np.float32(ALL_WRONG**2)) ** 2))


def _way(direction: Direction, place: Array, paper: Array, chart: EvenChart) -> Array:
    """Return a step of one ΔE00 on the chart."""
    lab = chart.lab(place[None])[0]
    if direction in _WAYS:
        way = np.array(_WAYS[direction])
    else:
        from_paper = lab - paper
        flat = from_paper * [0.0, 1.0, 1.0]
        # A grey has no colour to be stronger in: it goes straight away from the paper.
        way = flat if np.linalg.norm(flat) > 5.0 else from_paper
        way = way * (1.0 if direction is Direction.STRONGER else -1.0)
    step = chart.slopes(lab) @ way
    return np.asarray(step / max(float(np.linalg.norm(step)), 1e-9))
