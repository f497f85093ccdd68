"""Where the numbers of cuts stand in a picture of a sheet: beside their lines, never on each other.

The two cuts of a gutter lie so near in a picture that a disc on one would cover the other. So a
number's disc touches its own line from the side, at an end of the line outside the sheet where it
has one, else along it.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain
from operator import itemgetter

import numpy as np
from numpy.typing import NDArray

from inkaccord.colour.arrays import Array
from inkaccord.sizes import Box

Ends = tuple[float, float, float, float]
"""A line from (x, y) to (x, y), level or upright."""
_ALONG = (0.5, 0.35, 0.65, 0.2, 0.8, 0.42, 0.58, 0.28, 0.72, 0.1, 0.9, 0.04, 0.96)
_SHIFTS = (1.0, 1.5, 2.2, 3.0, 4.0, 5.5, 7.0)
_LINES_TRIED = 6
_GAP = 0.15


@dataclass(frozen=True)
class NumberPlace:
    """A disc with a number, and where its line begins if it stands off it."""

    x: float
    y: float
    tip: tuple[float, float] | None = None


def number_places(
    cuts: Mapping[int, Sequence[Ends]], sheet: Box, radius: float, taken: Sequence[Box]
) -> dict[int, NumberPlace] | None:
    """Return where each number stands; None where discs of that radius find no room.

    Parameters
    ----------
    cuts
        By number: every line that is cut at that setting.
    sheet
        The sheet in the picture. Numbers may stand up to ``2.5 * radius`` outside it.
    taken
        What the numbers should not cover, such as the names of pieces; they do before they are
        left out.
    """
    lines = [line for group in cuts.values() for line in group]
    seen = np.array([_sorted(line) for line in lines]).reshape(-1, 4)
    names = np.array(taken, dtype=np.float64).reshape(-1, 4)
    found: dict[int, NumberPlace] = {}
    for number, group in cuts.items():
        best: tuple[int, NumberPlace] | None = None
        for line in group[:_LINES_TRIED]:
            ways = list(_ways(line, lines, sheet, radius))
            free = _free(ways, list(found.values()), sheet, radius)
            covered = _covered(free, seen, names, radius).tolist()
            nearest = min(zip(covered, free, strict=True), key=itemgetter(0), default=None)
            if nearest and (best is None or nearest[0] < best[0]):
                best = nearest
            if best and not best[0]:
                break
        if best is None:
            return None
        found[number] = best[1]
    return found


def _ways(line: Ends, lines: Sequence[Ends], sheet: Box, radius: float) -> Iterator[NumberPlace]:
    """Yield the places of a line's number, the best first."""
    away = _away(line, lines)
    touching = [(sign * shift) for shift in _SHIFTS for sign in (away, -away)]
    x1, y1, x2, y2 = line
    upright = x1 == x2
    for x, y in ((x1, y1), (x2, y2)):
        at, limits = (y, (sheet.bottom, sheet.top)) if upright else (x, (sheet.left, sheet.right))
        if min(abs(at - limit) for limit in limits) > 0.5:
            continue
        step = math.copysign(radius * (1 + _GAP), at - sum(limits) / 2)
        for shift in touching:
            tip = (x, y) if abs(shift) > 1 else None
            if upright:
                yield NumberPlace(x + shift * radius, y + step, tip)
            else:
                yield NumberPlace(x + step, y + shift * radius, tip)
    for share, side in chain.from_iterable(((s, away), (s, -away)) for s in _ALONG):
        x, y = x1 + share * (x2 - x1), y1 + share * (y2 - y1)
        yield NumberPlace(x + side * radius, y) if upright else NumberPlace(x, y + side * radius)


def _away(line: Ends, lines: Sequence[Ends]) -> int:
    """Return on which side of a line its nearest neighbour does not lie."""
    upright = line[0] == line[2]
    across, low, high = (0, 1, 3) if upright else (1, 0, 2)
    gaps = [
        other[across] - line[across]
        for other in lines
        if (other[0] == other[2]) is upright
        and other[across] != line[across]
        and min(other[high], line[high]) > max(other[low], line[low])
    ]
    return 1 if min(gaps, key=abs, default=-1.0) < 0 else -1


def _free(
    ways: Sequence[NumberPlace], others: Sequence[NumberPlace], sheet: Box, radius: float
) -> list[NumberPlace]:
    """Return the places whose discs lie in the picture and on no other."""
    around = sheet.grown(1.5 * radius)
    apart = (2 * radius * (1 + _GAP / 2)) ** 2
    places, taken = _centres(ways), _centres(others)
    across, up = (places[:, None, axis] - taken[:, axis] for axis in (0, 1))
    takes = (across**2 + up**2 >= apart).all(axis=1)
    takes &= (around.left <= places[:, 0]) & (places[:, 0] <= around.right)
    takes &= (around.bottom <= places[:, 1]) & (places[:, 1] <= around.top)
    return [ways[at] for at in np.flatnonzero(takes).tolist()]


def _centres(places: Sequence[NumberPlace]) -> Array:
    return np.array([(place.x, place.y) for place in places]).reshape(-1, 2)


def _covered(
    ways: Sequence[NumberPlace], lines: Array, taken: Array, radius: float
) -> NDArray[np.intp]:
    """Return how much each disc covers of what should be seen; names weigh more than lines."""
    places = _centres(ways)
    names = np.count_nonzero(_distances(places, taken) < radius, axis=1)
    crossed = np.count_nonzero(_distances(places, lines) < 0.9 * radius, axis=1)
    return np.asarray(4 * names + crossed, dtype=np.intp)


def _sorted(line: Ends) -> Ends:
    x1, y1, x2, y2 = line
    return min(x1, x2), min(y1, y2), max(x1, x2), max(y1, y2)


def _distances(places: Array, boxes: Array) -> Array:
    """Return how far each of (n, 2) places lies from each of (m, 4) boxes; shape (n, m)."""
    x, y = places[:, :1], places[:, 1:]
    across = np.maximum(0.0, np.maximum(boxes[:, 0] - x, x - boxes[:, 2]))
    up = np.maximum(0.0, np.maximum(boxes[:, 1] - y, y - boxes[:, 3]))
    return np.hypot(across, up)
