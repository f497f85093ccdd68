"""A function of one input as the sections between its jumps, each with the limits at its ends."""

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
class Section:
    """A stretch without a jump. Called, it gives the limits from inside at its ends, too."""

    low: float
    high: float
    curve: Curve
    straight: bool = True
    table: bool = False
    """Whether it is of a table or computed, so that its stops are nowhere written."""

    def __call__(self, place: float) -> Numbers:
        """Return the value at a place, brought into the section."""
        return self.curve(min(max(place, self.low), self.high))

    def within(self, low: float, high: float) -> Section:
        """Return what of the section lies between two places."""
        return replace(self, low=max(low, self.low), high=min(high, self.high))


def flat(low: float, high: float, value: Numbers) -> Section:
    """Return a section of one value."""
    return Section(low, high, lambda _: value)


def between(sections: Sequence[Section], low: float, high: float) -> list[Section]:
    """Return the sections from ``low`` to ``high``; beyond the first and last, their ends go on.

    What rounding left between two of them is closed.
    """
    if not sections or low == high:
        return []
    first, last = sections[0], sections[-1]
    ends = [
        flat(min(low, first.low), first.low, first(first.low)),
        *sections,
        flat(last.high, max(high, last.high), last(last.high)),
    ]
    cut = [one.within(low, high) for one in ends if one.high > low and one.low < high]
    cut = [one for one in cut if one.high - one.low > SAME_PLACE * (high - low)]
    edges = [one.low for one in cut[1:]] + [high]
    return [replace(one, high=edge) for one, edge in zip(cut, edges, strict=True)]


def clipped(sections: Sequence[Section], clip: Callable[[Numbers], Numbers]) -> Iterator[Section]:
    """Yield sections whose values are brought into bounds, where a straight line may bend."""
    for one in sections:
        ends = [one(one.low), one(one.high)]
        straight = one.straight and all(clip(end) == end for end in ends)
        yield replace(one, curve=_clipping(one, clip), straight=straight)


def _clipping(curve: Curve, clip: Callable[[Numbers], Numbers]) -> Curve:
    return lambda place: clip(curve(place))


def moved(section: Section, inner: tuple[float, float], outer: tuple[float, float]) -> Section:
    """Return a section whose inputs ``inner`` stand at ``outer``; either may run backwards."""
    (u0, u1), (x0, x1) = inner, outer

    def curve(place: float) -> Numbers:
        return section(u0 + (place - x0) * (u1 - u0) / (x1 - x0))

    ends = sorted(x0 + (u - u0) * (x1 - x0) / (u1 - u0) for u in (section.low, section.high))
    return Section(ends[0], ends[1], curve, section.straight, section.table)


def together(parts: Sequence[Sequence[Section]]) -> list[Section]:
    """Return the sections of several functions of one domain as sections of all their values.

    Sections without a width are at either end, where one of them has one.
    """
    edges = sorted({edge for sections in parts for one in sections for edge in (one.low, one.high)})
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
            Section(
                low,
                high,
                _side_by_side(here),
                all(one.straight for one in here),
                all(one.table for one in here),
            )
        )
    ends = [
        [flat(place, place, tuple(number for ps in parts for number in ps[at](place)))]
        if any(ps[at].low == ps[at].high for ps in parts)
        else []
        for at, place in ((0, places[0]), (-1, places[-1]))
    ]
    return [*ends[0], *joined, *ends[1]]


def _side_by_side(sections: Sequence[Section]) -> Curve:
    return lambda place: tuple(value for one in sections for value in one(place))


def searched(curve: Curve, low: float, high: float) -> list[Section]:
    """Return the sections of a function of which nothing is known, its jumps found by halving.

    A stripe narrower than a 512th of the domain can be missed. Raises TooManyJumpsError.
    """
    places = [low + (high - low) * i / SAMPLES for i in range(SAMPLES + 1)]
    values = [curve(place) for place in places]
    jumps: list[tuple[float, float]] = []
    for one, other in pairwise(zip(places, values, strict=True)):
        jumps += _jumps(curve, one, other, high - low)
        if len(jumps) > MOST_JUMPS:
            raise TooManyJumpsError("a function with more jumps than a gradient can have")
    sections = []
    start = edge = low
    for before, after in [*jumps, (high, high)]:
        end = after if before < high else high
        if end > edge:
            sections.append(Section(edge, end, _inside(curve, start, before), False, True))
        start = edge = after
    return sections


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
