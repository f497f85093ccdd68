"""Swapping several colours that must stay together: tables, gradients, meshes, tint transforms."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

from inkaccord.artwork.ladders import Climb
from inkaccord.artwork.lines import ON_LINE, line_of, mixture, share_between
from inkaccord.artwork.recolouring.stops import Vertex, stretches, traced
from inkaccord.artwork.swaps import WHITE, Mapped, SwapTable, component_distance, mixed
from inkaccord.colour.paints import Paint, PaintKind
from inkaccord.pdf.colours.ramps import Stop
from inkaccord.pdf.colours.sections import Numbers, Section
from inkaccord.pdf.colours.spaces import DEVICE, Space, SpaceKind, device_numbers

TINT_STEPS = 16
"""Pieces into which a straight gradient is cut so that it follows a tint table."""


class MixedKindsError(ValueError):
    """Colours that share a colour space, of which only some were to leave it."""


@dataclass(frozen=True, slots=True)
class Conversion:
    """New numbers in a device space, and which swaps they came from."""

    space: Space
    numbers: list[Numbers]
    used: list[Mapped]


def convert(table: SwapTable, space: Space, colours: Sequence[Numbers]) -> Conversion | None:
    """Swap each colour by itself; None if none is swapped.

    Raises MixedKindsError when some colours must change their colour space and others can't.
    """
    mapped = [table.of(space.colour(one)) for one in colours]
    return joined(space, colours, mapped)


def joined(
    space: Space, colours: Sequence[Numbers], mapped: Sequence[Mapped | None]
) -> Conversion | None:
    """Return colours as what they become, beside each other; None if none changes.

    Raises MixedKindsError.
    """
    used = [one for one in mapped if one is not None]
    if not used:
        return None
    kinds = {one.paint.kind for one in used}
    if len(kinds) > 1:
        raise MixedKindsError("the new builds are of several kinds")
    kind = kinds.pop()
    new = [
        device_numbers(one.paint) if one is not None else device_numbers(_kept(space, old, kind))
        for old, one in zip(colours, mapped, strict=True)
    ]
    return Conversion(DEVICE[SpaceKind(kind.value)], new, used)


def _kept(space: Space, numbers: Numbers, kind: PaintKind) -> Paint:
    """Return an unswapped colour as a paint of ``kind``, which only paper white always has."""
    paint = space.colour(numbers).as_device()
    if paint is not None and paint.kind is kind and space.kind in DEVICE:
        return paint
    if paint is not None and (
        paint == WHITE.get(paint.kind) or (paint.kind is PaintKind.SPOT and paint.values[0] == 0)
    ):
        return WHITE[kind]
    raise MixedKindsError(f"{space.colour(numbers)} stays, but {kind} is wanted beside it")


@dataclass(frozen=True, slots=True)
class Ramp:
    """A gradient's new stops, in runs between which it jumps."""

    runs: list[list[Stop]]
    conversion: Conversion


def convert_ramp(table: SwapTable, space: Space, sections: Sequence[Section]) -> Ramp | None:
    """Swap a gradient: its stops decide, and what lies between stays between.

    A stretch between two stops is a mixture of their colours, so it becomes the same mixture of
    what they become; towards paper white it is a tint, and follows the swap's tint table. At a
    jump both colours are stops. None if nothing is swapped; raises MixedKindsError.
    """
    runs = [
        [
            point
            for number, part in enumerate(stretches(table, space, run))
            for point in _stretch(table, space, part)[1 if number else 0 :]
        ]
        for run in traced(sections, space)
    ]
    points = [point for run in runs for point in run]
    made = joined(space, [p.numbers for p in points], [p.mapped for p in points])
    if made is None:
        return None
    new = iter(made.numbers)
    return Ramp([[(point.place, next(new)) for point in run] for run in runs], made)


def convert_surface(
    table: SwapTable, space: Space, colours: Sequence[Numbers]
) -> Conversion | None:
    """Swap colours that a surface blends.

    One that lies on the line between two swapped colours of the surface is a mixture of them; and
    where all lie on one line, so is what lies between a swapped colour and the line's end.
    Raises MixedKindsError.
    """
    return joined(space, colours, mapped_surface(table, space, colours))


def mapped_surface(
    table: SwapTable, space: Space, colours: Sequence[Numbers]
) -> list[Mapped | None]:
    """Return what each colour of a surface becomes; see :func:`convert_surface`."""
    pairs = _pairs(table, space, colours)
    known = {one: table.of(space.colour(one)) for pair in pairs for one in pair}
    found = []
    for colour in colours:
        mapped = table.of(space.colour(colour))
        if mapped is None or mapped.tint != 100:
            for ends in pairs:
                share, off = share_between(colour, *ends)
                if off <= ON_LINE:
                    mapped = _between(table, space, [known[end] for end in ends], ends, share)
                    break
        found.append(mapped)
    return found


def mixtures(table: SwapTable, space: Space, climb: Climb) -> list[Mapped | None]:
    """Return what the steps of a ladder become. Raises MixedKindsError."""
    ends = [table.of(space.colour(end)) for end in climb.ends]
    found = [
        _between(table, space, ends, climb.ends, share_between(colour, *climb.ends)[0])
        for colour in climb.colours
    ]
    joined(space, climb.colours, found)
    return found


def _pairs(
    table: SwapTable, space: Space, colours: Sequence[Numbers]
) -> list[tuple[Numbers, Numbers]]:
    """Return the pairs of which others may be mixtures, those closest to each other first."""
    nearest: dict[int, tuple[float, Numbers]] = {}
    for one in dict.fromkeys(colours):
        colour = space.colour(one)
        mapped, paint = table.of(colour), colour.as_device()
        if mapped is not None and mapped.tint == 100:
            old = table.swaps[mapped.swap].old
            off = component_distance(paint, old) if paint is not None else 0.0
            nearest[mapped.swap] = min(nearest.get(mapped.swap, (off, one)), (off, one))
    known = dict.fromkeys([one for _, one in nearest.values()])
    known.update(dict.fromkeys(line_of(colours) or ()))
    swapped = {one for one in known if table.of(space.colour(one)) is not None}
    pairs = [pair for pair in combinations(known, 2) if swapped.intersection(pair)]
    return sorted(pairs, key=lambda pair: math.dist(*pair))


@dataclass(frozen=True, slots=True)
class _Point:
    place: float
    numbers: Numbers
    mapped: Mapped | None


def _stretch(table: SwapTable, space: Space, part: Sequence[Vertex]) -> list[_Point]:
    """Return what becomes of the vertices between two stops, all on the line between them."""
    first, last = part[0], part[-1]
    ends = [table.of(space.colour(first.colour)), table.of(space.colour(last.colour))]
    if ends == [None, None]:
        return [_Point(one.place, one.colour, None) for one in part]
    colours = (first.colour, last.colour)
    points = [(one.place, share_between(one.colour, *colours)[0]) for one in part]
    if len(part) == 2:
        points[1] = (last.place, 1.0)
    if _follows(table, ends, space, colours):
        points = _finer(points)
    return [
        _Point(place, mixture(share, *colours), _between(table, space, ends, colours, share))
        for place, share in points
    ]


def _finer(points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return places and shares with no step between them wider than a tint step."""
    found = [points[0]]
    for (place, share), (next_place, next_share) in pairwise(points):
        steps = max(math.ceil(abs(next_share - share) * TINT_STEPS - 1e-6), 1)
        found += [
            (place + (next_place - place) * i / steps, share + (next_share - share) * i / steps)
            for i in range(1, steps + 1)
        ]
    return found


def _follows(
    table: SwapTable,
    ends: Sequence[Mapped | None],
    space: Space,
    colours: tuple[Numbers, Numbers],
) -> bool:
    """Whether a stretch runs from a colour with a tint table towards a lighter tint of it."""
    tints = _tint_ends(ends, space, colours)
    return tints is not None and table.swaps[tints[0]].tints is not None


def _tint_ends(
    ends: Sequence[Mapped | None],
    space: Space,
    colours: tuple[Numbers, Numbers],
) -> tuple[int, float, float] | None:
    swaps = {end.swap for end in ends if end is not None}
    if len(swaps) != 1:
        return None
    tints = []
    for end, numbers in zip(ends, colours, strict=True):
        if end is not None:
            tints.append(end.tint)
        else:
            paint = space.colour(numbers).as_device()
            if paint is None or paint != WHITE.get(paint.kind):
                return None
            tints.append(0.0)
    return swaps.pop(), tints[0], tints[1]


def _between(
    table: SwapTable,
    space: Space,
    ends: Sequence[Mapped | None],
    colours: tuple[Numbers, Numbers],
    share: float,
) -> Mapped | None:
    tints = _tint_ends(ends, space, colours)
    if tints is not None:
        index, t0, t1 = tints
        tint = t0 + share * (t1 - t0)
        return Mapped(table.swaps[index].build_at(tint, table.tints), index, round(tint, 6))
    if share == 0:
        return ends[0]
    if share == 1:
        return ends[1]
    known = [end for end in ends if end is not None]
    kind = known[0].paint.kind
    paints = [
        end.paint if end is not None else _kept(space, numbers, kind)
        for end, numbers in zip(ends, colours, strict=True)
    ]
    if paints[0].kind is not paints[1].kind:
        raise MixedKindsError("a gradient whose ends become builds of two kinds")
    blend = mixed(((1 - share, paints[0]), (share, paints[1])), kind)
    return Mapped(blend, known[0].swap, 0.0)
