"""The order of swatches: in ranges that have a name, and in each so that the eye finds its way.

Greys come first, then round the hues. Within a range rows run from light to dark, and each row
from muted to strong or round the hues, whichever lets neighbours differ less.
"""

from collections.abc import Sequence
from itertools import groupby
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from inkaccord.colour.arrays import Array
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.sampling.ranges import FIRST_HUE, GREY_CHROMA, GREYS, range_word


class SetRange(NamedTuple):
    """Colours that stand together, as indices into the set's colours, in reading order."""

    title: str
    members: tuple[int, ...]


def set_ranges(lab: Array, columns: int) -> tuple[SetRange, ...]:
    """Return the colours (n, 3) CIELAB of a set by the ranges that words name, round the hues.

    The order depends on the colours alone, not on how they were listed.
    """
    words = [range_word(one) for one in lab]
    turns = np.array([_turn(one, word) for one, word in zip(lab, words, strict=True)])
    round_the_hues = np.lexsort((lab[:, 2], lab[:, 1], lab[:, 0], turns))
    return tuple(
        SetRange(word.capitalize(), range_order(np.array(list(members)), lab, columns))
        for word, members in groupby(round_the_hues, key=lambda one: words[one])
    )


def range_order(members: NDArray[np.intp], lab: Array, columns: int) -> tuple[int, ...]:
    """Return the members of one range, as indices into (n, 3) CIELAB, in reading order."""
    listed = members[np.lexsort(lab[members].T)]
    chroma = np.hypot(lab[:, 1], lab[:, 2])
    turn = np.array([_turn(one, "") for one in lab])
    # Greys have no hue worth an order: from cool to warm.
    across = (lab[:, 2],) if (chroma[members] < GREY_CHROMA).all() else (chroma, turn)
    ways = [_reading_order(listed, lab[:, 0], one, columns) for one in across]
    return min(ways, key=lambda way: walk(lab[list(way)], columns))


def walk(lab: Array, columns: int) -> float:
    """Return the sum of ΔE00 between swatches (n, 3) that are neighbours in rows of so many."""
    beside = delta_e_2000(lab[:-1], lab[1:])
    beside[columns - 1 :: columns] = 0.0  # from the end of a row to the next
    return float(beside.sum() + delta_e_2000(lab[:-columns], lab[columns:]).sum())


def eye_order(lab: Array, columns: int) -> tuple[int, ...]:
    """Return the order in which the eye finds its way among all hues on a single page.

    Rows from light to dark; in a row greys first, then round the hues.
    """
    across = np.array([_turn(one, range_word(one)) for one in lab])
    return _reading_order(np.lexsort((across, -lab[:, 0])), lab[:, 0], across, columns)


def _turn(lab: Array, word: str) -> float:
    """Return how far round the hues a colour stands, in degrees; greys stand before all."""
    if word == GREYS:
        return -1.0
    return float((np.degrees(np.arctan2(lab[2], lab[1])) - FIRST_HUE) % 360.0)


def _reading_order(
    members: NDArray[np.intp], lightness: Array, across: Array, columns: int
) -> tuple[int, ...]:
    """Order rows from light to dark, and each row by ``across``."""
    falling = members[np.argsort(-lightness[members], kind="stable")]
    rows = [falling[at : at + columns] for at in range(0, len(falling), columns)]
    return tuple(int(one) for row in rows for one in row[np.argsort(across[row], kind="stable")])


def titles_in_short(titles: Sequence[str]) -> str:
    """Return the head of a page that holds ranges with these titles."""
    return titles[0] if len(set(titles)) == 1 else f"{titles[0]} to {titles[-1].lower()}"
