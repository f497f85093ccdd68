"""The ways to fill sheets that were found so far, and whole numbers of sheets chosen among them."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from inkaccord.layout.guillotine import POINTS, Part, Tree, counts, cut_points
from inkaccord.layout.handling import handling
from inkaccord.layout.model import Costs
from inkaccord.layout.whole import Demand, fewest_sheets, with_at_most

STEPS = 3
"""How many ways of fewer and fewer layouts are looked for."""


@dataclass(frozen=True)
class Bed:
    """A sheet's usable rectangle in whole units, and the parts as they may lie on it."""

    width: int
    height: int
    parts: tuple[Part, ...]
    area: float
    yields: int = 1
    """Copies that each part on the sheet gives; 2 when one forme prints both sides."""

    @property
    def snug(self) -> "Bed":
        """The bed without the rim that no sum of parts reaches; as it is where sums are too many.

        What can be cut from the one can be cut from the other, so that sheets which differ by
        such a rim, as by the room for marks, are one task.
        """
        ways = [way for part in self.parts for way in part.ways()]
        ways = [way for way in ways if way[0] <= self.width and way[1] <= self.height]
        across = cut_points([w for w, _, _ in ways], self.width, at_most=POINTS)
        upward = cut_points([h for _, h, _ in ways], self.height, at_most=POINTS)
        if across is None or upward is None:
            return self
        return replace(self, width=int(across[-1]), height=int(upward[-1]))

    def turned_if_fits(self, part: int) -> bool | None:
        """Return whether a part must be turned to fit, or None if it does not fit at all."""
        fitting = [
            turned
            for width, height, turned in self.parts[part].ways()
            if width <= self.width and height <= self.height
        ]
        return min(fitting, default=None)


@dataclass(frozen=True)
class Column:
    """One way to fill one bed."""

    bed: int
    tree: Tree
    copies: tuple[int, ...]
    """Copies of each part that one sheet gives."""


Chosen = tuple[tuple[Column, int], ...]
"""Columns, with how many sheets are printed of each."""


def sheets_in(chosen: Chosen) -> int:
    """Return how many sheets are printed in all."""
    return sum(run for _, run in chosen)


class Pool:
    """Columns found so far, each only once."""

    def __init__(self, beds: Sequence[Bed], demand: Sequence[int], costs: Costs) -> None:
        self.beds = tuple(beds)
        self.demand = tuple(demand)
        self.costs = costs
        self._known: dict[tuple[int, tuple[int, ...]], int] = {}
        self.columns: list[Column] = []

    def add(self, bed: int, tree: Tree) -> None:
        """Add a cutting, or take it for one of the same copies that costs more to handle."""
        yields = self.beds[bed].yields
        copies = tuple(n * yields for n in counts(tree, len(self.demand)))
        column = Column(bed, tree, copies)
        at = self._known.setdefault((bed, copies), len(self.columns))
        if at == len(self.columns):
            self.columns.append(column)
        elif self._handling(column) < self._handling(self.columns[at]):
            self.columns[at] = column

    def _handling(self, column: Column) -> float:
        return handling(column.tree, self.costs)

    @property
    def matrix(self) -> NDArray[np.float64]:
        """Copies, shape (parts, columns)."""
        return np.array([column.copies for column in self.columns], dtype=float).T

    def choose(self, max_layouts: int | None, at_least: int) -> tuple[Chosen | None, bool]:
        """Return columns with whole run lengths, and whether no fewer sheets will do."""
        runs, proved = fewest_sheets(self._wanted, max_layouts, at_least=at_least)
        if runs is None:
            return None, False
        return self._chosen(runs), proved

    def with_fewer(self, layouts: int, at_least: int) -> Iterator[Chosen]:
        """Yield what takes fewer and fewer layouts: one less, then in a few larger steps."""
        at_most = layouts - 1
        for _ in range(STEPS):
            runs = with_at_most(self._wanted, at_most, at_least=at_least) if at_most else None
            if runs is None:
                return
            yield self._chosen(runs)
            layouts = int(np.count_nonzero(runs))
            at_most = min(layouts - 1, 3 * layouts // 4)

    def one_by_one(self) -> tuple[Chosen, ...]:
        """Return every column as the only one, the fewest sheets first, then the least work."""
        alone = [
            ((column, math.ceil(self.demand[0] / column.copies[0])),) for column in self.columns
        ]
        return tuple(sorted(alone, key=lambda only: (only[0][1], self._handling(only[0][0]))))

    @property
    def _wanted(self) -> Demand:
        return Demand(
            self.matrix,
            np.array(self.demand, dtype=float),
            np.array([self.beds[column.bed].area for column in self.columns]),
            np.array([self._handling(column) for column in self.columns]),
        )

    def _chosen(self, runs: NDArray[np.float64]) -> Chosen:
        order = [i for i in np.argsort(-runs, kind="stable").tolist() if runs[i]]
        return tuple((self.columns[i], int(runs[i])) for i in order)
