"""The mean colour of every swatch of a squared page, dust and scratches left out."""

from dataclasses import dataclass

import numpy as np

from inkaccord.colour.arrays import Array
from inkaccord.sheets.model import SampleSheet
from inkaccord.sheets.scan.squaring import Squared
from inkaccord.units import PT_PER_MM

_INSET = 0.18
"""Share of a swatch's sides left out at each edge, where blur and misregister lie."""
_BLOCKS = 8
"""A swatch is cut into this many blocks each way; a block is averaged before it is judged, so
that the dots of a screen are not taken for dirt."""
_FAR = 4.0
"""A block counts as dirt this many robust standard deviations from the median."""
_LEAST = 0.004
"""Robust standard deviation below which blocks are never told apart (one 8-bit step)."""


@dataclass(frozen=True, eq=False)
class Sampled:
    """Mean colours of swatches.

    Attributes
    ----------
    ids
        Swatch ids, n of them.
    linear
        (n, 3) RGB, 0 to 1, linear as by IEC 61966-2-1.
    uneven
        (n,) standard deviation of the blocks that were kept, as a share of their mean.
    dropped
        (n,) share of blocks left out.
    clipped
        (n,) share of pixels at the very end of the scanner's range.
    """

    ids: tuple[str, ...]
    linear: Array
    uneven: Array
    dropped: Array
    clipped: Array


def sample_swatches(sheet: SampleSheet, squared: Squared) -> Sampled:
    """Return the mean colours of all swatches on a page."""
    swatches = [s for s in sheet.swatches if s.page == squared.page and s.box_pt is not None]
    rows = [sample_box(squared, s.box_pt) for s in swatches if s.box_pt is not None]
    return Sampled(
        ids=tuple(swatch.id for swatch in swatches),
        linear=np.array([row[0] for row in rows]).reshape(-1, 3),
        uneven=np.array([row[1] for row in rows]),
        dropped=np.array([row[2] for row in rows]),
        clipped=np.array([row[3] for row in rows]),
    )


def sample_box(
    squared: Squared, box_pt: tuple[float, float, float, float]
) -> tuple[Array, float, float, float]:
    """Return mean linear RGB, unevenness, share dropped and share clipped of one box (points)."""
    left, bottom, right, top = box_pt
    inset = _INSET * min(right - left, top - bottom)
    per_block = np.ceil(
        np.array([right - left, top - bottom]) / PT_PER_MM * squared.px_per_mm / _BLOCKS
    ).astype(int)
    across, up = np.clip(per_block, 2, 24) * _BLOCKS
    x = np.linspace(left + inset, right - inset, across)
    y = np.linspace(top - inset, bottom + inset, up)
    encoded = sample_points(squared, np.stack(np.meshgrid(x, y), axis=-1))
    clipped = float(((encoded < 0.5 / 255) | (encoded > 254.5 / 255)).any(axis=-1).mean())
    blocks = (
        linearised(encoded)
        .reshape(_BLOCKS, up // _BLOCKS, _BLOCKS, across // _BLOCKS, 3)
        .mean(axis=(1, 3))
        .reshape(-1, 3)
    )
    middle = np.median(blocks, axis=0)
    # judged as the eye would, not in linear light, where dark dirt hardly shows
    apart = np.abs(np.cbrt(blocks) - np.cbrt(middle)).max(axis=1)
    spread = max(1.4826 * float(np.median(apart)), _LEAST)
    kept = blocks[apart <= _FAR * spread]
    mean = kept.mean(axis=0)
    uneven = float((kept.std(axis=0) / np.maximum(mean, 0.02)).max())
    return mean, uneven, 1.0 - len(kept) / len(blocks), clipped


def sample_points(squared: Squared, points: Array) -> Array:
    """Return encoded RGB (h, w, 3), 0 to 1, of the picture at points (h, w, 2) of the sheet."""
    from scipy import ndimage  # noqa: PLC0415  (only scans need it)

    at = squared.pixels(points)
    pixels = squared.picture.pixels
    low = np.maximum(np.floor(at.min(axis=(0, 1))).astype(int) - 1, 0)
    high = np.ceil(at.max(axis=(0, 1))).astype(int) + 2
    window = pixels[low[1] : high[1], low[0] : high[0]]
    where = [at[..., 1] - low[1], at[..., 0] - low[0]]
    return np.stack(
        [
            ndimage.map_coordinates(
                window[..., channel], where, output=np.float64, order=1, mode="nearest"
            )
            / 255.0
            for channel in range(3)
        ],
        axis=-1,
    )


def linearised(encoded: Array) -> Array:
    """Return linear RGB of encoded RGB, 0 to 1 (IEC 61966-2-1), as scanners write it."""
    return np.where(encoded <= 0.04045, encoded / 12.92, ((encoded + 0.055) / 1.055) ** 2.4)
