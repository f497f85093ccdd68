"""Mixes that are worth nearly as much as the best: each can be cut, and no good one is missed."""

import itertools

from inkaccord.layout.guillotine import Cutter, Leaf, Part, counts
from inkaccord.layout.model import Axis
from inkaccord.layout.nearbest import KEPT, near_best

PARTS = [Part(5, 3, turned=True), Part(4, 4), Part(2, 7, turned=True)]
VALUES = [15.0, 16.0, 14.0]
WIDTH, HEIGHT = 13, 11


def size(tree):
    """Return width and height of what a tree cuts out."""
    if isinstance(tree, Leaf):
        part = PARTS[tree.part]
        return (part.height, part.width) if tree.turned else (part.width, part.height)
    widths, heights = zip(*map(size, tree.parts), strict=True)
    if tree.cut is Axis.UPRIGHT:
        return sum(widths), max(heights)
    return max(widths), sum(heights)


def listed(width, height, known={}):  # noqa: B006 - kept between calls
    """Return all mixes that straight cuts take from a rectangle, by trying every cut."""
    if (width, height) not in known:
        found = {(0, 0, 0)}
        for number, part in enumerate(PARTS):
            if any(w <= width and h <= height for w, h, _ in part.ways()):
                found.add(tuple(int(number == n) for n in range(3)))
        halves = [((a, height), (width - a, height)) for a in range(1, width // 2 + 1)]
        halves += [((width, b), (width, height - b)) for b in range(1, height // 2 + 1)]
        for one, other in halves:
            found |= {
                tuple(map(sum, zip(*pair, strict=True)))
                for pair in itertools.product(listed(*one), listed(*other))
            }
        known[width, height] = found
    return known[width, height]


def worth(mix):
    return sum(n * value for n, value in zip(mix, VALUES, strict=True))


def test_each_can_be_cut_and_none_that_is_worth_as_much_is_missed():
    trees = near_best(PARTS, WIDTH, HEIGHT, VALUES, slack=8.0)
    mixes = [counts(tree, 3) for tree in trees]
    best, _ = Cutter(PARTS, WIDTH, HEIGHT).best(VALUES)
    assert worth(mixes[0]) == best
    assert len(set(mixes)) == len(mixes) < KEPT
    for tree in trees:
        width, height = size(tree)
        assert width <= WIDTH
        assert height <= HEIGHT
    assert set(mixes) == {mix for mix in listed(WIDTH, HEIGHT) if worth(mix) >= best - 8}


def test_too_many_parts_or_copies_for_it_give_nothing():
    assert near_best([Part(2, 3 + n) for n in range(9)], 20, 20, [1.0] * 9, 1.0) == ()
    assert near_best([Part(1, 1)], 30, 30, [1.0], 1.0) == ()
