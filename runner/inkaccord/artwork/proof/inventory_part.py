"""Whether every colour of a recoloured file is what the swaps make of one of the first, by count.

What is painted is counted; what is kept in tables and gradients has to be there.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import lru_cache

import pikepdf

from inkaccord.artwork.content.walk import ColourUse
from inkaccord.artwork.mixing import component_distance, is_white
from inkaccord.artwork.profiled import Profiled
from inkaccord.artwork.proof.parts import ProofPart
from inkaccord.artwork.proof.proof_file import ProofFile
from inkaccord.artwork.roles import Role
from inkaccord.artwork.swap_table import SwapTable
from inkaccord.artwork.swaps import SpotMode, Swap, TintMode
from inkaccord.colour.paints import Paint, PaintKind
from inkaccord.pdf.colours.functions import BadFunctionError, Function, read_function
from inkaccord.pdf.colours.spaces import PROCESS_INKS, Colour, Space, SpaceKind, device_numbers
from inkaccord.pdf.entries import entry
from inkaccord.pdf.page_source import PageSource
from inkaccord.pdf.streams import StreamReader
from inkaccord.words import counted

_FINE = 16
DIGITS = 2
"""Percent and 255ths are compared to two decimals; files hold six."""

Spot = tuple[object, ...]
Place = tuple[int | None, str, str]


@lru_cache(maxsize=10_000)
def _key(colour: Colour) -> str:
    paint = colour.paint
    if paint is not None:
        return str(
            paint.model_copy(update={"values": tuple(round(v, DIGITS) for v in paint.values)})
        )
    return f"{colour.other} {[round(n, 4) for n in colour.numbers]}"


_STRICT = frozenset({Role.FILL, Role.STROKE, Role.TEXT, Role.MASK, Role.PATTERN})
_LOOSE = {PaintKind.RGB: 1.5}
"""How far rounding to a table's 8 bits, or to samples, moves a number; else 0.6 percent."""


@dataclass(slots=True)
class _Found:
    """The colours of one file: counted where they are painted, in sets where they are kept."""

    painted: Counter[Spot] = field(default_factory=Counter)
    kept: dict[Place, dict[str, Colour]] = field(default_factory=dict)
    paints: dict[object, Paint] = field(default_factory=dict)
    """What is painted, by its key."""

    def add(self, use: ColourUse, colour: Colour) -> None:
        place = (use.page, use.where.value, use.role.value)
        if use.role in _STRICT:
            self.painted[(*place, _key(colour))] += use.count
            if colour.paint is not None:
                self.paints[_key(colour)] = colour.paint
        else:
            self.kept.setdefault(place, {})[_key(colour)] = colour


def inventory_part(before: ProofFile, after: ProofFile, table: SwapTable) -> ProofPart:
    """Hold the colours of the second file against what the swaps make of those of the first."""
    wanted, found = _Found(), _Found()
    old_keys: set[str] = set()
    staying: set[str] = set()
    for use in before.uses:
        if _is_mixed_picture(use, table, before.source):
            old_keys.add(_key(use.colour))
            continue  # another picture now, judged sample by sample
        mapped = use.becomes or table.of(use.colour)
        colour = use.colour if mapped is None else mapped.colour
        staying.add(_key(colour))
        # What lies between a gradient's stops may by chance be a tint: others compute it.
        stop = use.role is not Role.GRADIENT or (mapped is not None and mapped.tint == 100)
        if mapped is not None and use.role not in _STRICT and not table.leads([mapped]):
            staying.add(_key(use.colour))
            continue  # it goes only where all beside it goes
        if stop and _key(colour) != _key(use.colour):
            old_keys.add(_key(use.colour))
        if stop:
            wanted.add(use, colour)
    details = [*before.hidden, *_borrowed_details(before, after)]
    streams = StreamReader()
    checked: set[int] = set()
    around: dict[tuple[int | None, str], dict[str, Colour]] = {
        (page, where): {} for page, where, role in wanted.kept if role == Role.UNUSED
    }
    """All colours, painted or not, that stand where one was set in vain."""
    for use in after.uses:
        found.add(use, use.colour)
        if (here := around.get((use.page, use.where.value))) is not None:
            here[_key(use.colour)] = use.colour
        if use.space is not None and id(use.space) not in checked:
            checked.add(id(use.space))
            details += _spot_details(use, table, streams)
    details += _painted_details(wanted, found)
    details += _kept_details(wanted, found, around, old_keys - staying, table)
    others = sum(len(kept) for kept in wanted.kept.values())
    return ProofPart.judged(
        f"{sum(wanted.painted.values())} painted objects and {others} other colours, "
        f"{len(old_keys)} of them old colours",
        details,
    )


def _borrowed_details(before: ProofFile, after: ProofFile) -> Iterator[str]:
    """Say what the copy alone looks for at its callers, or now beside others of that category.

    Readers do not all find it there.
    """
    for category, name, _ in sorted(after.borrowed - before.borrowed):
        yield f"the copy names {name}, which its own resources lack in {category}"


def _is_mixed_picture(use: ColourUse, table: SwapTable, source: PageSource) -> bool:
    """Whether a picture in several inks, an object with a space of its own, is to lose some.

    Or one in one ink, with finer samples than a table has places for: both are mixed anew.
    """
    space = use.space
    if use.role is not Role.IMAGE or space is None or use.object == (0, 0):
        return False
    if not table.loses_inks(space.colorants):
        return False
    image = source.get_object(use.object)
    fine = space.kind is SpaceKind.SPOT and entry(image, "/BitsPerComponent") == _FINE
    return (fine or space.kind is SpaceKind.DEVICEN) and (
        entry(image, "/Subtype") == "/Image"
        and isinstance(entry(image, "/ColorSpace"), pikepdf.Array)
    )


def _painted_details(wanted: _Found, found: _Found) -> list[str]:
    missing, more = wanted.painted - found.painted, found.painted - wanted.painted
    for spot in list(missing):
        for other in list(more):
            if spot[:-1] == other[:-1] and _rounded_apart(wanted, spot, found, other):
                same = min(missing[spot], more[other])
                missing[spot] -= same
                more[other] -= same
    missing, more = +missing, +more
    return [
        *(f"missing: {_words(spot)} ({counted(count, 'time')})" for spot, count in missing.items()),
        *(
            f"not expected: {_words(spot)} ({counted(count, 'time')})"
            for spot, count in more.items()
        ),
    ]


def _rounded_apart(wanted: _Found, spot: Spot, found: _Found, other: Spot) -> bool:
    """Whether two colours differ by no more than rounding to two decimals can part them.

    Or are bare paper, which a table brings into the kind that stands beside it there.
    """
    a, b = wanted.paints.get(spot[-1]), found.paints.get(other[-1])
    if a is None or b is None:
        return False
    same = (a.kind, a.name) == (b.kind, b.name)
    return (same and component_distance(a, b) <= 1.5 * 10**-DIGITS) or (is_white(a) and is_white(b))


def _kept_details(
    wanted: _Found,
    found: _Found,
    around: Mapping[tuple[int | None, str], Mapping[str, Colour]],
    old_keys: set[str],
    table: SwapTable,
) -> list[str]:
    details = []
    for place in sorted({*wanted.kept, *found.kept}, key=str):
        want, have = wanted.kept.get(place, {}), found.kept.get(place, {})
        # A colour set in vain may become one that is painted beside it.
        there = around.get(place[:2], {}) if place[2] == Role.UNUSED else have
        if place[0] is not None:  # what nothing draws may well be gone
            details += [
                f"missing: {_words((*place, key))}"
                for key, colour in sorted(want.items())
                if key not in there
                and not any(_alike(colour, one, table) for one in there.values())
            ]
        details += [
            f"old colour left: {_words((*place, key))}"
            for key, colour in sorted(have.items())
            if key in old_keys and not any(_alike(one, colour, table) for one in want.values())
        ]
    return details


def _alike(one: Colour, other: Colour, table: SwapTable) -> bool:
    """Whether two colours of a table or gradient are the same but for rounding."""
    if _is_paper(one) and _is_paper(other):
        return True
    if one.inks or other.inks:
        return _alike_inks(one, other)
    # A table leaves its profile as a whole, where numbers are meant.
    a = one.as_device() if table.profiled is Profiled.PLAIN else one.paint
    b = other.paint
    if a is None or b is None:
        return False
    if a.kind is not b.kind:
        a = table.beside_of(a, b.kind) or a
    if a.kind is not b.kind:
        return False
    loose = _LOOSE.get(a.kind, 0.6)
    return a.name == b.name and all(
        abs(x - y) <= loose for x, y in zip(a.values, b.values, strict=True)
    )


def _is_paper(colour: Colour) -> bool:
    """Whether a colour is bare paper, which stays that in whatever kind stands beside it."""
    plain = colour.as_device()
    if plain is not None:
        return is_white(plain)
    return bool(colour.inks) and not any(share for _, share in colour.inks)


def _alike_inks(one: Colour, other: Colour) -> bool:
    """Whether two mixtures of inks are the same but for rounding; inks that are not named are 0."""
    a, b = _inks_of(one), _inks_of(other)
    if a is None or b is None:
        return False
    return all(abs(a.get(name, 0.0) - b.get(name, 0.0)) <= 0.6 for name in a.keys() | b.keys())


def _inks_of(colour: Colour) -> dict[str, float] | None:
    if colour.paint is not None and colour.paint.kind is PaintKind.CMYK:
        return dict(zip(PROCESS_INKS, colour.paint.values, strict=True))
    if colour.paint is not None and colour.paint.kind is PaintKind.SPOT and colour.paint.name:
        return {colour.paint.name: colour.paint.values[0]}
    return dict(colour.inks) if colour.inks else None


def _words(spot: Iterable[object]) -> str:
    page, where, role, colour = spot
    return f"{colour} as {role} in a {where}" + (f", page {page}" if page else "")


def _spot_details(use: ColourUse, table: SwapTable, streams: StreamReader) -> list[str]:
    """Check the new definition of a spot that stays a spot, alone or among other inks."""
    space = use.space
    if space is None or space.kind not in (SpaceKind.SPOT, SpaceKind.DEVICEN):
        return []
    swapped = [name for name in space.colorants if name in table.whole_spots]
    if not swapped:
        return []
    if space.kind is SpaceKind.SPOT and table.spots is SpotMode.PROCESS:
        return [f"spot {space.name} is still a spot, page {use.page}"]
    if table.loses_inks(space.colorants):
        names = " and ".join(sorted(table.gone(space.colorants)))
        return [f"{names} in a mixture still a spot, page {use.page}"]
    try:
        function = read_function(space.definition[3], streams)
        return [
            words
            for name in swapped
            for words in _transform_details(
                space, name, function, table.swaps[table.whole_spots[name]], table.tints
            )
        ]
    except BadFunctionError as problem:
        return [f"spot {space.name}: {problem}"]


def _transform_details(
    space: Space, name: str, function: Function, swap: Swap, tints: TintMode
) -> Iterator[str]:
    kind = space.base.kind.value if space.base is not None else ""
    if kind != swap.new.kind.value:
        yield f"spot {name} is built on {kind or 'nothing'}, not on {swap.new.kind}"
        return
    position = space.colorants.index(name)
    alone = space.kind is SpaceKind.SPOT
    for tint in (0, 5, 10, 25, 50, 75, 90, 100) if alone else (100,):
        inputs = [0.0] * len(space.colorants)
        inputs[position] = tint / 100
        want = device_numbers(swap.build_at(tint, tints))
        have = function(*inputs)
        off = max(abs(a - b) for a, b in zip(want, have, strict=True))
        # A tint table's own steps need not fall on the transform's.
        if off > (0.004 if swap.tints is not None and tint != 100 else 0.00005):
            yield f"spot {name} at {tint} % is off its build by {100 * off:.2f} %"
