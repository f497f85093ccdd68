"""Whether two files look the same: exactly, or but for the edges of shapes."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import zip_longest

import numpy as np
from numpy.typing import NDArray

from inkaccord.pdf.ink_rendering import InkRaster, ink_pages
from inkaccord.pdf.rendering import page_pictures

DPI = 150.0
INK_DPI = 200.0
CLOSE = 66
"""Of 65535, 0.1 %: how far writing a number anew may move it."""


def looks_the_same(before: bytes, after: bytes) -> bool:
    """Whether PDFium draws every page of two files alike, to the pixel.

    Raises FileError when it can draw either of them not at all.
    """
    pairs = zip_longest(page_pictures(before, dpi=DPI), page_pictures(after, dpi=DPI))
    return all(
        one is not None and other is not None and np.array_equal(np.asarray(one), np.asarray(other))
        for one, other in pairs
    )


def strange_pixels(before: bytes, after: bytes) -> Iterator[tuple[int, int]]:
    """Yield page and number of the pixels whose ink stands nowhere near in the other file.

    On ink-exact renderings without smoothing. Near is within one pixel, so that the edges of
    shapes may move by one; and only spots of three by three such pixels count, since Ghostscript
    fills type by other rules than paths, and closes the smallest counters of outlined letters.

    Raises
    ------
    FileError
        When Ghostscript is missing or can't draw either file.
    """
    pairs = zip_longest(
        ink_pages(before, dpi=INK_DPI, bits=16), ink_pages(after, dpi=INK_DPI, bits=16)
    )
    for number, (one, other) in enumerate(pairs, start=1):
        if one is None or other is None or one.samples.shape != other.samples.shape:
            yield number, max(raster.samples[..., 0].size for raster in (one, other) if raster)
            continue
        strange = _heart(_lonely(one, other)) | _heart(_lonely(other, one))
        if strange.any():
            yield number, int(np.count_nonzero(strange))


def _lonely(one: InkRaster, other: InkRaster) -> NDArray[np.bool_]:
    """Return the pixels of ``one`` that no pixel of ``other`` near them is like."""
    here = one.samples.astype(np.int32)
    there = np.pad(other.samples.astype(np.int32), ((1, 1), (1, 1), (0, 0)), mode="edge")
    height, width = here.shape[:2]
    lonely = np.ones((height, width), np.bool_)
    for down in range(3):
        for across in range(3):
            near = there[down : down + height, across : across + width]
            lonely &= (np.abs(here - near) > CLOSE).any(axis=2)
    return lonely


def _heart(pixels: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return the pixels all of whose neighbours are among the pixels too."""
    around = np.pad(pixels, 1)
    height, width = pixels.shape
    kept = np.ones_like(pixels)
    for down in range(3):
        for across in range(3):
            kept &= around[down : down + height, across : across + width]
    return kept
