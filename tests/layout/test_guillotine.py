import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inkaccord.layout.guillotine import Cutter, Leaf, Part, Split, Tree, counts, cut_points
from inkaccord.layout.model import Axis
from inkaccord.layout.patterns import Catalogue, TooManyMixesError

SIDES = st.integers(1, 9)
FEW = st.lists(st.tuples(SIDES, SIDES, st.booleans()), min_size=1, max_size=3)
PARTS = st.lists(st.tuples(SIDES, SIDES, st.booleans()), min_size=1, max_size=4)


def extent(tree: Tree, parts: list[Part]) -> tuple[int, int]:
    """Return the width and height that a tree needs."""
    if isinstance(tree, Leaf):
        size = parts[tree.part].width, parts[tree.part].height
        return size[::-1] if tree.turned else size
    sizes = [extent(part, parts) for part in tree.parts]
    widths, heights = zip(*sizes, strict=True)
    if tree.cut is Axis.UPRIGHT:
        return sum(widths), max(heights)
    return max(widths), sum(heights)


def every_cutting(parts: list[Part], values: list[int], width: int, height: int) -> int:
    """Return the best value by trying every whole-number cut: slow, and plainly right."""
    best = np.zeros((width + 1, height + 1), dtype=int)
    for x, y in itertools.product(range(width + 1), range(height + 1)):
        single = [
            value
            for part, value in zip(parts, values, strict=True)
            for w, h, _ in part.ways()
            if w <= x and h <= y
        ]
        upright = [best[a, y] + best[x - a, y] for a in range(1, x)]
        level = [best[x, b] + best[x, y - b] for b in range(1, y)]
        best[x, y] = max([0, *single, *upright, *level])
    return int(best[width, height])


@settings(max_examples=60, deadline=None)
@given(PARTS, st.integers(1, 22), st.integers(1, 22), st.data())
def test_best_is_what_trying_everything_finds(
    shapes: list[tuple[int, int, bool]], width: int, height: int, data: st.DataObject
) -> None:
    parts = [Part(w, h, turned=turned) for w, h, turned in shapes]
    values = [data.draw(st.integers(1, 20)) for _ in parts]

    value, tree = Cutter(parts, width, height).best([float(v) for v in values])

    assert value == every_cutting(parts, values, width, height)
    taken = counts(tree, len(parts))
    assert sum(n * v for n, v in zip(taken, values, strict=True)) == value
    if tree is not None:
        across, up = extent(tree, parts)
        assert across <= width
        assert up <= height


@settings(max_examples=20, deadline=None)
@given(FEW, st.integers(1, 12), st.integers(1, 12), st.data())
def test_catalogue_holds_the_best_mix_for_any_values(
    shapes: list[tuple[int, int, bool]], width: int, height: int, data: st.DataObject
) -> None:
    parts = [Part(w, h, turned=turned) for w, h, turned in shapes]
    values = [data.draw(st.integers(1, 20)) for _ in parts]
    most = [width * height] * len(parts)

    catalogue = Catalogue(parts, width, height, most)

    best = max(int(mix @ values) for mix in catalogue.mixes)
    assert best == every_cutting(parts, values, width, height)
    for mix in catalogue.mixes.tolist():
        tree = catalogue.tree(mix)
        assert list(counts(tree, len(parts))) == mix
        if tree is not None:
            across, up = extent(tree, parts)
            assert across <= width
            assert up <= height


def test_catalogue_keeps_to_limits() -> None:
    catalogue = Catalogue([Part(1, 1), Part(2, 1)], 4, 1, [1, 1])

    assert catalogue.mixes.tolist() == [[1, 1]]
    with pytest.raises(LookupError):
        catalogue.tree([4, 4])


def test_catalogue_gives_up_in_bounds() -> None:
    parts = [Part(n, n + 1, turned=True) for n in range(2, 9)]
    with pytest.raises(TooManyMixesError):
        Catalogue(parts, 60, 60, [50] * len(parts), work=10_000)


def test_fewer_changes_of_direction_are_preferred() -> None:
    _, tree = Cutter([Part(2, 3)], 6, 6).best([1.0])

    assert isinstance(tree, Split)
    assert len(tree.parts) in {2, 3}
    assert all(isinstance(part, Split) and part.cut is not tree.cut for part in tree.parts)


def test_cut_points() -> None:
    points = cut_points([3, 5], 11, at_most=100)

    assert points is not None
    assert points.tolist() == [0, 3, 5, 6, 8, 9, 10, 11]
    assert cut_points([3, 5], 1000, at_most=100) is None
    with pytest.raises(ValueError, match="larger than nothing"):
        cut_points([0], 10, at_most=10)
