"""Whether the colours that comments and form fields say themselves became what was asked for.

They are numbers among entries, and operators in the default appearance of a field, by which viewers
and renderers draw what has no appearance of its own (ISO 32000-2, 12.5.2 and 12.7.4.3).
"""

from __future__ import annotations

import warnings
from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

import pikepdf

from inkaccord.artwork.swap_table import SwapTable
from inkaccord.colour.paints import Paint
from inkaccord.pdf.colours.spaces import DEVICE, SpaceKind, device_numbers
from inkaccord.pdf.entries import BAD_OBJECT, entry
from inkaccord.pdf.streams import ContentParser

COLOUR_ENTRIES = frozenset({"/C", "/IC", "/BG", "/BC", "/DA"})
_KINDS = {1: SpaceKind.GRAY, 3: SpaceKind.RGB, 4: SpaceKind.CMYK}
_SETS = {
    "g": SpaceKind.GRAY, "G": SpaceKind.GRAY, "rg": SpaceKind.RGB, "RG": SpaceKind.RGB,
    "k": SpaceKind.CMYK, "K": SpaceKind.CMYK,
}  # fmt: skip
_CLOSE = 1e-4


class EntryPair(NamedTuple):
    """An entry of colour in both files, and where it stands."""

    old: Any
    new: Any
    path: str


def entry_differences(pairs: Sequence[EntryPair], table: SwapTable) -> Iterator[str]:
    """Say which entries are not what the swaps make of them."""
    for old, new, path in pairs:
        try:
            right = _is_right(old, new, table)
        except BAD_OBJECT:
            right = old == new
        if not right:
            yield f"{path}: its colour is not what it was to become"


def entry_paints(page: pikepdf.Page) -> Iterator[Paint]:
    """Yield the colours that the comments and fields of a page say in numbers."""
    annotations = page.obj.get("/Annots")
    for one in annotations if isinstance(annotations, pikepdf.Array) else ():
        look = entry(one, "/MK")
        for holder, key in ((one, "/C"), (one, "/IC"), (look, "/BG"), (look, "/BC")):
            try:
                numbers = tuple(float(value) for value in entry(holder, key) or ())
            except BAD_OBJECT:
                continue
            space = DEVICE.get(_KINDS.get(len(numbers), SpaceKind.UNKNOWN))
            paint = space.colour(numbers).paint if space is not None else None
            if paint is not None:
                yield paint


def _is_right(old: Any, new: Any, table: SwapTable) -> bool:
    if isinstance(old, pikepdf.Array) and isinstance(new, pikepdf.Array):
        kind = _KINDS.get(len(old))
        if kind is None:
            return bool(old == new)
        wanted, _ = _wanted(kind, tuple(float(value) for value in old), table)
        return _close(wanted, tuple(float(value) for value in new))
    if not (isinstance(old, pikepdf.String) and isinstance(new, pikepdf.String)) or old == new:
        return bool(old == new) and not _changes(old, table)
    before, after = _words(bytes(old)), _words(bytes(new))
    return len(before) == len(after) and all(
        _same_word(one, other, table) for one, other in zip(before, after, strict=True)
    )


def _changes(text: Any, table: SwapTable) -> bool:
    """Whether an appearance that is the same in both files was to be another."""
    if not isinstance(text, pikepdf.String):
        return False
    return any(not _same_word(one, one, table) for one in _words(bytes(text)))


def _words(text: bytes) -> list[tuple[str, list[Any]]]:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        found = ContentParser().instructions(text)
        return [(str(one.operator), [str(value) for value in one.operands]) for one in found]


def _same_word(one: tuple[str, list[Any]], other: tuple[str, list[Any]], table: SwapTable) -> bool:
    kind = _SETS.get(one[0])
    if kind is None or len(one[1]) < DEVICE[kind].components:
        return one == other
    numbers = tuple(float(value) for value in one[1][-DEVICE[kind].components :])
    wanted, new_kind = _wanted(kind, numbers, table)
    if _SETS.get(other[0]) is not new_kind or one[0].isupper() is not other[0].isupper():
        return False
    return _close(wanted, tuple(float(value) for value in other[1][-len(wanted) :]))


def _wanted(
    kind: SpaceKind, numbers: tuple[float, ...], table: SwapTable
) -> tuple[tuple[float, ...], SpaceKind]:
    mapped = table.of(DEVICE[kind].colour(numbers))
    if mapped is None:
        return numbers, kind
    return device_numbers(mapped.paint), SpaceKind(mapped.paint.kind.value)


def _close(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    return len(one) == len(other) and all(
        abs(a - b) <= _CLOSE for a, b in zip(one, other, strict=True)
    )
