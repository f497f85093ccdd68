"""Swapping several colours that must stay together: tables, gradients, meshes, tint transforms."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from inkaccord.artwork.swaps import WHITE, Mapped, SwapTable, mixed
from inkaccord.colour.paints import Paint, PaintKind
from inkaccord.pdf.colours.functions import Function, Numbers
from inkaccord.pdf.colours.spaces import DEVICE, Space, SpaceKind, device_numbers

ON_LINE = 0.012
"""How far a sample may lie off the straight line between two ends: rounding to 8 bits and more."""
MOST_SEGMENTS = 64
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
    return _joined(space, colours, mapped)


def _joined(
    space: Space, colours: Sequence[Numbers], mapped: Sequence[Mapped | None]
) -> Conversion | None:
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
    """A gradient's new stops."""

    stops: list[float]
    conversion: Conversion


def convert_ramp(
    table: SwapTable, space: Space, function: Function, span: tuple[float, float]
) -> Ramp | None:
    """Swap a gradient: its end colours decide, and what lies between stays between.

    A stretch between two colours is a mixture of its ends, so it becomes the same mixture of
    what the ends become; towards paper white it is a tint, and follows the swap's tint table.
    None if nothing is swapped; raises MixedKindsError.
    """
    coarse = function.stops(*span)
    fine = function.fine_stops(*span)
    if function.kind == 0 or len(coarse) > MOST_SEGMENTS:
        coarse = (span[0], span[1])
    stops: list[float] = []
    points: list[_Point] = []
    for a, b in pairwise(coarse):
        piece = _segment(table, space, function, [a, *[t for t in fine if a < t < b], b])
        if piece is None:  # no mixture of its ends: each sample for itself
            single = convert(table, space, [function(t) for t in fine])
            return None if single is None else Ramp(list(fine), single)
        places, values = piece
        first = 1 if points and points[-1].numbers == values[0].numbers else 0
        stops += places[first:]
        points += values[first:]
    joined = _joined(space, [p.numbers for p in points], [p.mapped for p in points])
    return None if joined is None else Ramp(stops, joined)


@dataclass(frozen=True, slots=True)
class _Point:
    numbers: Numbers
    mapped: Mapped | None


def _segment(
    table: SwapTable, space: Space, function: Function, places: list[float]
) -> tuple[list[float], list[_Point]] | None:
    """Return a stretch whose colours lie on the line between its ends; None if they do not."""
    colours = [function(t) for t in places]
    first, last = colours[0], colours[-1]
    shares = [_share(colour, first, last) for colour in colours]
    if any(share is None for share in shares):
        return None
    ends = [table.of(space.colour(first)), table.of(space.colour(last))]
    if ends == [None, None]:
        return places, [_Point(colour, None) for colour in colours]
    exact = [share for share in shares if share is not None]
    if _follows(table, ends, space, (first, last)) and len(places) == 2:
        a, b = places
        exact = [i / TINT_STEPS for i in range(TINT_STEPS + 1)]
        places = [a + (b - a) * share for share in exact]
        colours = [
            tuple(x + (y - x) * share for x, y in zip(first, last, strict=True)) for share in exact
        ]
    points = [
        _Point(colour, _between(table, space, ends, (first, last), share))
        for colour, share in zip(colours, exact, strict=True)
    ]
    return places, points


def _share(colour: Numbers, first: Numbers, last: Numbers) -> float | None:
    weight = sum((b - a) ** 2 for a, b in zip(first, last, strict=True))
    if weight == 0:
        return (
            0.0 if max(abs(c - a) for c, a in zip(colour, first, strict=True)) < ON_LINE else None
        )
    share = sum((c - a) * (b - a) for c, a, b in zip(colour, first, last, strict=True)) / weight
    off = max(abs(c - a - share * (b - a)) for c, a, b in zip(colour, first, last, strict=True))
    return min(max(share, 0.0), 1.0) if off <= ON_LINE else None


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
