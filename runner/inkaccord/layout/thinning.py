"""Copies that nobody ordered are left off the sheets, where whole places can stay empty."""

from collections.abc import Sequence
from dataclasses import replace

from inkaccord.layout.guillotine import Leaf, Split, Tree, counts, leaves
from inkaccord.layout.runs import Column


def thinned(
    chosen: Sequence[tuple[Column, int]], demand: Sequence[int], yields: Sequence[int]
) -> tuple[tuple[Column, int], ...]:
    """Return layouts that print no place of a piece more than its quantity needs.

    A sheet's spare room is filled with whatever fits, so that a piece can come out twice as often
    as ordered without a sheet more. Every place that the quantity can do without is emptied, in
    the longest runs first. What stays over is less than one run of one place: fewer copies would
    need another layout.

    Parameters
    ----------
    chosen
        Layouts and how many sheets are printed of each.
    demand
        Copies wanted of each part.
    yields
        By bed: the copies that each place gives.
    """
    spare = [
        sum(column.copies[part] * run for column, run in chosen) - wanted
        for part, wanted in enumerate(demand)
    ]
    kept = []
    for column, run in sorted(chosen, key=lambda it: -it[1]):
        tree: Tree | None = column.tree
        each = yields[column.bed]
        for part in range(len(demand)):
            places = min(spare[part] // (run * each), column.copies[part] // each)
            tree = _without(tree, part, places)
            spare[part] -= places * run * each
        if tree is not None:
            copies = tuple(n * each for n in counts(tree, len(demand)))
            kept.append((replace(column, tree=tree, copies=copies), run))
    return tuple(kept)


def _without(tree: Tree | None, part: int, places: int) -> Tree | None:
    """Return a tree without so many places of a part, those that are cut last; None if all go."""
    if tree is None or places == 0:
        return tree
    if isinstance(tree, Leaf):
        return None if tree.part == part else tree
    left: list[Tree] = []
    for inner in reversed(tree.parts):
        gone = min(places, sum(leaf.part == part for leaf in leaves(inner)))
        places -= gone
        thin = _without(inner, part, gone)
        if isinstance(thin, Split) and thin.cut is tree.cut:
            left.extend(reversed(thin.parts))
        elif thin is not None:
            left.append(thin)
    if len(left) < 2:
        return left[0] if left else None
    return Split(tree.cut, tuple(reversed(left)))
