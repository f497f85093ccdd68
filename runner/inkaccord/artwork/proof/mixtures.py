"""What spots look like among other inks: the others as before, with the new builds added."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import product
from typing import Any, NamedTuple

import pikepdf

from inkaccord.artwork.proof.gradient_space import WHITES, GradientSpace
from inkaccord.artwork.proof.ink_part import PLATES
from inkaccord.artwork.proof.shading_values import Numbers, UnreadableShadingError, evaluator
from inkaccord.artwork.swap_table import SwapTable
from inkaccord.colour.paints import Paint, PaintKind
from inkaccord.pdf.entries import BAD_OBJECT, entry, plain, word

MOST_INKS = 7
CLOSE = 1 / 255


class MixturePair(NamedTuple):
    """The space of several inks in both files, and where it stands."""

    old: Any
    new: Any
    path: str


def mixtures_in(old: Any, new: Any, path: str) -> Iterator[MixturePair]:
    """Yield the spaces of several inks in both files: one, a table's, or those of resources."""
    if isinstance(old, pikepdf.Dictionary) and isinstance(new, pikepdf.Dictionary):
        for name in sorted(set(old.keys()) & set(new.keys())):
            yield from mixtures_in(old[name], new[name], f"{path} {name[1:]}")
    elif isinstance(old, pikepdf.Array) and isinstance(new, pikepdf.Array):
        families = [word(one[0]) if len(one) > 1 else "" for one in (old, new)]
        if families == ["/DeviceN"] * 2:
            yield MixturePair(old, new, path)
        elif families[0] == families[1] and families[0] in ("/Indexed", "/Pattern"):
            yield from mixtures_in(old[1], new[1], path)


def mixture_differences(pairs: Sequence[MixturePair], table: SwapTable) -> Iterator[str]:
    """Say where inks together look otherwise than they are to, by none, half and all of each."""
    for pair in pairs:
        names = [plain(name) for name in pair.new[1]]
        swaps = {at: table.whole_spots[n] for at, n in enumerate(names) if n in table.whole_spots}
        same = names == [plain(name) for name in pair.old[1]]
        if not same or not swaps or len(names) > MOST_INKS:
            continue  # other inks are another colour: the inventory compares those
        try:
            yield from _off(pair, swaps, table)
        except (UnreadableShadingError, *BAD_OBJECT):
            yield f"{pair.path}: what its inks look like together can't be computed"


def _off(pair: MixturePair, swaps: dict[int, int], table: SwapTable) -> Iterator[str]:
    space = GradientSpace(pair.new[2], by_numbers=False)
    before, after = _before(pair, swaps, space), evaluator(pair.new[3])
    for point in product(*_levels(pair.new[3], len(pair.new[1]))):
        want = before(*(0.0 if at in swaps else v for at, v in enumerate(point)))
        for at, swap in swaps.items():
            paint = table.swaps[swap].build_at(100 * point[at], table.tints)
            want = _over(want, paint, space)
        have = after(*point)
        if max(abs(a - b) for a, b in zip(want, have, strict=True)) > CLOSE:
            yield f"{pair.path}: its inks at {point} do not give what was asked for"
            return


def _before(
    pair: MixturePair, swaps: dict[int, int], space: GradientSpace
) -> Callable[..., Numbers]:
    """Return how the other inks looked; told in another kind, the device's own as they are."""
    if GradientSpace(pair.old[2], by_numbers=False).key == space.key:
        return evaluator(pair.old[3])
    names = [plain(name) for name in pair.new[1]]
    others = {name for at, name in enumerate(names) if at not in swaps}
    if space.kind is not PaintKind.CMYK or others - {*PLATES, "None"}:
        raise UnreadableShadingError("a spot's look told in another kind of colour")
    return lambda *point: tuple(
        point[names.index(plate)] if plate in names else 0.0 for plate in PLATES
    )


def _levels(function: Any, count: int) -> list[list[float]]:
    """Return none, about half and all of each ink: where a table has samples, as there it is exact.

    Between them clipped sums run in straight lines, which no table of this size can follow.
    """
    sizes = [int(size) for size in entry(function, "/Size") or [3] * count]
    return [sorted({at / max(size - 1, 1) for at in (0, size // 2, size - 1)}) for size in sizes]


def _over(under: Numbers, paint: Paint, space: GradientSpace) -> Numbers:
    """Return inks under one more build: CMYK adds up, what a light is made of is taken away."""
    numbers = space.numbers(paint)
    if numbers is None or space.kind not in WHITES:
        raise UnreadableShadingError("a build of another kind than its space")
    if space.kind is PaintKind.CMYK:
        return tuple(min(a + b, 1.0) for a, b in zip(under, numbers, strict=True))
    return tuple(a * b for a, b in zip(under, numbers, strict=True))
