"""Transparency groups: what holds one, on pages and in what they draw (ISO 32000-2, 11.6.6)."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import Any

import pikepdf

from inkaccord.pdf.colours.space_reader import SpaceReader
from inkaccord.pdf.colours.spaces import FAMILY, SpaceKind
from inkaccord.pdf.entries import entry, objgen, reached, unescaped
from inkaccord.pdf.page_objects import content_streams, inherited
from inkaccord.pdf.streams import StreamReader

_NOT_DRAWN = frozenset({"/SMask", "/Metadata", "/PieceInfo"})
"""Entries that lead to nothing that is drawn."""

_NO_CONTENT = frozenset(
    {"/Image", "/Type1C", "/CIDFontType0C", "/OpenType", "/Length1", "/FunctionType"}
)
"""Kinds and entries of streams that draw nothing by operators: pictures, typefaces, functions."""
_CALL = re.compile(rb"(/[^\x00\t\n\f\r ()<>\[\]{}/%]+)[\x00\t\n\f\r ]+Do\b")

_AS_IT_IS = ("/Identity", "/Default")
"""Transfer functions that have a name."""


def group_holders(page: pikepdf.Page) -> list[Any]:
    """Return the page and the forms below it whose groups name a colour space; no soft mask.

    A form that is listed under names which no content calls is not drawn: browsers list those of
    soft masks so.
    """
    drawn = list(drawn_from(page))
    holders = [page.obj, *(one for one in drawn if isinstance(one, pikepdf.Stream))]
    found = [one for one in holders if entry(entry(one, "/Group"), "/CS") is not None]
    listed = [item for one in drawn for item in _items(entry(one, "/XObject"))]
    idle = {objgen(one) for _, one in listed} & {objgen(one) for one in found}
    if idle:
        called = _called(page, holders)
        idle -= {objgen(one) for name, one in listed if name in called}
        looks = [entry(one, "/AP") for one in _array(page.obj.get("/Annots"))]
        states = [one for look in looks for _, one in _items(look)]
        idle -= {objgen(one) for state in states for one in (state, *dict(_items(state)).values())}
    return [one for one in found if objgen(one) not in idle]


def _called(page: pikepdf.Page, drawn: Iterable[Any]) -> set[str]:
    """Return the names of objects that some content of a page calls."""
    streams = StreamReader()
    some = [one for one in drawn if _NO_CONTENT.isdisjoint((entry(one, "/Subtype"), *one.keys()))]
    return {
        unescaped(name).decode("utf-8", "surrogateescape")
        for one in (*content_streams(page.obj.get("/Contents")), *some)
        if isinstance(one, pikepdf.Stream)
        for name in _CALL.findall(streams.read_or_nothing(one))
    }


def _items(table: Any) -> list[tuple[str, Any]]:
    return list(table.items()) if isinstance(table, pikepdf.Dictionary) else []


def _array(things: Any) -> list[Any]:
    return list(things) if isinstance(things, pikepdf.Array) else []


def mixed_in(holder: Any) -> tuple[SpaceKind, str]:
    """Return the kind of space that a holder's group names, and ``cmyk``, ``rgb`` or ``gray``.

    The family is empty for a space that no group may name.
    """
    space = SpaceReader().read(entry(entry(holder, "/Group"), "/CS"), None)
    return space.kind, FAMILY.get(space.components, "")


def groups_of(pdf: pikepdf.Pdf) -> tuple[SpaceKind, ...]:
    """Return the kinds of space that groups anywhere on a file's pages name."""
    found = {mixed_in(holder)[0] for page in pdf.pages for holder in group_holders(page)}
    return tuple(sorted(found))


def blends(thing: Any) -> bool:
    """Tell whether what is drawn with some resource mixes with what lies under it, or is moved.

    By its opacity, blend mode or soft mask, or by a transfer function. A highlight without a look
    of its own is multiplied (Ghostscript 10.00, poppler and PDFium, tried).
    """
    if entry(thing, "/Subtype") == "/Highlight" and entry(thing, "/AP") is None:
        return True
    if isinstance(entry(thing, "/SMask"), (pikepdf.Dictionary, pikepdf.Stream)):
        return True
    if entry(thing, "/SMaskInData") in (1, 2):  # of JPEG 2000, which can hold its own soft mask
        return True
    if any(_moves(entry(thing, key)) for key in ("/TR", "/TR2")):
        return True
    mode = entry(thing, "/BM")
    if mode is not None and mode not in ("/Normal", "/Compatible"):
        return True
    shares = [entry(thing, key) for key in ("/ca", "/CA")]
    return any(isinstance(one, (int, float, Decimal)) and one < 1 for one in shares)


def _moves(transfer: Any) -> bool:
    """Whether it is a transfer function that changes tints (a typeface may be called /TR, too)."""
    if isinstance(transfer, pikepdf.Array):  # one for each ink; else it is a colour space
        return all(entry(one, "/FunctionType") is not None or one in _AS_IT_IS for one in transfer)
    if isinstance(transfer, pikepdf.Name):
        return transfer not in _AS_IT_IS
    return entry(transfer, "/FunctionType") is not None


def drawn_from(page: pikepdf.Page) -> Iterator[Any]:
    """Yield every dictionary and stream that is drawn from a page or says how it is drawn.

    Soft masks are left out: what they are painted with says what shows, not its colour.
    """
    roots = [inherited(page.obj, "/Resources")]
    roots += [entry(one, "/AP") for one in _array(page.obj.get("/Annots"))]
    for _, thing in reached(roots, _NOT_DRAWN, set(), lambda one: entry(one, "/Type") == "/Page"):
        if isinstance(thing, (pikepdf.Dictionary, pikepdf.Stream)):
            yield thing
