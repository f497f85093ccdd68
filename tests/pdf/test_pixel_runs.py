"""Runs stand for the pixels that they were made of, whole and in every window."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from examples_kit import few
from inkaccord.pdf.pdfium import _rows
from inkaccord.pdf.pixel_runs import PixelRuns

SIZES = st.tuples(st.integers(1, 12), st.integers(1, 9))


@few(60)
@given(SIZES, st.integers(1, 3), st.integers(0, 999), st.lists(st.integers(0, 12), min_size=4))
def test_runs_are_the_pixels(
    size: tuple[int, int], numbers: int, seed: int, corners: list[int]
) -> None:
    dice = np.random.default_rng(seed)
    pixels = dice.integers(0, numbers, size).astype(np.uint32)
    pixels = np.repeat(pixels, dice.integers(1, 4, size[0]), axis=0)
    height, width = pixels.shape
    told = _rows(memoryview(pixels.tobytes()), 4 * width)
    rows = np.frombuffer(told["pixels"], np.uint32).reshape(-1, width)
    assert len(rows) == 1 + np.count_nonzero((pixels[1:] != pixels[:-1]).any(axis=1))
    runs = PixelRuns.of(rows, np.array(told["repeats"], np.intp))
    assert runs.shape == pixels.shape
    assert np.array_equal(runs.pixels(), pixels)
    top, bottom = sorted(min(at, height) for at in corners[:2])
    left, right = sorted(min(at, width) for at in corners[2:4])
    window = slice(top, bottom), slice(left, right)
    expected = np.bincount(pixels[window].ravel(), minlength=numbers + 1)
    assert np.array_equal(runs.counts(*window, numbers + 1), expected)
