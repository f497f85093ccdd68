"""Gradients that mix process inks and spots in one colour space (DeviceN).

Layout programs write them. Their process inks are a CMYK gradient by themselves, swapped as one;
the spots run on beside them, or become builds that are added.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from inkaccord.artwork.kept_inks import kept_of
from inkaccord.artwork.lines import mixture
from inkaccord.artwork.recolouring.conversion import (
    Conversion,
    MixedKindsError,
    Ramp,
    convert_ramp,
)
from inkaccord.artwork.recolouring.stops import traced
from inkaccord.artwork.swap_table import Mapped, SwapTable
from inkaccord.colour.paints import PaintKind
from inkaccord.pdf.colours.ramps import Stop
from inkaccord.pdf.colours.sections import Numbers, Section, clipped, flat, together
from inkaccord.pdf.colours.spaces import (
    DEVICE,
    PROCESS_INKS,
    Space,
    SpaceKind,
    device_numbers,
)

Mixtures = Callable[[Space, tuple[str, ...]], Space | None]
"""Gives the space of inks of some names that look as in another; None where that can't be told."""
_CMYK = DEVICE[SpaceKind.CMYK]


def process_part(space: Space, numbers: Numbers) -> Numbers:
    """Return the process inks of a colour in several inks as CMYK; those that it lacks are 0."""
    inks = dict(zip(space.colorants, numbers, strict=True))
    return tuple(inks.get(name, 0.0) for name in PROCESS_INKS)


def convert_inks(
    table: SwapTable, space: Space, sections: Sequence[Section], mixtures: Mixtures
) -> Ramp | None:
    """Swap a gradient in several inks; None if nothing is swapped, or can be.

    Spots that become process colour are added to its process inks; those that stay run on beside
    them. ``mixtures`` gives the space of the inks that it then has. Raises MixedKindsError.
    """
    process = [_through(one, lambda numbers: process_part(space, numbers)) for one in sections]
    ramp = convert_ramp(table, _CMYK, process)
    gone = _gone(table, space)
    if ramp is not None and ramp.conversion.space is not _CMYK:
        raise MixedKindsError("its process inks would become another kind of colour")
    if not gone and ramp is None:
        return None
    base = process if ramp is None else [one for run in ramp.runs for one in _pieces(run)]
    joined = together([base, list(sections)])
    kept = kept_of(space.colorants, gone)

    def whole(numbers: Numbers) -> Numbers:
        new, old = numbers[:4], dict(zip(space.colorants, numbers[4:], strict=True))
        return (*_added(table, gone, new, old), *(old[name] for name in kept))

    sums = [_through(one, whole) for one in joined]
    traces = list(traced(list(clipped(sums, _full))))
    needed = [
        ink
        for at, ink in enumerate(PROCESS_INKS)
        if ink in space.colorants or any(one.colour[at] > 0 for run in traces for one in run)
    ]
    target: Space | None = _CMYK
    if not gone and {*needed} <= {*space.colorants}:
        target = space
    elif kept:
        target = mixtures(space, (*needed, *kept))
    if target is None:
        return None
    places = {name: at for at, name in enumerate((*PROCESS_INKS, *kept))}
    columns = [places.get(name) for name in target.colorants or PROCESS_INKS]
    runs = [
        [(one.place, tuple(0.0 if at is None else one.colour[at] for at in columns)) for one in run]
        for run in traces
    ]
    used = list(ramp.conversion.used) if ramp is not None else []
    used += [Mapped(table.swaps[swap].new, swap) for swap in gone.values()]
    numbers = [colour for run in runs for _, colour in run]
    return Ramp(runs, Conversion(target, numbers, used))


def _gone(table: SwapTable, space: Space) -> dict[str, int]:
    """Return the swaps of a space's spots that become process colour."""
    gone = table.gone(space.colorants)
    found = {name: table.whole_spots[name] for name in space.colorants if name in gone}
    if any(table.swaps[swap].new.kind is not PaintKind.CMYK for swap in found.values()):
        raise MixedKindsError("its spots become another kind of colour than its process inks")
    return found


def _added(
    table: SwapTable, gone: Mapping[str, int], process: Numbers, old: Mapping[str, float]
) -> Numbers:
    total = list(process)
    for name, swap in gone.items():
        if old[name] > 0:
            build = table.swaps[swap].build_at(100 * min(old[name], 1.0), table.tints)
            total = [a + b for a, b in zip(total, device_numbers(build), strict=True)]
    return tuple(total)


def _full(inks: Numbers) -> Numbers:
    """Return inks of which none is more than all."""
    return tuple(min(ink, 1.0) for ink in inks)


def _through(section: Section, change: Callable[[Numbers], Numbers]) -> Section:
    curve = section.curve
    return replace(section, curve=lambda place: change(curve(place)))


def _pieces(run: Sequence[Stop]) -> list[Section]:
    """Return a run of stops as straight sections; one stop alone as one without a width."""
    if len(run) == 1:
        return [flat(run[0][0], run[0][0], run[0][1])]
    return [_straight(one, other) for one, other in pairwise(run) if other[0] > one[0]]


def _straight(one: Stop, other: Stop) -> Section:
    (low, first), (high, last) = one, other
    return Section(low, high, lambda place: mixture((place - low) / (high - low), first, last))
