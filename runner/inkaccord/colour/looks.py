"""What a person says who holds a thing beside swatches, as a region of what the eye perceived.

'B7' is the region nearer to B7 than to all other swatches: those that were not named are its
borders. 'Between' and 'a little darker' name a place that nothing is printed at, and mean the
region nearer to it than to any swatch. 'None of them: yellower' lies far from all that was
offered, and from its middle more or less that way; the nearest on the whole sheet, however far off,
then tells more. Borders are as sharp as the steps between the swatches are known.
"""

from collections.abc import Hashable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit

from inkaccord.colour.arrays import Array
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
"""How narrowly a word is meant: 'yellower' is said of a way as often as the cosine between the two,
cubed (no source)."""
_SAME = 1e-6
"""ΔE00: nearer than this, two swatches are twins."""
_FLAT = 1e-4
"""Of its length: a body that is less thick is flat."""
_WELL_INSIDE = 0.5
"""Of the way to a rival, from the border: so far inside lies the swatch itself."""
_LEAST_OFF = 1e-3
"""No step is taken to be truer than this share of itself."""


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
    steps_off
        How wrong the model's steps from one swatch to the next may be, as a share of them, root
        mean square.
    own
        How many of them, the first ones, were laid for the thing; None for all. The others were
        looked at because none of these was right.
    """

    builds: Array
    labs: Array
    paper: Array
    steps_off: float = 0.0
    own: int | None = None


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
        Who looked, or what compared: its looks err alike.
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

    @property
    def beyond_own(self) -> bool:
        """Whether it names what was not laid for the thing: none of what was is right."""
        own = self.offered.own
        return own is not None and self.swatch is not None and self.swatch >= own

    @property
    def answer(self) -> tuple[Hashable, ...]:
        """What was said, of which swatches: the same for looks that tell the same."""
        said = self.swatch, self.between, self.then, self.among, self.direction
        return (id(self.offered), *said)


def look_error(sure: float) -> float:
    """Return the root mean square error of a look, ΔE00, for how sure the person was (0 to 1)."""
    return LEAST_SURE + (SUREST - LEAST_SURE) * float(np.clip(sure, 0.0, 1.0))


def perceived(look: Look, seen: Array, chart: EvenChart) -> Array:
    """Return how likely a person says this who perceived each of (m, 3) places on a chart, (m,)."""
    places = chart.place(look.offered.labs)
    looked_at = places if look.among is None else places[list(look.among)]
    if look.swatch is None:
        return _none_of_them(look, seen, looked_at, chart)
    named = places[look.swatch]
    if look.between is not None:
        named = 0.5 * (named + places[look.between])
    if look.direction is not None:
        named = named + NUDGE * _way(look.direction, named, look.offered.paper, chart)
    # Twins of what was named are no rivals of it.
    rivals = looked_at[np.abs(looked_at - named).max(axis=1) > _SAME]
    steps_off = look.offered.steps_off
    likely = _nearest(seen, named, rivals, steps_off)
    if look.then is not None:
        second = np.abs(rivals - places[look.then]).max(axis=1) <= _SAME
        if second.any():
            likely *= _nearest(seen, rivals[second][0], rivals[~second], steps_off)
    if look.beyond_own:
        return likely  # the nearest of a whole sheet need not be near
    return np.asarray(likely * _accepted(np.sum((seen - named) ** 2, axis=1)))


def _nearest(seen: Array, named: Array, rivals: Array, steps_off: float) -> Array:
    """Return how likely m places (m, 3) lie nearer to a swatch (3,) than to n rivals (n, 3), (m,).

    The border to each of them lies half way, give or take ``steps_off`` of the way: where a model's
    steps are wrong, what it has for impossible is said all the same.
    """
    rivals = rivals[_next_to(rivals - named)]
    ways = rivals - named
    squares = np.sum(ways**2, axis=1)
    # How far inside the border to each a place lies, as a share of the way: a plane over places.
    slopes = ways / -squares[:, None]
    heights = (np.sum(rivals**2, axis=1) - named @ named) / (2.0 * squares)
    inside = np.full(len(seen), _WELL_INSIDE)
    plane = np.empty_like(inside)
    for slope, height in zip(slopes, heights, strict=True):
        np.matmul(seen, slope, out=plane)
        np.minimum(inside, np.add(plane, height, out=plane), out=inside)
    # A logistic curve of the standard deviation steps_off.
    width = max(steps_off, _LEAST_OFF) * np.sqrt(3.0) / np.pi
    return np.asarray(expit(inside / width))


def _next_to(ways: Array) -> NDArray[np.intp]:
    """Return the rows of the rivals, by the ways to them (n, 3), that border on a swatch somewhere.

    All planes meet at the swatch, so the others are those within the convex hull of the planes'
    slopes: a dozen of a hundred border. Where rivals span next to no room, all count as bordering.
    """
    from scipy.spatial import ConvexHull  # noqa: PLC0415 - slow to load

    slopes = ways / np.sum(ways**2, axis=1)[:, None]
    extent = np.linalg.svd(slopes, compute_uv=False)
    if len(ways) < 4 or extent[2] < _FLAT * extent[0]:
        return np.arange(len(ways))
    corners = ConvexHull(np.append(slopes, np.zeros((1, 3)), axis=0)).vertices
    return np.sort(corners[corners < len(ways)])


def _none_of_them(look: Look, seen: Array, places: Array, chart: EvenChart) -> Array:
    refused = 1.0 - _accepted(_near(seen, places).min(axis=0) + np.sum(seen**2, axis=1))
    if look.direction is None:
        return refused
    middle = places.mean(axis=0)
    off = seen - middle
    cosine = off @ _way(look.direction, middle, look.offered.paper, chart)
    cosine /= np.maximum(np.linalg.norm(off, axis=1), _SAME)
    return np.asarray(refused * np.maximum(cosine, 0.0) ** _FOCUS)


def _accepted(squares: Array) -> Array:
    """Return how likely a person takes a swatch for the thing that looks so far off, squared."""
    return np.asarray(1.0 / (1.0 + (squares / ALL_WRONG**2) ** 2))


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


def _near(seen: Array, places: Array) -> Array:
    """Return (n, m) what tells which of n places is nearest to each of m: the less, the nearer.

    It is the squared distance, less what is the same for all n.
    """
    return np.asarray(np.sum(places**2, axis=1)[:, None] - (2.0 * places) @ seen.T)
