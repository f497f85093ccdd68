"""What several inks look like together where some of them get new builds (DeviceN)."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from functools import cache
from itertools import product
from typing import Any

import pikepdf

from inkaccord.artwork.swap_table import SwapTable
from inkaccord.colour.paints import PaintKind
from inkaccord.pdf.colours.sections import Numbers
from inkaccord.pdf.colours.spaces import DEVICE, PROCESS_INKS, Space, SpaceKind, device_numbers
from inkaccord.pdf.entries import entry

GRID_OF_INKS = {1: 256, 2: 33, 3: 17, 4: 9, 5: 6, 6: 5, 7: 3}
"""Samples per colorant of a rewritten DeviceN transform."""

OWN_INKS = (*PROCESS_INKS, "None")
"""Inks that a device has itself, and the one that is none."""
_TOLD_IN = {
    SpaceKind.CMYK: "CMYK",
    SpaceKind.RGB: "RGB",
    SpaceKind.GRAY: "grey",
    SpaceKind.LAB: "CIELAB",
}
"""In what a mixture of inks says how it looks; else in a colour with a profile."""


def told_in(base: Space) -> str:
    """Return in what kind of colour a space says how its inks look, in words."""
    return _TOLD_IN.get(base.kind, "a colour with a profile")


def why_not(
    names: Sequence[str], strangers: Sequence[str], base: Space, kinds: Collection[PaintKind]
) -> str:
    """Return why what inks look like together can't be told anew, in words; empty where it can.

    Where other spots take part, it has to be told in the kind of colour of the new build already.
    """
    inks = " and ".join(names)
    if len(names) not in GRID_OF_INKS:
        return f"{len(names)} inks are mixed in one object ({inks}), more than can be told anew"
    if len(kinds) > 1:
        return f"{inks} are mixed in one object, and become builds of several kinds"
    kind = SpaceKind(min(kinds).value)
    if kind is base.kind and kind in DEVICE:
        return ""
    if kind is SpaceKind.CMYK and not strangers:
        return ""
    others = strangers or names
    look = "looks" if len(others) == 1 else "look"
    return (
        f"{inks} are mixed in one object, which says in {told_in(base)} what "
        f"{' and '.join(others)} {look} like: beside a build in {_TOLD_IN[kind]} that has no place"
    )


def own_inks(names: Sequence[str]) -> Callable[..., Numbers]:
    """Return the CMYK that the device's own inks among others are."""
    return lambda *point: tuple(
        point[names.index(ink)] if ink in names else 0.0 for ink in PROCESS_INKS
    )


def mixed_inks(
    table: SwapTable, names: Sequence[str], others: Callable[..., Numbers], swaps: Mapping[int, int]
) -> Iterator[Numbers]:
    """Yield what inks together look like at each sample: the others as before, the swapped added.

    The first ink varies fastest. ``swaps`` says by its place among them which swap an ink has,
    ``others`` how those without look.
    """
    size = GRID_OF_INKS[len(names)]
    looks = cache(others)  # the same at each level of the swapped ones

    @cache
    def build_at(swap: int, share: float) -> tuple[PaintKind, Numbers]:
        new = table.swaps[swap].build_at(100 * share, table.tints)
        return new.kind, device_numbers(new)

    for turned in product([i / (size - 1) for i in range(size)], repeat=len(names)):
        point = turned[::-1]
        total = list(looks(*(0.0 if i in swaps else v for i, v in enumerate(point))))
        for position, swap in swaps.items():
            kind, numbers = build_at(swap, point[position])
            for index, value in enumerate(numbers):
                if kind is PaintKind.CMYK:
                    total[index] += value
                else:
                    total[index] *= value
        yield tuple(min(max(value, 0.0), 1.0) for value in total)


def forget_inks(attributes: Any, spots: Collection[str | None]) -> None:
    """Take spots that become process colour out of what is told of a space beside its inks."""
    gone = {f"/{name}" for name in spots}
    hints = entry(attributes, "/MixingHints")
    told = (
        entry(attributes, "/Colorants"),
        entry(hints, "/Solidities"),
        entry(hints, "/DotGain"),
    )
    for one in told:
        for name in gone & set(one.keys() if isinstance(one, pikepdf.Dictionary) else ()):
            del one[name]
    order = entry(hints, "/PrintingOrder")
    if isinstance(order, pikepdf.Array):
        hints["/PrintingOrder"] = pikepdf.Array([n for n in order if str(n) not in gone])
