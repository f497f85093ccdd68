"""Pixels of a marker copy that are in no marker's colour: they count as what is nearest to them."""

from itertools import product

import numpy as np
from numpy.typing import NDArray

from inkaccord.pdf.pixel_runs import PixelRuns

_NEAR = sorted(
    product(range(-3, 4), repeat=2),
    key=lambda it: (it[0] ** 2 + it[1] ** 2, it[1], it[0]),
)[1:29]
"""All ways down and right of three pixels or less, the nearest first, then those to the left."""


def cleared(labels: PixelRuns, most: int) -> tuple[PixelRuns, float]:
    """Give pixels of no known label that of their nearest neighbour: renderers soften clips.

    Of neighbours as near it is the one farthest left, and of these the uppermost. Returns also
    which share of the pixels that was.
    """
    rows = labels.rows()
    odd = (rows > most).any(axis=1)
    # Equal rows with such pixels have other neighbours: each stands alone.
    alone = np.repeat(np.arange(len(rows)), np.where(odd, labels.repeats, 1))
    repeats = np.where(odd, 1, labels.repeats)[alone]
    rows = rows[alone]
    left, x = np.nonzero(rows > most)
    height, width = labels.shape
    share = len(left) / (height * width)
    kept_at = np.repeat(np.arange(len(rows)), repeats)
    y = (np.cumsum(repeats) - repeats)[left]
    pixels = rows.copy()
    for down, right in _NEAR if share < 1.0 else ():
        inside = (y + down >= 0) & (y + down < height) & (x + right >= 0) & (x + right < width)
        found = np.full(len(left), most + 1, rows.dtype)
        found[inside] = rows[kept_at[(y + down)[inside]], (x + right)[inside]]
        known = found <= most
        pixels[left[known], x[known]] = found[known]
        left, x, y = left[~known], x[~known], y[~known]
        if not len(left):
            break
    else:
        pixels, repeats = _from_anywhere(labels.pixels(), most), np.ones(height, np.intp)
    return PixelRuns.of(pixels, repeats), share


def _from_anywhere(labels: NDArray[np.uint32], most: int) -> NDArray[np.uint32]:
    """Do the same where the nearest neighbour may be anywhere, or nowhere."""
    odd = labels > most
    if odd.all():
        return np.zeros_like(labels)
    from scipy import ndimage  # noqa: PLC0415 - slow to load, seldom needed

    rows, columns = ndimage.distance_transform_edt(odd, return_distances=False, return_indices=True)
    return np.asarray(labels[rows, columns])
