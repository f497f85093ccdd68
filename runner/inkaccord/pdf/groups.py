"""Transparency groups: what holds one, on pages and in what they draw (ISO 32000-2, 11.6.6)."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

import pikepdf

from inkaccord.pdf.colours.space_reader import SpaceReader
from inkaccord.pdf.colours.spaces import FAMILY, SpaceKind
from inkaccord.pdf.entries import entry, reached
from inkaccord.pdf.page_objects import inherited

_NOT_DRAWN = frozenset({"/SMask", "/Metadata", "/PieceInfo"})
"""Entries that lead to nothing that is drawn."""

_AS_IT_IS = ("/Identity", "/Default")
"""Transfer functions that have a name."""


def group_holders(page: pikepdf.Page) -> list[Any]:
    """Return the page and the forms below it whose groups name a colour space; no soft mask."""
    holders = [page.obj, *(one for one in drawn_from(page) if isinstance(one, pikepdf.Stream))]
    return [one for one in holders if entry(entry(one, "/Group"), "/CS") is not None]


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
    annotations = page.obj.get("/Annots")
    if isinstance(annotations, pikepdf.Array):
        roots += [entry(one, "/AP") for one in annotations]
    for _, thing in reached(roots, _NOT_DRAWN, set(), lambda one: entry(one, "/Type") == "/Page"):
        if isinstance(thing, (pikepdf.Dictionary, pikepdf.Stream)):
            yield thing
