"""Gradients that a program wrote as a flight of steps: flat fills, each a little further on.

Office suites do: some 200 fills in a row, all of them mixtures of the first and the last. Such a
fill is no colour of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import chain, islice, pairwise

import numpy as np
from numpy.typing import NDArray

from inkaccord.artwork.lines import ON_LINE, apart, is_between, share_between
from inkaccord.pdf.colours.sections import Numbers

LEAST_COLOURS = 8
"""Fewer different colours in a row are no flight: a few swatches may be mixtures by chance."""
LEAST_WAY = 0.1
"""How far its ends lie apart at least, in one number."""
WIDEST_STEP = 0.25
"""How much of the way between the ends one step may take."""

_ROUNDED = 1e-9
"""Two ways of adding up the same numbers differ by less."""

SOON, LEAST_MOVE = 16, 0.003
"""After so many fills it has moved by so much: not even one step of 8 bits else."""


@dataclass(frozen=True, slots=True)
class Climb:
    """Colours in a row that lie on the line between two ends."""

    ends: tuple[Numbers, Numbers]
    colours: tuple[Numbers, ...]


def climbed(colours: Iterable[Numbers], end_of: Callable[[int, Numbers], Numbers]) -> Climb | None:
    """Return the flight that a row of colours begins with, as long as it can be.

    ``end_of`` says which colour was meant where a flight ends with a colour of the row.
    """
    ahead = iter(colours)
    soon = list(islice(ahead, SOON + 1))
    if _stand_still(soon):
        return None
    row = list(_straight_on(chain(soon, ahead), end_of))
    while len(set(row)) >= LEAST_COLOURS:
        ends = (end_of(0, row[0]), end_of(len(row) - 1, row[-1]))
        if all(is_between(colour, *ends) for colour in row):
            return Climb(ends, tuple(row)) if _climbs(ends, row) else None
        row.pop()
    return None


def may_begin(colours: Sequence[Numbers]) -> NDArray[np.intp]:
    """Return where in a row a flight may begin that ends with colours of the row: mostly nowhere.

    The second of its colours lies on the way from the first to the third. Where it does not,
    :func:`climbed` would find none either.
    """
    values = np.array(colours, float)
    first, second, third = values[:-2], values[1:-1], values[2:]
    way = third - first
    weight = np.einsum("ij,ij->i", way, way)
    share = np.einsum("ij,ij->i", second - first, way) / np.where(weight, weight, 1.0)
    on_way = first + np.clip(share, 0.0, 1.0)[:, None] * way
    off = np.abs(second - on_way).max(axis=1)
    return np.flatnonzero(off <= ON_LINE + _ROUNDED)


def _stand_still(soon: Sequence[Numbers]) -> bool:
    """Whether the first colours alone tell that there is no flight: most rows of fills are none."""
    return (
        len(soon) > SOON
        and apart(soon[0], soon[-1]) < LEAST_MOVE
        and all(apart(soon[0], colour) < LEAST_WAY / 2 for colour in soon)
    )


def _straight_on(
    colours: Iterable[Numbers], end_of: Callable[[int, Numbers], Numbers]
) -> Iterable[Numbers]:
    """Yield colours as long as some that came before lie on the way to them."""
    row: list[Numbers] = []
    for colour in colours:
        count = len(row)
        before = {count - 1, count // 2, count // 4, 1} if count > 1 else range(count)
        if any(not is_between(row[i], end_of(0, row[0]), colour) for i in before):
            return
        if count >= SOON and apart(row[count - SOON], colour) < LEAST_MOVE:
            return
        row.append(colour)
        yield colour


def _climbs(ends: tuple[Numbers, Numbers], row: Iterable[Numbers]) -> bool:
    shares = [0.0, *(share_between(colour, *ends)[0] for colour in row), 1.0]
    widest = max(b - a for a, b in pairwise(shares))
    return apart(*ends) >= LEAST_WAY and widest <= WIDEST_STEP
