"""Which flat fills of a file are steps of a flight, found for the proof by a reader of its own.

A flight is a gradient that a program wrote as flat fills in a row: from a swapped colour on, each
lies on the line to the last one, in at least eight colours and no wide steps. What a step becomes
is the same mixture of what the ends become. Blacks and greys lead to none.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby
from operator import mul

import numpy as np
import pikepdf

from inkaccord.artwork.content.reading import FillSet
from inkaccord.artwork.proof.gradient_space import WHITES, GradientSpace
from inkaccord.artwork.proof.gradient_stops import apart, share_of
from inkaccord.artwork.proof.shading_values import Numbers
from inkaccord.artwork.proof.wanted_colours import WantedColours
from inkaccord.artwork.swap_table import Mapped, NearMiss, SwapTable
from inkaccord.colour.paints import Paint, PaintKind

OFF = 0.006
COLOURS = 8
WAY = 0.1
STEP = 0.25
WHITISH = 0.02
SOON, MOVE = 16, 0.003

_NAMES = {
    PaintKind.CMYK: pikepdf.Name.DeviceCMYK,
    PaintKind.RGB: pikepdf.Name.DeviceRGB,
    PaintKind.GRAY: pikepdf.Name.DeviceGray,
}
_Standing = tuple[Mapped | None, NearMiss | None]
Row = list[tuple[int, Numbers]]
"""Fills of one space in a row: where each is set, and its numbers."""


class FlightReader:
    """Finds flights in content streams."""

    def __init__(self, table: SwapTable) -> None:
        self._table = table
        self._spaces = {
            kind: GradientSpace(name, by_numbers=False) for kind, name in _NAMES.items()
        }
        self._known: dict[tuple[PaintKind, Numbers], _Standing] = {}

    def steps(self, fills: Sequence[FillSet | None]) -> dict[int, Mapped]:
        """Return by their places which fills are steps of a flight, and what they become."""
        found: dict[int, Mapped] = {}
        for kind, row in _rows(fills):
            for place, mapped in self._of_row(self._spaces[kind], row):
                found.setdefault(place, mapped)
        return found

    def _of_row(self, space: GradientSpace, row: Row) -> Iterator[tuple[int, Mapped]]:
        solid, leading, near = [], [], []
        for index, (_, numbers) in enumerate(row):
            mapped, just_missed = self._standing(space, numbers)
            if mapped is not None and mapped.tint == 100:
                solid.append(index)
                if self._table.leads([mapped]):
                    leading.append(index)
            elif just_missed is not None:
                near.append(index)
        taken: set[int] = set()
        solids = frozenset(solid)
        for start in [*leading, *near]:
            if start not in solids and start in taken:
                continue
            for way in (1, -1):
                indices = range(start, len(row) if way == 1 else -1, way)
                count, ends = self._climb(space, row, solids, indices)
                flight = indices[:count]
                if not count or taken.issuperset(flight):
                    continue
                taken.update(flight)
                for index in flight:
                    mapped = self._mixture(space, ends, row[index][1])
                    if mapped is not None:
                        yield row[index][0], mapped

    def _standing(self, space: GradientSpace, numbers: Numbers) -> _Standing:
        """Return what a plain colour becomes, or which swap it just misses."""
        assert space.kind is not None  # noqa: S101 - plain colours only
        key = space.kind, numbers
        if key not in self._known:
            paint = space.paint(numbers)
            assert paint is not None  # noqa: S101 - as above
            mapped = self._table.of_paint(paint)
            near = self._table.near_miss_of(paint) if mapped is None else None
            self._known[key] = mapped, near
        return self._known[key]

    def _climb(
        self, space: GradientSpace, row: Row, solid: frozenset[int], indices: range
    ) -> tuple[int, tuple[Numbers, Numbers]]:
        """Return how many of a row's colours, from the first index on, make a flight; its ends."""
        assert space.kind is not None  # noqa: S101 - plain colours only
        colours = [row[indices[0]][1]]
        white, first = WHITES[space.kind], self._end(space, colours[0])
        for index in indices[1:]:
            count, colour = len(colours), row[index][1]
            before = {1, count // 4, count // 2, count - 1} if count > 1 else {0}
            if any(_is_off(colours[i], first, colour) for i in before):
                break
            if count >= SOON and apart(colours[count - SOON], colour) < MOVE:
                break
            colours.append(colour)
            if index in solid or colour == white:
                break
        while len(set(colours)) >= COLOURS:
            ends = first, self._end(space, colours[-1])
            if not any(_is_off(colour, *ends) for colour in colours):
                shares = [share_of(colour, *ends) for colour in colours]
                steps = np.diff([0.0, *shares, 1.0])
                good = apart(*ends) >= WAY and steps.max() <= STEP
                return (len(colours) if good else 0), ends
            colours.pop()
        return 0, (first, first)

    def _end(self, space: GradientSpace, numbers: Numbers) -> Numbers:
        """Return the colour that was meant where a flight ends with these numbers."""
        assert space.kind is not None  # noqa: S101 - plain colours only
        _, near = self._standing(space, numbers)
        old = space.numbers(self._table.swaps[near.swap].old) if near is not None else None
        if old is not None:
            return old
        white = WHITES[space.kind]
        return white if apart(numbers, white) <= WHITISH else numbers

    def _mixture(
        self, space: GradientSpace, ends: tuple[Numbers, Numbers], numbers: Numbers
    ) -> Mapped | None:
        paints = [space.paint(end) for end in ends]
        mapped = [self._table.of_paint(paint) for paint in paints if paint is not None]
        known = next(one for one in mapped if one is not None)
        target = self._spaces[known.paint.kind]
        if target is space and any(
            one is None and numbers == end for one, end in zip(mapped, ends, strict=True)
        ):
            return None  # an end that stays
        new = WantedColours(self._table, space, target).mixture(ends, numbers)
        paint = target.paint(new) if new is not None else None
        return Mapped(_rounded(paint), known.swap, 0.0) if paint is not None else None


def _rounded(paint: Paint) -> Paint:
    return paint.model_copy(update={"values": tuple(round(value, 6) for value in paint.values)})


def _is_off(colour: Numbers, first: Numbers, last: Numbers) -> bool:
    """Whether a colour lies off the line between two others, in plain numbers: they are few."""
    ways = [b - a for a, b in zip(first, last, strict=True)]
    here = [b - a for a, b in zip(first, colour, strict=True)]
    weight = sum(way * way for way in ways)
    share = sum(map(mul, here, ways)) / weight if weight else 0.0
    share = min(max(share, 0.0), 1.0)
    return any(abs(b - share * way) > OFF for b, way in zip(here, ways, strict=True))


def _rows(fills: Sequence[FillSet | None]) -> Iterator[tuple[PaintKind, Row]]:
    """Yield the plain colours that are set in a row, without anything else between."""

    def kind_of(fill: FillSet | None) -> PaintKind | None:
        pen = fill[1].pen if fill is not None else None
        name = pen.space.kind.value if pen is not None else ""
        return next((kind for kind in _NAMES if kind.value == name), None)

    for kind, group in groupby(fills, kind_of):
        if kind is not None:
            row = [(fill[0], fill[1].numbers) for fill in group if fill is not None]
            if len(row) >= COLOURS:
                yield kind, row
