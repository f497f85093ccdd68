"""Plates of spots that became process colour, but that a file still names somewhere."""

from __future__ import annotations

from collections.abc import Iterator, Set
from typing import Any

import pikepdf

from inkaccord.pdf.entries import plain, reached, word

_KEYED = {
    "/Colorants": "beside other inks",
    "/Solidities": "in what is said of how inks mix",
    "/DotGain": "in what is said of how inks mix",
    "/SpectralData": "in the output condition",
}
"""Dictionaries whose keys are colorants (ISO 32000-2, tables 71, 72 and 401), and where that is."""
_LISTED = {
    "/PrintingOrder": "in what is said of how inks mix",
    "/SeparationColorNames": "in its trapping",
}
"""Arrays of colorants (ISO 32000-2, tables 72 and 405)."""
_OTHERS = frozenset({"/SMask", "/Parent", "/P", "/Metadata", "/PieceInfo"})


def plates_named(pdf: pikepdf.Pdf, spots: Set[str | None]) -> Iterator[tuple[str, str]]:
    """Yield each spot of some that a file still names, and in what.

    Soft masks are left out: what they are painted with is no plate.
    """
    for key, thing in reached([pdf.Root], _OTHERS, set()):
        for name, where in _told_by(key, thing):
            if name in spots:
                yield name, where


def _told_by(key: str, thing: Any) -> Iterator[tuple[str, str]]:
    """Yield the colorants that one object names, and where that is."""
    if isinstance(thing, pikepdf.Array):
        family = word(thing[0]) if len(thing) > 1 else ""
        if family == "/Separation":
            yield plain(thing[1]), "in a colour"
        elif family == "/DeviceN" and isinstance(thing[1], pikepdf.Array):
            yield from ((plain(name), "in a mixture of inks") for name in thing[1])
        elif key in _LISTED:
            yield from ((plain(name), _LISTED[key]) for name in thing)
    elif isinstance(thing, pikepdf.Dictionary):
        if key in _KEYED:
            yield from ((plain(name), _KEYED[key]) for name in thing)
        separation = thing.get("/DeviceColorant")
        if separation is not None:
            yield plain(separation), "as the plate of a page that is separated already"
