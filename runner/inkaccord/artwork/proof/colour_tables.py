"""Prove that every entry of a colour table became what its own colour was to become.

Colours of tables are compared as sets elsewhere, so that one entry could become another's colour.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import zip_longest
from typing import Any, NamedTuple

import pikepdf

from inkaccord.artwork.profiled import Profiled
from inkaccord.artwork.proof.gradient_space import GradientSpace
from inkaccord.artwork.proof.gradient_stops import apart
from inkaccord.artwork.proof.shading_values import Numbers, UnreadableShadingError
from inkaccord.artwork.proof.wanted_colours import WantedColours
from inkaccord.artwork.swap_table import SwapTable
from inkaccord.colour.paints import PaintKind
from inkaccord.pdf.entries import BAD_OBJECT, word

_TABLES = ("/Indexed", "/I")
_SHORT = {
    "/G": pikepdf.Name.DeviceGray,
    "/RGB": pikepdf.Name.DeviceRGB,
    "/CMYK": pikepdf.Name.DeviceCMYK,
}
"""As inline pictures call them (ISO 32000-2, table 92)."""
_CLOSE = 2 / 255
"""Entries are written in 255ths, and so are those that they were worked out from."""


class TablePair(NamedTuple):
    """The definitions of a table in both files, and where it stands."""

    old: Any
    new: Any
    path: str


def tables_in(old: Any, new: Any, path: str) -> Iterator[TablePair]:
    """Yield the tables in both files: one, or those of resources."""
    if isinstance(old, pikepdf.Dictionary) and isinstance(new, pikepdf.Dictionary):
        for name in sorted(set(old.keys()) & set(new.keys())):
            yield from tables_in(old[name], new[name], f"{path} {name[1:]}")
    elif is_table(old) and is_table(new):
        yield TablePair(old, new, path)


def is_table(definition: Any) -> bool:
    """Tell whether a colour space is a table of colours."""
    is_array = isinstance(definition, pikepdf.Array) and len(definition) > 2
    return is_array and word(definition[0]) in _TABLES


def table_differences(pairs: Sequence[TablePair], table: SwapTable) -> Iterator[str]:
    """Say which entries are neither what they were nor what the swaps make of them."""
    for pair in pairs:
        try:
            wrong = _wrong_entries(pair, table)
        except (UnreadableShadingError, *BAD_OBJECT):
            continue  # a renderer can't read it either, or its kind is for others to judge
        if wrong:
            listed = ", ".join(str(at) for at in wrong[:3])
            yield f"{pair.path}: entry {listed} of a colour table is not what it was to become"


def _wrong_entries(pair: TablePair, table: SwapTable) -> list[int]:
    by_numbers = table.profiled is Profiled.PLAIN
    old, new = (_space(one, by_numbers=by_numbers) for one in (pair.old, pair.new))
    if not (_judged(old) and _judged(new)):
        return []
    wanted = WantedColours(table, old, new)
    entries = zip_longest(_entries(pair.old, old), _entries(pair.new, new))
    return [
        at
        for at, (before, after) in enumerate(entries)
        if before is not None
        and (wants := _wants(before, wanted, old, new))
        and (after is None or all(apart(want, after) > _CLOSE for want in wants))
    ]


def _wants(
    numbers: Numbers, wanted: WantedColours, old: GradientSpace, new: GradientSpace
) -> list[Numbers]:
    """Return what an entry may become; a grey may go or stay, whatever the others do."""
    colour = old.colour(numbers)
    alone = wanted.table.of(colour) if colour is not None else None
    found = (wanted.becomes(numbers), new.numbers(alone.paint) if alone is not None else None)
    return [one for one in found if one is not None]


def _space(definition: Any, *, by_numbers: bool) -> GradientSpace:
    """Return what a table's entries are colours of."""
    base = definition[1]
    if isinstance(base, pikepdf.Name):
        base = _SHORT.get(word(base), base)
    return GradientSpace(base, by_numbers=by_numbers)


def _judged(space: GradientSpace) -> bool:
    """Whether entries are judged here: mixtures of inks are elsewhere, and Lab has other ranges."""
    return space.kind is not PaintKind.LAB and not (space.kind is None and space.profile is None)


def _entries(definition: Any, space: GradientSpace) -> Iterator[Numbers]:
    lookup = definition[3]
    data = lookup.read_bytes() if isinstance(lookup, pikepdf.Stream) else bytes(lookup)
    whole = min(int(definition[2]) + 1, len(data) // space.size)
    for start in range(0, whole * space.size, space.size):
        yield tuple(value / 255 for value in data[start : start + space.size])
