"""Pixels told apart by numbers."""

from collections import Counter

import numpy as np
import pytest

from inkaccord.artwork.pixels import codes_of, commonest


@pytest.mark.parametrize(("kind", "channels"), [(np.uint8, 1), (np.uint8, 8), (np.uint16, 4)])
def test_numbers_sort_as_pixels_do_and_tell_all_of_them_apart(kind, channels):
    most = np.iinfo(kind).max
    rows = np.random.default_rng(1).choice([0, 1, most - 1, most], (300, channels)).astype(kind)
    codes = [int(it) for it in codes_of(rows)]
    pixels = [tuple(it) for it in rows.tolist()]
    assert len(set(codes)) == len(set(pixels))
    assert [pixels[codes.index(it)] for it in sorted(codes)] == sorted(pixels)


def test_the_commonest_is_what_most_pixels_are_and_of_several_the_lowest():
    rows = np.random.default_rng(2).integers(250, 256, (5000, 3), dtype=np.uint8)
    counts = Counter(map(tuple, rows.tolist()))
    most = max(counts.values())
    assert tuple(commonest(rows).tolist()) == min(it for it, n in counts.items() if n == most)
    assert commonest(np.array([[9, 0], [7, 5], [7, 4]], np.uint8)).tolist() == [7, 4]
