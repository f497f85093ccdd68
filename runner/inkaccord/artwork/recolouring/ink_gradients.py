"""Gradients that mix process inks and spots in one colour space (DeviceN).

Layout programs write them. Their process inks are a CMYK gradient by themselves, swapped as one;
the spots run on beside them, or become builds that are added.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import pairwise

from inkaccord.artwork.lines import Numbers, mixture
from inkaccord.artwork.recolouring.conversion import (
    Conversion,
    MixedKindsError,
    Ramp,
    convert_ramp,
)
from inkaccord.artwork.recolouring.stops import traced
from inkaccord.artwork.swap_table import Mapped, SwapTable
from inkaccord.artwork.swaps import SpotMode
from inkaccord.colour.paints import PaintKind
from inkaccord.pdf.colours.ramps import Stop
from inkaccord.pdf.colours.sections import Section, together
from inkaccord.pdf.colours.spaces import (
    DEVICE,
    PROCESS_INKS,
    Space,
    SpaceKind,
    device_numbers,
)

_CMYK = DEVICE[SpaceKind.CMYK]


def process_part(space: Space, numbers: Numbers) -> Numbers:
    """Return the process inks of a colour in several inks as CMYK; those that it lacks are 0."""
    inks = dict(zip(space.colorants, numbers, strict=True))
    return tuple(inks.get(name, 0.0) for name in PROCESS_INKS)


def convert_inks(table: SwapTable, space: Space, sections: Sequence[Section]) -> Ramp | None:
    """Swap a gradient in several inks; None if nothing is swapped. Raises MixedKindsError."""
    process = [_through(one, lambda numbers: process_part(space, numbers)) for one in sections]
    ramp = convert_ramp(table, _CMYK, process)
    spots = _swapped_spots(table, space)
    if ramp is not None and ramp.conversion.space is not _CMYK:
        raise MixedKindsError("its process inks would become another kind of colour")
    if spots is None and ramp is None:
        return None
    if spots is None and not set(PROCESS_INKS) <= set(space.colorants):
        raise MixedKindsError(f"its inks are {', '.join(space.colorants)} alone")
    base = process if ramp is None else [one for run in ramp.runs for one in _pieces(run)]
    joined = together([base, list(sections)])
    target = space if spots is None else _CMYK

    def whole(numbers: Numbers) -> Numbers:
        new, old = numbers[:4], numbers[4:]
        if spots is None:
            inks = dict(zip(PROCESS_INKS, new, strict=True))
            return tuple(
                inks.get(name, before) for name, before in zip(space.colorants, old, strict=True)
            )
        return _added(table, space, spots, new, old)

    runs = [
        [(vertex.place, vertex.colour) for vertex in run]
        for run in traced([_through(one, whole) for one in joined], target)
    ]
    used = list(ramp.conversion.used) if ramp is not None else []
    used += [Mapped(table.swaps[swap].new, swap) for swap in (spots or {}).values()]
    numbers = [colour for run in runs for _, colour in run]
    return Ramp(runs, Conversion(target, numbers, used))


def _swapped_spots(table: SwapTable, space: Space) -> dict[str, int] | None:
    """Return the swaps of a space's spots if all of them become process colour, else None."""
    names = [name for name in space.colorants if name not in {*PROCESS_INKS, "None"}]
    if table.spots is not SpotMode.PROCESS or not names:
        return None
    if not all(name in table.whole_spots for name in names):
        return None
    found = {name: table.whole_spots[name] for name in names}
    if any(table.swaps[swap].new.kind is not PaintKind.CMYK for swap in found.values()):
        raise MixedKindsError("its spots become another kind of colour than its process inks")
    return found


def _added(
    table: SwapTable, space: Space, spots: dict[str, int], process: Numbers, old: Numbers
) -> Numbers:
    total = list(process)
    for name, tint in zip(space.colorants, old, strict=True):
        if name in spots and tint > 0:
            build = table.swaps[spots[name]].build_at(100 * min(tint, 1.0), table.tints)
            total = [a + b for a, b in zip(total, device_numbers(build), strict=True)]
    return tuple(min(max(value, 0.0), 1.0) for value in total)


def _through(section: Section, change: Callable[[Numbers], Numbers]) -> Section:
    curve = section.curve
    return replace(section, curve=lambda place: change(curve(place)))


def _pieces(run: Sequence[Stop]) -> list[Section]:
    """Return a run of stops as straight sections."""
    return [_straight(one, other) for one, other in pairwise(run) if other[0] > one[0]]


def _straight(one: Stop, other: Stop) -> Section:
    (low, first), (high, last) = one, other
    return Section(low, high, lambda place: mixture((place - low) / (high - low), first, last))
