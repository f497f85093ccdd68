"""Swapping several colours that must stay together: tables, gradients, meshes, tint transforms."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

from inkaccord.artwork.flights import Climb
from inkaccord.artwork.lines import ON_LINE, line_of, mixture, share_between
from inkaccord.artwork.mixing import WHITE, is_white, mixed
from inkaccord.artwork.recolouring.stops import Vertex, stretches, traced
from inkaccord.artwork.swap_table import Mapped, SwapTable
from inkaccord.colour.paints import Paint, PaintKind
from inkaccord.pdf.colours.ramps import Stop
from inkaccord.pdf.colours.sections import Numbers, Section
from inkaccord.pdf.colours.spaces import DEVICE, Space, SpaceKind, device_numbers

MOST_NAMED = 4
"""So many colours without a build are named."""
TINT_PIECES = 16
"""Pieces into which a straight gradient is cut so that it follows a tint table."""


class MixedKindsError(ValueError):
    """Colours that share a colour space, of which only some were to leave it."""

    def __init__(self, message: str, without_build: Collection[Paint] = ()) -> None:
        super().__init__(message)
        self.without_build = frozenset(without_build)
        """The plain colours that would have to leave it too, and have no build for that."""


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
    return joined(table, space, colours, mapped)


def joined(
    table: SwapTable, space: Space, colours: Sequence[Numbers], mapped: Sequence[Mapped | None]
) -> Conversion | None:
    """Return colours as what they become, beside each other; None if none changes.

    Blacks and greys alone change nothing beside what stays.
    Raises MixedKindsError.
    """
    used = [one for one in mapped if one is not None]
    if not used:
        return None
    if not table.leads(used) and None in mapped:
        return None
    kinds = {one.paint.kind for one in used}
    if len(kinds) > 1:
        # What only loses its profile stays beside a colour that leaves its kind.
        leaving = [one for one in used if table.swaps[one.swap].old != table.swaps[one.swap].new]
        kinds = {one.paint.kind for one in leaving}
        mapped = [one if one in leaving else None for one in mapped]
    if len(kinds) > 1:
        raise MixedKindsError("the new builds are of several kinds")
    kind = kinds.pop()
    new = []
    missing: dict[Paint, None] = {}
    for old, one in zip(colours, mapped, strict=True):
        try:
            paint = one.paint if one is not None else kept_as(table, space, old, kind)
            new.append(device_numbers(paint))
        except MixedKindsError as problem:
            missing.update(dict.fromkeys(sorted(problem.without_build, key=str)))
            if not problem.without_build:
                raise
    if missing:
        raise _without_build(missing, kind)
    return Conversion(DEVICE[SpaceKind(kind.value)], new, used)


def _without_build(missing: Collection[Paint], kind: PaintKind) -> MixedKindsError:
    names = [str(paint) for paint in missing]
    more = f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
    words = f"{', '.join(names[:MOST_NAMED])}{more} would have to become {kind} too"
    return MixedKindsError(words, missing)


def kept_as(table: SwapTable, space: Space, numbers: Numbers, kind: PaintKind) -> Paint:
    """Return an unswapped colour as a paint of ``kind``: what it has there, or white as white."""
    colour = space.colour(numbers)
    paint, plain = table.meant(colour), colour.as_device()
    if paint is not None and paint.kind is kind:
        return paint
    if plain is not None and (
        is_white(plain) or (plain.kind is PaintKind.SPOT and plain.values[0] == 0)
    ):
        return WHITE[kind]
    beside = table.beside_of(paint, kind) if paint is not None else None
    if beside is not None:
        return beside
    if paint is not None and (paint.kind in WHITE or paint.kind is PaintKind.LAB):
        raise _without_build([paint], kind)
    raise MixedKindsError(f"{colour} stays, but {kind} is wanted beside it")


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
    runs = [stretches(table, space, run) for run in traced(sections)]
    stops = [one.colour for run in runs for part in run for one in (part[0], part[-1])]
    target = convert(table, space, stops)
    if target is None:
        return None
    points = [
        [
            point
            for number, part in enumerate(run)
            for point in _stretch(table, space, part, target)[1 if number else 0 :]
        ]
        for run in runs
    ]
    whole = [point for run in points for point in run]
    made = joined(table, space, [p.numbers for p in whole], [p.mapped for p in whole])
    if made is None:  # pragma: no cover - its stops have been swapped
        return None
    new = iter(made.numbers)
    return Ramp([[(point.place, next(new)) for point in run] for run in points], made)


def convert_surface(
    table: SwapTable, space: Space, colours: Sequence[Numbers]
) -> Conversion | None:
    """Swap colours that a surface blends.

    One that lies on the line between two swapped colours of the surface is a mixture of them; and
    where all lie on one line, so is what lies between a swapped colour and the line's end.
    Raises MixedKindsError.
    """
    return joined(table, space, colours, mapped_surface(table, space, colours))


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
    """Return what the steps of a flight become. Raises MixedKindsError."""
    ends = [table.of(space.colour(end)) for end in climb.ends]
    found = [
        _between(table, space, ends, climb.ends, share_between(colour, *climb.ends)[0])
        for colour in climb.colours
    ]
    made = joined(table, space, climb.colours, found)
    kind = made.space.kind if made is not None else space.kind
    if made is None or kind is space.kind:
        return found
    swap = made.used[0].swap
    return [
        one or Mapped(kept_as(table, space, colour, PaintKind(kind.value)), swap, 0.0)
        for one, colour in zip(found, climb.colours, strict=True)
    ]


def _pairs(
    table: SwapTable, space: Space, colours: Sequence[Numbers]
) -> list[tuple[Numbers, Numbers]]:
    """Return the pairs of which others may be mixtures, those closest to each other first."""
    nearest: dict[int, tuple[float, Numbers]] = {}
    for one in dict.fromkeys(colours):
        colour = space.colour(one)
        mapped = table.of(colour)
        if mapped is not None and mapped.tint == 100:
            off = table.off(colour, mapped.swap)
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


def _stretch(
    table: SwapTable, space: Space, part: Sequence[Vertex], target: Conversion
) -> list[_Point]:
    """Return what becomes of the vertices between two stops, all on the line between them."""
    first, last = part[0], part[-1]
    kind = PaintKind(target.space.kind.value)
    ends = [table.becomes(space.colour(one.colour), kind) for one in (first, last)]
    if ends == [None, None] and target.space.kind is space.kind:
        return [_Point(one.place, one.colour, None) for one in part]
    colours = (first.colour, last.colour)
    if ends == [None, None]:
        new = [kept_as(table, space, colour, kind) for colour in colours]
        return [
            _Point(one.place, one.colour, _blend(new, share, target.used[0].swap))
            for one in part
            for share, _ in [share_between(one.colour, *colours)]
        ]
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
        steps = max(math.ceil(abs(next_share - share) * TINT_PIECES - 1e-6), 1)
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
    swaps = {end.swap for end in ends if end is not None and end.tint > 0}
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
        end.paint if end is not None else kept_as(table, space, numbers, kind)
        for end, numbers in zip(ends, colours, strict=True)
    ]
    if paints[0].kind is not paints[1].kind:
        raise MixedKindsError("a gradient whose ends become builds of two kinds")
    return _blend(paints, share, known[0].swap)


def _blend(paints: Sequence[Paint], share: float, swap: int) -> Mapped:
    blend = mixed(((1 - share, paints[0]), (share, paints[1])), paints[0].kind)
    return Mapped(blend, swap, 0.0)
