"""The best way to cut one sheet by straight cuts from edge to edge.

Exact dynamic programme over the points where cuts can make sense (sums of part lengths;
Herz 1972, *IBM Journal of Research and Development* 16:462–469; Beasley 1985, *Journal of the
Operational Research Society* 36:297–306), run in passes: each pass allows one further
direction change of the cuts, and the passes end when one changes nothing. So of two equally
good cuttings the one with fewer changes of direction is found.

Lengths here are whole numbers, so that sums are exact.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkaccord.layout.model import Axis

POINTS = 1200
"""The most places to cut along one side for which cuttings are found exactly."""
UNITS_PER_PT = 25400
"""Makes points, thousandths of a millimetre and 64ths of an inch whole numbers."""


def to_units(length_pt: float) -> int:
    """Return a length as whole units."""
    return round(length_pt * UNITS_PER_PT)


@dataclass(frozen=True)
class Part:
    """A rectangle to be cut, and the ways it may lie."""

    width: int
    height: int
    upright: bool = True
    turned: bool = False

    def ways(self) -> Iterator[tuple[int, int, bool]]:
        """Yield width, height and whether turned, for every way it may lie."""
        if self.upright:
            yield self.width, self.height, False
        if self.turned and not (self.upright and self.width == self.height):
            yield self.height, self.width, True


@dataclass(frozen=True)
class Leaf:
    """One part, cut out."""

    part: int
    turned: bool


@dataclass(frozen=True)
class Split:
    """Cuts along one direction; parts from left to right or from bottom to top."""

    cut: Axis
    parts: tuple["Tree", ...]


Tree = Leaf | Split


def leaves(tree: Tree) -> Iterator[Leaf]:
    """Yield every part that a tree cuts out."""
    if isinstance(tree, Leaf):
        yield tree
    else:
        for part in tree.parts:
            yield from leaves(part)


def counts(tree: Tree | None, parts: int) -> tuple[int, ...]:
    """Return how many copies of each part a tree cuts out."""
    found = [0] * parts
    if tree is not None:
        for leaf in leaves(tree):
            found[leaf.part] += 1
    return tuple(found)


def join(cut: Axis, first: Tree | None, second: Tree | None) -> Tree | None:
    """Return two trees side by side (upright cut) or one above the other (level cut)."""
    if first is None or second is None:
        return first or second
    parts: list[Tree] = []
    for tree in (first, second):
        parts.extend(tree.parts if isinstance(tree, Split) and tree.cut is cut else (tree,))
    return Split(cut, tuple(parts))


def cut_points(lengths: Sequence[int], limit: int, *, at_most: int) -> NDArray[np.int64] | None:
    """Return every sum of lengths up to a limit, or None if there are more than ``at_most``."""
    points = {0}
    for length in sorted(set(lengths), reverse=True):
        if length <= 0:
            raise ValueError("lengths are larger than nothing")
        fresh = list(points)
        while fresh:
            fresh = [p + length for p in fresh if p + length <= limit and p + length not in points]
            points.update(fresh)
            if len(points) > at_most:
                return None
    return np.array(sorted(points), dtype=np.int64)


@dataclass(frozen=True)
class _Cuts:
    """For every point of one direction: the cuts worth trying, as index pairs into the points."""

    points: NDArray[np.int64]
    first: tuple[NDArray[np.intp], ...]
    second: tuple[NDArray[np.intp], ...]

    @classmethod
    def between(cls, points: NDArray[np.int64]) -> "_Cuts":
        first, second = [], []
        for i, point in enumerate(points):
            ones = np.arange(1, int(np.searchsorted(points, point // 2, side="right")))
            rest = np.searchsorted(points, point - points[ones], side="right") - 1
            keep = ones < i
            first.append(ones[keep])
            second.append(rest[keep])
        return cls(points, tuple(first), tuple(second))


class Cutter:
    """Finds the most valuable cutting of one sheet, for as many sets of values as asked."""

    def __init__(
        self, parts: Sequence[Part], width: int, height: int, *, at_most: int = POINTS
    ) -> None:
        """Prepare the points. Raises OverflowError if either direction has too many."""
        self.parts = tuple(parts)
        self._ways = [
            (i, w, h, turned)
            for i, part in enumerate(parts)
            for w, h, turned in part.ways()
            if w <= width and h <= height
        ]
        across = cut_points([w for _, w, _, _ in self._ways], width, at_most=at_most)
        upward = cut_points([h for _, _, h, _ in self._ways], height, at_most=at_most)
        if across is None or upward is None:
            raise OverflowError("too many different lengths for an exact cutting")
        self._x, self._y = _Cuts.between(across), _Cuts.between(upward)
        self._at = [
            (i, turned, int(np.searchsorted(across, w)), int(np.searchsorted(upward, h)))
            for i, w, h, turned in self._ways
        ]

    @property
    def states(self) -> int:
        """The size of the table."""
        return len(self._x.points) * len(self._y.points)

    def best(self, values: Sequence[float]) -> tuple[float, Tree | None]:
        """Return the greatest value that one sheet gives, and a tree that gives it.

        Parameters
        ----------
        values
            Value of one copy of each part, none below 0. Copies are not limited.
        """
        tables = [self._single(values)]
        unchanged = 0
        axis = Axis.UPRIGHT
        axes: list[Axis | None] = [None]
        while unchanged < 2:
            table = self._one_pass(tables[-1], axis)
            unchanged = unchanged + 1 if np.array_equal(table, tables[-1]) else 0
            tables.append(table)
            axes.append(axis)
            axis = axis.across
        top = len(self._x.points) - 1, len(self._y.points) - 1
        tree = self._trace(tables, axes, values, len(tables) - 1, *top)
        return float(tables[-1][top]), tree

    def _single(self, values: Sequence[float]) -> NDArray[np.float64]:
        table = np.zeros((len(self._x.points), len(self._y.points)))
        for i, _, ix, iy in self._at:
            np.maximum(table[ix:, iy:], values[i], out=table[ix:, iy:])
        return table

    def _one_pass(self, table: NDArray[np.float64], axis: Axis) -> NDArray[np.float64]:
        cuts = self._x if axis is Axis.UPRIGHT else self._y
        work = np.array(table if axis is Axis.UPRIGHT else table.T, order="C")
        for i in range(1, len(cuts.points)):
            np.maximum(work[i], work[i - 1], out=work[i])
            if len(cuts.first[i]):
                sums = work[cuts.first[i]] + work[cuts.second[i]]
                np.maximum(work[i], sums.max(axis=0), out=work[i])
        return np.ascontiguousarray(work if axis is Axis.UPRIGHT else work.T)

    def _trace(
        self,
        tables: list[NDArray[np.float64]],
        axes: list[Axis | None],
        values: Sequence[float],
        level: int,
        ix: int,
        iy: int,
    ) -> Tree | None:
        value = tables[level][ix, iy]
        if value <= 0:
            return None
        while level and tables[level - 1][ix, iy] == value:
            level -= 1
        axis = axes[level]
        if axis is None:
            fitting = [
                (turned, i)
                for i, turned, wx, wy in self._at
                if wx <= ix and wy <= iy and values[i] == value
            ]
            turned, part = min(fitting)
            return Leaf(part, turned)
        table, at = (tables[level], ix) if axis is Axis.UPRIGHT else (tables[level].T, iy)
        line = iy if axis is Axis.UPRIGHT else ix
        cuts = self._x if axis is Axis.UPRIGHT else self._y
        while table[at - 1, line] == value:
            at -= 1
        sums = table[cuts.first[at], line] + table[cuts.second[at], line]
        k = int(np.argmax(sums))
        pair = int(cuts.first[at][k]), int(cuts.second[at][k])
        upright = axis is Axis.UPRIGHT
        ends = [(p, iy) if upright else (ix, p) for p in pair]
        halves = [self._trace(tables, axes, values, level, *end) for end in ends]
        return join(axis, *halves)
