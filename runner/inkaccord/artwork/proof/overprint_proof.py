"""Whether all that a copy paints overprints as it did, but for what its new colours ask for.

Seen by the reader of marks, which shares nothing with the interpreter that sets the switches: a
picture knows no swap, and still prints otherwise where a switch is left off for it.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import zip_longest

import pikepdf

from inkaccord.artwork.marks.mark import Mark
from inkaccord.artwork.marks.reader import PageReader
from inkaccord.artwork.roles import Role
from inkaccord.artwork.swaps import OverprintMode
from inkaccord.errors import FileError
from inkaccord.pdf.boxes import page_boxes
from inkaccord.pdf.colours.colours import ArtworkColour, ColourKind
from inkaccord.pdf.entries import entry
from inkaccord.pdf.groups import drawn_from
from inkaccord.pdf.limits import FileLimits

_NAMED = frozenset({ColourKind.SPOT, ColourKind.DEVICEN})
_MANY = frozenset({ColourKind.IMAGE, ColourKind.GRADIENT})


def overprint_differences(
    old: pikepdf.Pdf, new: pikepdf.Pdf, asked: OverprintMode, limits: FileLimits
) -> Iterator[str]:
    """Say on which pages something lets through, or covers, what it did not before.

    Both files are to have the same pages. One mark of a page is named.
    """
    for number, pages in enumerate(zip(old.pages, new.pages, strict=False), start=1):
        if not any(_overprints(one) for page in pages for one in drawn_from(page)):
            continue
        try:
            before, after = (_marks(pdf, number, limits) for pdf in (old, new))
        except FileError as problem:
            yield f"page {number}: what overprints can't be read ({problem.findings[0].message})"
            continue
        for was, now in zip_longest(before, after):
            if was is None or now is None:
                break  # what is not there at all is for others to see
            if not _as_asked(was, now, asked):
                yield f"page {number}: {was.colour.text} as {was.role} overprints in another way"
                break


def _overprints(thing: object) -> bool:
    return any(entry(thing, key) is True for key in ("/OP", "/op"))


def _marks(pdf: pikepdf.Pdf, number: int, limits: FileLimits) -> list[Mark]:
    marks: list[Mark] = []
    page = pdf.pages[number - 1]
    PageReader(pdf, marks.append, limits).read_page(page, page_boxes(page))
    return marks


def _as_asked(was: Mark, now: Mark, asked: OverprintMode) -> bool:
    """Whether a mark overprints as it did, or as its new colour has to (ISO 32000-2, 8.6.7)."""
    if not was.overprint:
        return not now.overprint
    if not now.overprint:
        return _lets_through(was, now) and (asked is OverprintMode.OFF or _would_vanish(was, now))
    if asked is OverprintMode.OFF and _lets_through(was, now) and not _would_vanish(was, now):
        return False
    if _would_vanish(was, now):
        return now.overprint_mode == 0
    return now.overprint_mode == was.overprint_mode or not _by_mode(now)


def _by_mode(mark: Mark) -> bool:
    """Whether the mode makes a difference: to plain CMYK that is no picture."""
    return mark.colour.kind is ColourKind.CMYK or mark.role is Role.GRADIENT


def _would_vanish(was: Mark, now: Mark) -> bool:
    """Whether a colour covered all process inks, and as CMYK would leave some in mode 1."""
    return (
        was.overprint_mode == 1
        and was.colour.kind not in {ColourKind.CMYK, *_NAMED, *_MANY}
        and now.colour.kind is ColourKind.CMYK
        and bool(_zeros(now.colour))
    )


def _lets_through(was: Mark, now: Mark) -> bool:
    """Whether a new colour leaves other plates than the old one under overprint."""
    if was.colour == now.colour or was.colour.kind in _MANY:
        return False
    if was.colour.kind in _NAMED:
        return _named(was.colour) != _named(now.colour)
    if was.colour.kind is not ColourKind.CMYK:
        return _would_vanish(was, now)
    return was.overprint_mode == 1 and (
        bool(_zeros(was.colour))
        if now.colour.kind is not ColourKind.CMYK
        else _zeros(was.colour) != _zeros(now.colour)
    )


def _named(colour: ArtworkColour) -> set[str]:
    return {name for name, _ in colour.inks or ()}


def _zeros(colour: ArtworkColour) -> set[int]:
    values = colour.paint.values if colour.paint is not None else ()
    return {index for index, value in enumerate(values) if value == 0}
