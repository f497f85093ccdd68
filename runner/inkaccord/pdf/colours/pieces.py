"""A function of one input as the pieces between its jumps, each with the limits at its ends."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

Numbers = tuple[float, ...]
Curve = Callable[[float], Numbers]

JUMP = 0.004
"""Neighbouring values that differ by more are looked at more closely: a step of 8 bits."""
SAMPLES = 512
"""Places at which a function that nothing is known of is looked at for jumps."""
MOST_JUMPS = 1024
NARROWEST = 1e-11
"""A change within this share of the domain is a jump."""
SAME_PLACE = 1e-9


class TooManyJumpsError(ValueError):
    """A function that jumps more often than a gradient can."""


@dataclass(frozen=True, slots=True)
class Piece:
    """A stretch without a jump. Called, it gives the limits from inside at its ends, too."""

    low: float
    high: float
    curve: Curve
    straight: bool = True
    table: bool = False
    """Whether its ends are samples of a table, where else somebody has set them as stops."""

    def __call__(self, place: float) -> Numbers:
        """Return the value at a place, brought into the piece."""
        return self.curve(min(max(place, self.low), self.high))

    def within(self, low: float, high: float) -> Piece:
        """Return what of the piece lies between two places."""
        return replace(self, low=max(low, self.low), high=min(high, self.high))


def flat(low: float, high: float, value: Numbers) -> Piece:
    """Return a piece of one value."""
    return Piece(low, high, lambda _: value)


def between(pieces: Sequence[Piece], low: float, high: float) -> list[Piece]:
    """Return the pieces from ``low`` to ``high``; beyond the first and last, their ends go on.

    What rounding left between two of them is closed.
    """
    if not pieces or low == high:
        return []
    first, last = pieces[0], pieces[-1]
    ends = [
        flat(min(low, first.low), first.low, first(first.low)),
        *pieces,
        flat(last.high, max(high, last.high), last(last.high)),
    ]
    cut = [one.within(low, high) for one in ends if one.high > low and one.low < high]
    cut = [one for one in cut if one.high - one.low > SAME_PLACE * (high - low)]
    edges = [one.low for one in cut[1:]] + [high]
    return [replace(one, high=edge) for one, edge in zip(cut, edges, strict=True)]


def clipped(pieces: Sequence[Piece], clip: Callable[[Numbers], Numbers]) -> Iterator[Piece]:
    """Yield pieces whose values are brought into bounds, where a straight line may bend."""
    for one in pieces:
        ends = [one(one.low), one(one.high)]
        straight = one.straight and all(clip(end) == end for end in ends)
        yield replace(one, curve=_clipping(one, clip), straight=straight)


def _clipping(curve: Curve, clip: Callable[[Numbers], Numbers]) -> Curve:
    return lambda place: clip(curve(place))


def moved(piece: Piece, inner: tuple[float, float], outer: tuple[float, float]) -> Piece:
    """Return a piece whose inputs ``inner`` stand at ``outer``; either may run backwards."""
    (u0, u1), (x0, x1) = inner, outer

    def curve(place: float) -> Numbers:
        return piece(u0 + (place - x0) * (u1 - u0) / (x1 - x0))

    ends = sorted(x0 + (u - u0) * (x1 - x0) / (u1 - u0) for u in (piece.low, piece.high))
    return Piece(ends[0], ends[1], curve, piece.straight, piece.table)


def together(parts: Sequence[Sequence[Piece]]) -> list[Piece]:
    """Return the pieces of several functions of one domain as pieces of all their values."""
    edges = sorted({edge for pieces in parts for one in pieces for edge in (one.low, one.high)})
    close = SAME_PLACE * (edges[-1] - edges[0])
    places = [edges[0]]
    for edge in edges[1:]:
        if edge - places[-1] > close:
            places.append(edge)
    joined = []
    for low, high in pairwise(places):
        middle = (low + high) / 2
        here = [next((p for p in ps if middle <= p.high), ps[-1]) for ps in parts]
        joined.append(
            Piece(
                low,
                high,
                _side_by_side(here),
                all(one.straight for one in here),
                all(one.table for one in here),
            )
        )
    return joined


def _side_by_side(pieces: Sequence[Piece]) -> Curve:
    return lambda place: tuple(value for one in pieces for value in one(place))


def searched(curve: Curve, low: float, high: float) -> list[Piece]:
    """Return the pieces of a function of which nothing is known, its jumps found by halving.

    A stripe narrower than a 512th of the domain can be missed. Raises TooManyJumpsError.
    """
    places = [low + (high - low) * i / SAMPLES for i in range(SAMPLES + 1)]
    values = [curve(place) for place in places]
    jumps: list[tuple[float, float]] = []
    for one, other in pairwise(zip(places, values, strict=True)):
        jumps += _jumps(curve, one, other, high - low)
        if len(jumps) > MOST_JUMPS:
            raise TooManyJumpsError("a function with more jumps than a gradient can have")
    pieces = []
    start = edge = low
    for before, after in [*jumps, (high, high)]:
        end = after if before < high else high
        if end > edge:
            pieces.append(Piece(edge, end, _inside(curve, start, before), straight=False))
        start = edge = after
    return pieces


def _inside(curve: Curve, low: float, high: float) -> Curve:
    return lambda place: curve(min(max(place, low), high))


def _jumps(
    curve: Curve, one: tuple[float, Numbers], other: tuple[float, Numbers], width: float
) -> Iterator[tuple[float, float]]:
    """Yield the last place before and the first behind each jump between two places."""
    (a, first), (b, last) = one, other
    if max(abs(x - y) for x, y in zip(first, last, strict=True)) <= JUMP:
        return
    middle = (a + b) / 2
    if b - a <= NARROWEST * width or not a < middle < b:
        yield a, b
        return
    half = (middle, curve(middle))
    yield from _jumps(curve, one, half, width)
    yield from _jumps(curve, half, other, width)
