"""Where a gradient may have its stops: its parts between jumps, and the places to look at."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkaccord.artwork.proof.function_parts import FunctionPart
from inkaccord.artwork.proof.shading_values import Numbers

CLOSE = 2 / 255
"""How far a shading may be off the exact mixture: two steps of 8 bits."""
TABLED = 0.02
"""How far between the steps of a tint table, which a shading follows in straight lines."""
SAMPLES = 1025
"""Places at which a calculator is looked at."""
EACH = 24
"""Places looked at in each part of another function, of up to :data:`MANY`."""
MANY, FEWEST = 64, 5
"""From so many parts on as many places are looked at in all, down to so few in each: where parts
are so narrow, a colour that is wrong is wrong over many of them."""
MUCH = 0.02
"""A calculator that changes by more, however close one looks, jumps there."""


@dataclass(frozen=True, slots=True)
class Chain:
    """A part of a gradient without a jump, and where its stops may be."""

    leaves: list[FunctionPart]
    places: list[float]
    fixed: set[int]
    """Which of the places are stops that somebody has set."""
    free: set[int]
    """Which are samples, and stops if they show a swapped colour."""
    loose: float

    def at(self, place: float) -> Numbers:
        """Return the colour at a place."""
        number = bisect_left(self.leaves, place, key=lambda one: one.high)
        leaf = self.leaves[min(number, len(self.leaves) - 1)]
        return leaf.at(min(max(place, leaf.low), leaf.high))


def chains(parts: list[FunctionPart]) -> Iterator[Chain]:
    """Yield the parts of a gradient between its jumps."""
    chain: Chain | None = None
    each = max(min(EACH, EACH * MANY // max(len(parts), 1)), FEWEST)
    for leaf in parts:
        for piece, places in _without_jumps(leaf, each):
            meets = chain is not None and apart(chain.at(piece.low), piece.at(piece.low)) <= 1e-4
            if chain is not None and not meets:
                yield chain
                chain = None
            if chain is None:
                chain = Chain([], [], set(), set(), CLOSE)
            start = max(len(chain.places) - 1, 0)
            chain = Chain(
                [*chain.leaves, piece],
                [*chain.places, *places[1 if chain.places else 0 :]],
                chain.fixed,
                chain.free,
                TABLED if piece.kind == "curve" else chain.loose,
            )
            ends = {start, len(chain.places) - 1}
            if piece.kind == "set":
                chain.fixed.update(ends)
            else:
                chain.free.update(range(start, len(chain.places)))
    if chain is not None:
        yield chain


def _without_jumps(leaf: FunctionPart, each: int) -> Iterator[tuple[FunctionPart, list[float]]]:
    """Yield a part with the places to look at; a calculator cut where it jumps."""
    if leaf.kind == "table":
        yield leaf, list(leaf.places)
        return
    count = SAMPLES if leaf.kind == "curve" else each
    places = [leaf.low + (leaf.high - leaf.low) * i / (count - 1) for i in range(count)]
    if leaf.kind == "set":
        yield leaf, places
        return
    colours = np.array([leaf.at(place) for place in places])
    steps = np.abs(np.diff(colours, axis=0)).max(axis=1)
    start, first = places[0], 0
    for index in np.flatnonzero(steps > MUCH).tolist():
        jump = _jump(leaf, places[index], places[index + 1])
        if jump is None:
            continue
        before, after = jump
        inner = [start, *places[first + (start == places[first]) : index + 1], before]
        yield FunctionPart(start, before, leaf.at, "curve"), inner
        start, first = after, index + 1
    rest = [start, *places[first + (start == places[first]) :]]
    yield FunctionPart(start, places[-1], leaf.at, "curve"), rest


def _jump(leaf: FunctionPart, low: float, high: float) -> tuple[float, float] | None:
    """Return the last place before a jump and the first behind it; None where it only is steep."""
    one, other = leaf.at(low), leaf.at(high)
    while low < (middle := (low + high) / 2) < high:
        here = leaf.at(middle)
        if apart(one, here) > apart(here, other):
            high, other = middle, here
        else:
            low, one = middle, here
        if apart(one, other) <= MUCH:
            return None
    return low, high


def off_line(colours: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return how far each of several colours lies off the line between the first and last."""
    first, way = colours[0], colours[-1] - colours[0]
    weight = float(way @ way)
    shares = np.clip((colours - first) @ way / weight, 0, 1) if weight else np.zeros(len(colours))
    found: NDArray[np.float64] = np.abs(colours - first - np.outer(shares, way)).max(axis=1)
    return found


def share_of(numbers: Numbers, first: Numbers, last: Numbers) -> float:
    """Return where a colour lies between two, from 0 to 1."""
    way = np.subtract(last, first)
    weight = float(way @ way)
    return float(np.clip(np.subtract(numbers, first) @ way / weight, 0, 1)) if weight else 0.0


def shares_in_doubt(numbers: Numbers, first: Numbers, last: Numbers) -> tuple[float, float]:
    """Return between which shares of two colours lies one that is a little off their line."""
    way = np.subtract(last, first)
    share, long = share_of(numbers, first, last), float(np.abs(way).max())
    off = float(np.abs(np.subtract(numbers, first) - share * way).max())
    doubt = off / long if long else 0.0
    return max(share - doubt, 0.0), min(share + doubt, 1.0)


def apart(one: Sequence[float], other: Sequence[float]) -> float:
    """Return the largest difference of one number."""
    return max((abs(a - b) for a, b in zip(one, other, strict=True)), default=0.0)
