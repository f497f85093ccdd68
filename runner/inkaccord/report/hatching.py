"""Finishes in pictures: hatched and outlined in grey, since no screen colour is what they are."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkaccord.words import joined

_STEP = 7
"""Pixels from one line of a hatch to the next."""
_DASH = 4
_DARK, _LIGHT = 70, 225
"""Greys for the lines, on a light and on a dark ground."""
_MIDDLE = 118
_INKED = 200
"""A pixel of a plate's picture that is darker than this is covered by it."""


@dataclass(frozen=True)
class ShownFinish:
    """A finish of a piece, as its picture is to show it."""

    name: str
    what: str
    """Its kind in words."""
    plates: tuple[str, ...]
    prints: bool
    under_ink: bool = False
    """Whether it is the white that lies under all ink on the stock."""

    @property
    def in_words(self) -> str:
        """Its name, and what it is where that says more: ``gold (foil)``."""
        return self.name if self.name == self.what else f"{self.name} ({self.what})"


def legend(finishes: Sequence[ShownFinish]) -> str:
    """Return what the lines in a picture mean; "" where there are none."""
    kinds = (("hatched", True), ("dashed", False))
    told = [
        f"{word}: {joined([it.in_words for it in finishes if it.prints is prints])}"
        for word, prints in kinds
        if any(it.prints is prints for it in finishes)
    ]
    return "; ".join(told)


def hatched(
    picture: NDArray[np.uint8], plate: NDArray[np.uint8], number: int, *, dashed: bool
) -> NDArray[np.uint8]:
    """Return a picture, (height, width, 3), with lines where a plate is.

    Parameters
    ----------
    plate
        (height, width), the plate in black on white.
    number
        Which of the picture's finishes it is, from 0: each has another slant.
    dashed
        Whether it is made of lines itself, which are then dashed.
    """
    covered = plate < _INKED
    rows, columns = np.indices(covered.shape)
    if dashed:
        lines = covered & ((rows + columns) // _DASH % 2 == 0)
    else:
        slant = (rows + columns, rows - columns, rows, columns)[number % 4]
        inner = covered.copy()
        for axis in (0, 1):
            for step in (1, -1):
                inner &= np.roll(covered, step, axis)
        lines = covered & ((slant % _STEP == 0) | ~inner)
    ground = picture.mean(axis=2)
    grey = np.where(ground > _MIDDLE, _DARK, _LIGHT).astype(np.uint8)
    return np.where(lines[..., None], grey[..., None], picture)
