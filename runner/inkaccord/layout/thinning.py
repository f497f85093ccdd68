"""Copies that nobody ordered are left off the sheets, where whole places can stay empty."""

from collections.abc import Sequence
from dataclasses import replace

from inkaccord.layout.columns import Column
from inkaccord.layout.guillotine import Leaf, Split, Tree, counts, leaves

Chosen = Sequence[tuple[Column, int]]


def thinned(
    chosen: Chosen, demand: Sequence[int], yields: Sequence[int]
) -> tuple[tuple[Column, int], ...]:
    """Return layouts that print no place of a piece more than its quantity needs.

    A sheet's spare room is filled with whatever fits, so that a piece can come out twice as often
    as ordered without a sheet more. Every place that the quantity can do without is emptied, in
    the longest runs first. What stays over is less than one run of one place: it takes no paper,
    and another layout to print it on fewer sheets would take a set-up.

    Parameters
    ----------
    chosen
        Layouts and how many sheets are printed of each.
    demand
        Copies wanted of each part.
    yields
        By bed: the copies that each place gives.
    """
    kept = [it for it in sorted(chosen, key=lambda it: -it[1]) if it[1]]
    for part, wanted in enumerate(demand):
        spare = sum(column.copies[part] * run for column, run in kept) - wanted
        for at, (column, run) in enumerate(kept):
            each = yields[column.bed]
            places = min(spare // (run * each), column.copies[part] // each)
            kept[at] = _emptied(column, part, places, each), run
            spare -= places * run * each
        kept = [(column, run) for column, run in kept if any(column.copies)]
    return tuple(kept)


def _emptied(column: Column, part: int, places: int, each: int) -> Column:
    """Return a column with so many places of a part fewer, and no copies if none is left."""
    if not places:
        return column
    tree = _without(column.tree, part, places)
    copies = tuple(n * each for n in counts(tree, len(column.copies)))
    return replace(column, tree=tree or column.tree, copies=copies)


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
