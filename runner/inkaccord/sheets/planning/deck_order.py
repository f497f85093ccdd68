"""The order of swatches: by hue and lightness, so that a person finds a colour.

A page, or a few small pages together, is one slice of hue. On it the rows run from light to dark
and each row from muted to strong. Greys come first.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from inkaccord.colour.arrays import Array
from inkaccord.colour.sampling.even_set import Region
from inkaccord.errors import OrderError
from inkaccord.sheets.planning.placing import Capacity

GREYS = "Greys"
GREY_CHROMA = 8.0
"""Colours of a lower CIELAB chroma have hardly a hue. Common practice, no source."""
FIRST_HUE = 345.0
"""The hue angle at which the deck begins, between the purples and the reds."""
_SLICE = 64
"""About so many swatches share a slice of hue where pages are small."""

# Hue angles (CIELAB, degrees) up to which a word is used; from the looks of process inks and
# their overprints on white paper. Where one word ends is a matter of taste.
_WORDS = (
    (15.0, "pinks"),
    (48.0, "reds"),
    (76.0, "oranges"),
    (102.0, "yellows"),
    (132.0, "yellow greens"),
    (175.0, "greens"),
    (222.0, "blue greens"),
    (278.0, "blues"),
    (318.0, "violets"),
    (345.0, "purples"),
    (360.0, "pinks"),
)

HUE_WORDS = tuple(dict.fromkeys(word for _, word in _WORDS))
"""The words that name a range of hues."""


class HueSlice(NamedTuple):
    """Colours that stand together, as indices into the deck's colours, in reading order."""

    title: str
    members: tuple[int, ...]


def hue_word(hue: float) -> str:
    """Return what colours of a CIELAB hue angle in degrees are called."""
    return next(word for end, word in _WORDS if hue % 360.0 < end)


def hue_region(word: str) -> Region:
    """Return the part of the colour space that a word such as ``greens`` names.

    Raises OrderError that lists the words.
    """
    wanted = " ".join(word.lower().replace("-", " ").split()).removesuffix("s") + "s"
    ends = [end for end, one in _WORDS if one == wanted]
    if not ends:
        raise OrderError.of(
            "unknown-hue",
            f"{word!r} names no range of hues",
            hint="choose one of " + ", ".join(HUE_WORDS),
        )
    starts = [0.0, *(end for end, _ in _WORDS)]
    first = [starts[number] for number, (_, one) in enumerate(_WORDS) if one == wanted]
    # Pinks stand at both ends of the list: they go through 0.
    return Region(chroma=(GREY_CHROMA, 200.0), hue=(first[-1], ends[0]))


def deck_slices(lab: Array, room: Capacity) -> tuple[HueSlice, ...]:
    """Return the colours (n, 3) CIELAB of a deck as slices, each to start on a new page.

    The order depends on the colours alone, not on how they were listed.
    """
    chroma = np.hypot(lab[:, 1], lab[:, 2])
    hue = np.degrees(np.arctan2(lab[:, 2], lab[:, 1])) % 360.0
    listed = np.lexsort((lab[:, 2], lab[:, 1], lab[:, 0]))
    greys = listed[chroma[listed] < GREY_CHROMA]
    others = listed[chroma[listed] >= GREY_CHROMA]
    others = others[np.argsort((hue[others] - FIRST_HUE) % 360.0, kind="stable")]
    slices = []
    if len(greys):
        across = lab[:, 2]  # from cool to warm
        slices.append(HueSlice(GREYS, _reading_order(greys, lab[:, 0], across, room.columns)))
    pages_each = max(1, round(_SLICE / room.later))
    start = 0
    while start < len(others):
        first = room.later if slices else room.first
        size = (first + (pages_each - 1) * room.later) or room.later
        members = others[start : start + size]
        order = _reading_order(members, lab[:, 0], chroma, room.columns)
        slices.append(HueSlice(hue_title(lab[members]), order))
        start += size
    return tuple(slices)


def eye_order(lab: Array, columns: int) -> tuple[int, ...]:
    """Return the order in which the eye finds its way on a single page.

    Rows from light to dark; in a row greys first, then round the hues.
    """
    hue = (np.degrees(np.arctan2(lab[:, 2], lab[:, 1])) - FIRST_HUE) % 360.0
    across = np.where(np.hypot(lab[:, 1], lab[:, 2]) < GREY_CHROMA, -1.0, hue)
    return _reading_order(np.lexsort((across, -lab[:, 0])), lab[:, 0], across, columns)


def _reading_order(
    members: NDArray[np.intp], lightness: Array, across: Array, columns: int
) -> tuple[int, ...]:
    """Order rows from light to dark, and each row by ``across``."""
    falling = members[np.argsort(-lightness[members], kind="stable")]
    rows = [falling[at : at + columns] for at in range(0, len(falling), columns)]
    return tuple(int(one) for row in rows for one in row[np.argsort(across[row], kind="stable")])


def hue_title(lab: Array) -> str:
    """Return what a page with these colours (n, 3) is headed: words, range of hues, lightness."""
    if (np.hypot(lab[:, 1], lab[:, 2]) < GREY_CHROMA).all():
        return GREYS
    hue = np.degrees(np.arctan2(lab[:, 2], lab[:, 1])) % 360.0
    turn = (hue - FIRST_HUE) % 360.0
    first, last = (float(edge + FIRST_HUE) % 360.0 for edge in (turn.min(), turn.max()))
    words = list(dict.fromkeys(hue_word(one) for one in (hue[np.argsort(turn)])))
    light = f"L* {lab[:, 0].max():.0f} to {lab[:, 0].min():.0f}"
    return f"{_joined(words).capitalize()}, hue {first:.0f}° to {last:.0f}°, {light}"


def _joined(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{words[0]} to {words[-1]}"
