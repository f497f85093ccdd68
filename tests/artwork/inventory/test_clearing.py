"""What stands for a pixel of no label, beside a search of every other pixel."""

import numpy as np
import pytest

from inkaccord.artwork.inventory.clearing import cleared
from inkaccord.pdf.pixel_runs import PixelRuns

MOST = 3


def nearest(pixels):
    """Return a raster in which every odd pixel is the nearest other, the farthest left of these."""
    known = np.argwhere(pixels <= MOST)
    found = pixels.copy()
    for row, column in np.argwhere(pixels > MOST):
        away = ((known - [row, column]) ** 2).sum(axis=1)
        _, right, down = min(
            (far, x, y) for far, (y, x) in zip(away.tolist(), known.tolist(), strict=True)
        )
        found[row, column] = pixels[down, right]
    return found


@pytest.mark.parametrize("share", [0.05, 0.4, 0.97])
def test_odd_pixels_are_what_is_nearest(share):
    dice = np.random.default_rng(round(100 * share))
    for _ in range(40):
        height, width = dice.integers(1, 16, 2)
        rows = dice.integers(0, MOST + 1, (height, width)).astype(np.uint32)
        rows[dice.random(rows.shape) < share] = MOST + 5
        rows[0, 0] = 1
        repeats = dice.integers(1, 4, height)
        pixels = np.repeat(rows, repeats, axis=0)
        found, odd = cleared(PixelRuns.of(rows, repeats), MOST)
        np.testing.assert_array_equal(found.pixels(), nearest(pixels))
        assert odd == np.mean(pixels > MOST)


def test_where_nothing_is_known_all_is_paper():
    rows = np.full((2, 3), MOST + 1, np.uint32)
    found, odd = cleared(PixelRuns.of(rows, np.array([1, 4])), MOST)
    assert odd == 1.0
    assert found.shape == (5, 3)
    assert not found.pixels().any()
