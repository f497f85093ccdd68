"""Every useful mix of parts that straight cuts can take from one sheet, for small cases.

'Useful' means maximal: no part could be added by cutting otherwise. With all of them at hand
the number of sheets can be settled for good, not only bounded.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkaccord.layout.guillotine import Leaf, Part, Tree, cut_points, join
from inkaccord.layout.model import Axis

Mixes = NDArray[np.int16]
"""Copies of each part, shape (mixes, parts)."""


BLOCK = 32
"""How many mixes are compared with all others at once."""


class TooManyMixesError(Exception):
    """There are more mixes than the allowed work can list."""


class Catalogue:
    """All maximal mixes of one sheet, and how to cut each.

    Parameters
    ----------
    parts, width, height
        As for :class:`inkaccord.layout.guillotine.Cutter`.
    limits
        The most copies of each part that are of use on one sheet.
    work
        Bound on the sums of mixes that are looked at. Raises TooManyMixesError beyond.
    """

    def __init__(
        self,
        parts: Sequence[Part],
        width: int,
        height: int,
        limits: Sequence[int],
        *,
        work: int = 600_000,
    ) -> None:
        self._limits = np.array(limits, dtype=np.int16)
        ways = [
            (i, w, h, turned)
            for i, part in enumerate(parts)
            for w, h, turned in part.ways()
            if w <= width and h <= height
        ]
        across = cut_points([w for _, w, _, _ in ways], width, at_most=200)
        upward = cut_points([h for _, _, h, _ in ways], height, at_most=200)
        if across is None or upward is None:
            raise TooManyMixesError
        self._x, self._y = across, upward
        self._ways = [
            (i, turned, int(np.searchsorted(across, w)), int(np.searchsorted(upward, h)))
            for i, w, h, turned in ways
        ]
        self._parts = len(parts)
        self._left = work
        self._cells: dict[tuple[int, int], Mixes] = {}
        for ix in range(len(across)):
            for iy in range(len(upward)):
                self._cells[ix, iy] = self._mixes(ix, iy)
        self.mixes = self._cells[len(across) - 1, len(upward) - 1]

    def _cuts(self, ix: int, iy: int) -> list[tuple[Axis, tuple[int, int], tuple[int, int]]]:
        found: list[tuple[Axis, tuple[int, int], tuple[int, int]]] = []
        for points, at, axis in ((self._x, ix, Axis.UPRIGHT), (self._y, iy, Axis.LEVEL)):
            for k in range(1, int(np.searchsorted(points, points[at] // 2, side="right"))):
                rest = int(np.searchsorted(points, points[at] - points[k], side="right")) - 1
                if k < at and rest > 0:
                    pair = ((k, iy), (rest, iy)) if axis is Axis.UPRIGHT else ((ix, k), (ix, rest))
                    found.append((axis, *pair))
        return found

    def _mixes(self, ix: int, iy: int) -> Mixes:
        if not (ix and iy):
            return np.zeros((1, self._parts), dtype=np.int16)
        pools = [self._cells[ix - 1, iy], self._cells[ix, iy - 1]]
        for part, _, wx, wy in self._ways:
            if wx == ix and wy == iy:
                one = np.zeros((1, self._parts), dtype=np.int16)
                one[0, part] = min(1, self._limits[part])
                pools.append(one)
        for _, first, second in self._cuts(ix, iy):
            a, b = self._cells[first], self._cells[second]
            self._left -= len(a) * len(b)
            if self._left < 0:
                raise TooManyMixesError
            sums = (a[:, None, :] + b[None, :, :]).reshape(-1, self._parts)
            pools.append(_maximal(np.minimum(sums, self._limits)))
        mixes = _maximal(np.concatenate(pools))
        self._left -= len(mixes)
        return mixes

    def tree(self, mix: Sequence[int]) -> Tree | None:
        """Return a cutting that gives exactly these copies, or None for none at all."""
        wanted = np.array(mix, dtype=np.int16)
        return self._trace(wanted, len(self._x) - 1, len(self._y) - 1)

    def _trace(self, wanted: Mixes, ix: int, iy: int) -> Tree | None:
        if not wanted.any():
            return None
        while ix > 1 and _covers(self._cells[ix - 1, iy], wanted):
            ix -= 1
        while iy > 1 and _covers(self._cells[ix, iy - 1], wanted):
            iy -= 1
        if wanted.sum() == 1:
            part = int(np.argmax(wanted))
            fitting = [t for i, t, wx, wy in self._ways if i == part and wx <= ix and wy <= iy]
            if fitting:
                return Leaf(part, min(fitting))
        for axis, first, second in self._cuts(ix, iy):
            for mix in self._cells[first]:
                one = np.minimum(mix, wanted)
                if _covers(self._cells[second], wanted - one):
                    return join(axis, self._trace(one, *first), self._trace(wanted - one, *second))
        raise LookupError("this mix does not come from the sheet")


def _covers(mixes: Mixes, wanted: Mixes) -> bool:
    return bool((mixes >= wanted).all(axis=1).any())


def _maximal(mixes: Mixes) -> Mixes:
    """Return the mixes of which none lies under another, in a fixed order."""
    packed = _packed(mixes)
    first = np.lexsort(packed.words)
    fresh = np.ones(len(first), dtype=bool)
    fresh[1:] = np.any(packed.words[:, first[1:]] != packed.words[:, first[:-1]], axis=0)
    mixes = mixes[first[fresh]]
    if len(mixes) > 6000:
        raise TooManyMixesError
    # Whatever lies over a mix has more copies than it, so it comes before it.
    mixes = mixes[np.lexsort((*mixes.T[::-1], -mixes.sum(axis=1)))]
    packed = _packed(mixes)
    left = np.arange(len(mixes))
    kept: list[NDArray[np.intp]] = []
    while len(left):
        head, left = left[:BLOCK], left[BLOCK:]
        head = head[~np.triu(packed.over(head, head), 1).any(axis=0)]
        left = left[~packed.over(head, left).any(axis=0)]
        kept.append(head)
    return mixes[np.concatenate(kept)]


@dataclass(frozen=True)
class _Packed:
    """Mixes with several counts in each 64-bit word, so that one subtraction compares them all.

    Each count has a lane whose highest bit it leaves free. Where that bit is set before a count is
    taken from another, it stays set exactly if the count is not the larger of the two.
    """

    words: NDArray[np.uint64]
    """Shape (words, mixes)."""
    high: np.uint64
    """The highest bit of every lane."""

    def over(self, one: NDArray[np.intp], other: NDArray[np.intp]) -> NDArray[np.bool_]:
        """Tell which of some mixes have no fewer of any part than which of others."""
        found = np.ones((len(one), len(other)), dtype=bool)
        for word in self.words:
            rest = (word[one] | self.high)[:, None] - word[other][None, :]
            found &= (rest & self.high) == self.high
        return found


def _packed(mixes: Mixes) -> _Packed:
    lane = np.dtype(np.uint8 if mixes.max(initial=0) < 128 else np.uint16)
    lanes = 8 // lane.itemsize
    high = sum(1 << (8 * lane.itemsize * (n + 1) - 1) for n in range(lanes))
    count, parts = mixes.shape
    padded = np.zeros((count, -(-parts // lanes) * lanes), dtype=lane)
    padded[:, :parts] = mixes
    return _Packed(np.ascontiguousarray(padded.view(np.uint64).T), np.uint64(high))
