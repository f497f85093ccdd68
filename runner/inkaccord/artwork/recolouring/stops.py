"""The stops of a gradient, found also where it is given as a table or a curve."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from inkaccord.artwork.lines import ON_LINE, apart, mixture, share_between
from inkaccord.artwork.swap_table import SwapTable
from inkaccord.pdf.colours.sections import Curve, Numbers, Section
from inkaccord.pdf.colours.spaces import Space

SAME = 1e-4
"""How far the ends of two sections may lie apart and be one colour, not a jump."""
STRAIGHT = 0.0005
"""How far the straight lines that stand for a curve may lie off it."""
FIRST_CUTS = 16
MOST_HALVINGS = 8


@dataclass(frozen=True, slots=True)
class Vertex:
    """A place of a gradient and its colour, between straight lines."""

    place: float
    colour: Numbers
    stop: bool
    """Whether somebody has set it as a stop."""
    sample: bool = False
    """Whether it is a sample, at which a swapped colour may be meant to stand."""


def traced(sections: Sequence[Section]) -> Iterator[list[Vertex]]:
    """Yield the runs of a gradient, from jump to jump, as straight lines from vertex to vertex."""
    run: list[Vertex] = []
    for section in sections:
        here = list(_traced(section))
        if run and section.high > section.low and apart(run[-1].colour, here[0].colour) <= SAME:
            last = run.pop()
            stop, sample = last.stop or here[0].stop, last.sample or here[0].sample
            here[0] = Vertex(last.place, last.colour, stop, sample)
        elif run:
            yield run
            run = []
        run += here
    yield run


def _traced(section: Section) -> Iterator[Vertex]:
    low, high = section.low, section.high
    ends = [section(low), section(high)]
    stop = not section.table
    yield Vertex(low, ends[0], stop, section.table)
    if high == low:
        return
    if not section.straight:
        last = (low, ends[0])
        for i in range(1, FIRST_CUTS + 1):
            place = high if i == FIRST_CUTS else low + (high - low) * i / FIRST_CUTS
            here = (place, section(place))
            for place, numbers in _bends(section, last, here, MOST_HALVINGS):
                yield Vertex(place, numbers, stop=False, sample=section.table)
            if i < FIRST_CUTS:
                yield Vertex(*here, stop=False, sample=section.table)
            last = here
    yield Vertex(high, ends[1], stop, section.table)


def _bends(
    colour: Curve, one: tuple[float, Numbers], other: tuple[float, Numbers], halvings: int
) -> Iterator[tuple[float, Numbers]]:
    """Yield the points between two of a curve that straight lines need to stay close to it."""
    quarters = [one[0] + (other[0] - one[0]) * share for share in (0.25, 0.5, 0.75)]
    found = [colour(place) for place in quarters]
    if not halvings or all(
        apart(numbers, mixture(share, one[1], other[1])) <= STRAIGHT
        for numbers, share in zip(found, (0.25, 0.5, 0.75), strict=True)
    ):
        return
    middle = (quarters[1], found[1])
    yield from _bends(colour, one, middle, halvings - 1)
    yield middle
    yield from _bends(colour, middle, other, halvings - 1)


def stretches(table: SwapTable, space: Space, run: Sequence[Vertex]) -> list[Sequence[Vertex]]:
    """Return a run cut where a swapped colour stands, and at its bends.

    Within a stretch every vertex lies on the straight line of colours between its ends. That holds
    of stops, too, that a program derived from their neighbours: they are a mixture of the two.
    """
    cuts = {0, len(run) - 1}
    cuts.update(
        i
        for i, one in enumerate(run)
        if one.stop and solid_swap(table, space, one.colour) is not None
    )
    cuts.update(_recognised(table, space, run))
    found: list[Sequence[Vertex]] = []
    pending = sorted(cuts)
    ends = list(pairwise(pending))
    while ends:
        low, high = ends.pop(0)
        bend = _bend(run, low, high)
        if bend is None:
            found.append(run[low : high + 1])
        else:
            ends[:0] = [(low, bend), (bend, high)]
    return found or [run]


def solid_swap(table: SwapTable, space: Space, colour: Numbers) -> int | None:
    """Return the swap of which a colour is the old one, not a tint of it."""
    mapped = table.of(space.colour(colour))
    return mapped.swap if mapped is not None and mapped.tint == 100 else None


def _recognised(table: SwapTable, space: Space, run: Sequence[Vertex]) -> Iterator[int]:
    """Yield the samples that are stops: of neighbours of one swapped colour, the nearest to it."""
    group: list[tuple[float, int]] = []
    swap: int | None = None
    for index, vertex in enumerate(run):
        now = solid_swap(table, space, vertex.colour) if vertex.sample else None
        if now != swap:
            yield from _nearest(group)
            group, swap = [], now
        if now is not None:
            group.append((table.off(space.colour(vertex.colour), now), index))
    yield from _nearest(group)


def _nearest(group: Sequence[tuple[float, int]]) -> Iterator[int]:
    if group:
        best = min(off for off, _ in group)
        near = [index for off, index in group if off <= best + 100 * SAME]
        yield from (near[0], near[-1])


def _bend(run: Sequence[Vertex], low: int, high: int) -> int | None:
    """Return the vertex that lies farthest off the line between two others, if any lies off."""
    best, where = ON_LINE, None
    for index in range(low + 1, high):
        off = share_between(run[index].colour, run[low].colour, run[high].colour)[1]
        if off > best:
            best, where = off, index
    return where
