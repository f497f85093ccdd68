"""Many good mixes for one sheet: all that are worth nearly as much as the best.

A few layouts can fill an order only with mixes that suit each other, and those are seldom the very
best of their own. So the programme of :mod:`inkaccord.layout.guillotine` is run once more with
every mix kept that is at most a given worth below the best of its rectangle; where they are many,
the best of them (a count, no clock). The cuts that are tried lie on reduced raster points
(Terno, Lindemann & Scheithauer 1987, *Zuschnittprobleme und ihre praktische Lösung*, from memory):
few places, from which every mix is one that can be cut.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from inkaccord.layout.guillotine import POINTS, Leaf, Part, Tree, cut_points, join
from inkaccord.layout.model import Axis

KEPT = 100
"""The most mixes that are kept of each rectangle."""
PARTS = 8
"""The most parts: the counts of a mix are kept together in one word of eight bytes."""
_MOST = 255
_CELLS = 2500
"""The most rectangles that are looked at."""

Codes = NDArray[np.uint64]
"""Mixes, each with a byte for the count of every part."""
_Cell = tuple[int, int]


@dataclass(frozen=True)
class _Mixes:
    """The mixes of one rectangle, the most valuable first."""

    codes: Codes
    values: NDArray[np.float64]

    @cached_property
    def known(self) -> dict[int, None]:
        """The mixes, to be looked for and gone through in their order."""
        return dict.fromkeys(self.codes.tolist())


_NOTHING = _Mixes(np.zeros(1, np.uint64), np.zeros(1))


def near_best(
    parts: Sequence[Part], width: int, height: int, values: Sequence[float], slack: float
) -> tuple[Tree, ...]:
    """Return cuttings of one sheet whose values lie near the best, the best first.

    Parameters
    ----------
    parts, width, height
        As for :class:`inkaccord.layout.guillotine.Cutter`.
    values
        Value of one copy of each part, none below 0.
    slack
        How far below the best a mix may lie.

    Returns
    -------
    tuple of Tree
        At most :data:`KEPT`, no two of the same mix; none where there are too many parts, copies
        or places to cut.
    """
    table = _Table.of(parts, width, height)
    return () if table is None else table.cuttings(values, slack)


class _Table:
    """The rectangles of a sheet, and what each may be cut into."""

    def __init__(
        self,
        parts: Sequence[Part],
        across: NDArray[np.int64],
        upward: NDArray[np.int64],
    ) -> None:
        self._x, self._y = _cuts(across), _cuts(upward)
        self._end = len(across) - 1, len(upward) - 1
        self._leaves: dict[_Cell, list[Leaf]] = {}
        for number, part in enumerate(parts):
            for w, h, turned in part.ways():
                if w <= across[-1] and h <= upward[-1]:
                    cell = int(np.searchsorted(across, w)), int(np.searchsorted(upward, h))
                    self._leaves.setdefault(cell, []).append(Leaf(number, turned))
        self._cells: dict[_Cell, _Mixes] = {}

    @classmethod
    def of(cls, parts: Sequence[Part], width: int, height: int) -> "_Table | None":
        smallest = min(part.width * part.height for part in parts)
        if len(parts) > PARTS or width * height > _MOST * smallest:
            return None
        ways = [way for part in parts for way in part.ways() if way[0] <= width]
        ways = [way for way in ways if way[1] <= height]
        across = cut_points([w for w, _, _ in ways], width, at_most=POINTS)
        upward = cut_points([h for _, h, _ in ways], height, at_most=POINTS)
        if across is None or upward is None:
            return None
        across, upward = _reduced(across, width), _reduced(upward, height)
        return cls(parts, across, upward) if len(across) * len(upward) <= _CELLS else None

    def cuttings(self, values: Sequence[float], slack: float) -> tuple[Tree, ...]:
        for ix in range(self._end[0] + 1):
            for iy in range(self._end[1] + 1):
                cell = ix, iy
                self._cells[cell] = self._mixes(cell, values, slack) if ix and iy else _NOTHING
        trees = (self._tree(code, self._end) for code in self._cells[self._end].codes.tolist())
        return tuple(tree for tree in trees if tree is not None)

    def _halves(self, cell: _Cell) -> list[tuple[Axis, _Cell, _Cell]]:
        ix, iy = cell
        return [
            *((Axis.UPRIGHT, (a, iy), (b, iy)) for a, b in self._x[ix]),
            *((Axis.LEVEL, (ix, a), (ix, b)) for a, b in self._y[iy]),
        ]

    def _mixes(self, cell: _Cell, values: Sequence[float], slack: float) -> _Mixes:
        ix, iy = cell
        pools = [self._cells[ix - 1, iy], self._cells[ix, iy - 1]]
        pools += [
            _Mixes(np.array([_code(leaf)], np.uint64), np.array([values[leaf.part]]))
            for leaf in self._leaves.get(cell, ())
        ]
        pairs = [(self._cells[a], self._cells[b]) for _, a, b in self._halves(cell)]
        best = max(float(pool.values[0]) for pool in pools)
        best = max([best, *(float(a.values[0] + b.values[0]) for a, b in pairs)])
        least = best - slack - 1e-9
        pools += [_sums(a, b, least) for a, b in pairs if a.values[0] + b.values[0] >= least]
        codes = np.concatenate([pool.codes for pool in pools])
        worth = np.concatenate([pool.values for pool in pools])
        codes, first = np.unique(codes[worth >= least], return_index=True)
        worth = worth[worth >= least][first]
        kept = np.lexsort((codes, -np.round(worth, 9)))[:KEPT]
        return _Mixes(codes[kept], worth[kept])

    def _tree(self, code: int, cell: _Cell) -> Tree | None:
        """Return a cutting of a rectangle that gives exactly this mix; None for an empty one."""
        if not code:
            return None
        ix, iy = cell
        while ix > 1 and code in self._cells[ix - 1, iy].known:
            ix -= 1
        while iy > 1 and code in self._cells[ix, iy - 1].known:
            iy -= 1
        for leaf in self._leaves.get((ix, iy), ()):
            if _code(leaf) == code:
                return leaf
        for axis, a, b in self._halves((ix, iy)):
            others = self._cells[b].known
            one = next((one for one in self._cells[a].known if code - one in others), None)
            if one is not None:
                return join(axis, self._tree(one, a), self._tree(code - one, b))
        raise LookupError("this mix does not come from the sheet")


def _code(leaf: Leaf) -> int:
    return 1 << (8 * leaf.part)


def _sums(one: _Mixes, other: _Mixes, least: float) -> _Mixes:
    worth = (one.values[:, None] + other.values[None, :]).ravel()
    enough = worth >= least
    codes = (one.codes[:, None] + other.codes[None, :]).ravel()
    return _Mixes(codes[enough], worth[enough])


def _reduced(points: NDArray[np.int64], limit: int) -> NDArray[np.int64]:
    """Return those points that also count from the other end of the sheet."""
    mirrored = np.searchsorted(points, limit - points, side="right") - 1
    return np.unique(points[mirrored])


def _cuts(points: NDArray[np.int64]) -> list[list[tuple[int, int]]]:
    """Return for every point the cuts worth trying, as pairs of points that they leave."""
    found: list[list[tuple[int, int]]] = []
    for at, point in enumerate(points):
        ones = np.arange(1, int(np.searchsorted(points, point // 2, side="right")))
        rest = np.searchsorted(points, point - points[ones], side="right") - 1
        pairs = zip(ones.tolist(), rest.tolist(), strict=True)
        found.append([(one, other) for one, other in pairs if one < at and other > 0])
    return found
