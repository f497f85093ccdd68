"""Whether all that a copy paints overprints as it did, but for what its new colours ask for.

Seen by the reader of marks, which shares nothing with the interpreter that sets the switches: a
picture knows no swap, and still prints otherwise where a switch is left off for it.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import zip_longest
from typing import NamedTuple

import pikepdf

from inkaccord.artwork.marks.mark import Mark
from inkaccord.artwork.marks.reader import PageReader
from inkaccord.artwork.marks.state import PageState
from inkaccord.artwork.roles import Role
from inkaccord.artwork.swaps import OverprintMode
from inkaccord.errors import FileError
from inkaccord.pdf.boxes import page_boxes
from inkaccord.pdf.colours.colours import ArtworkColour, ColourKind
from inkaccord.pdf.colours.spaces import SpaceKind
from inkaccord.pdf.entries import entry
from inkaccord.pdf.groups import drawn_from
from inkaccord.pdf.page_source import PageSource, in_pairs

_NAMED = frozenset({ColourKind.SPOT, ColourKind.DEVICEN})
_LEAVING = frozenset({SpaceKind.CMYK, SpaceKind.SPOT, SpaceKind.DEVICEN})
"""Spaces that leave inks of what lies below, where they are overprinted in mode 1."""
_MANY = frozenset({ColourKind.IMAGE, ColourKind.GRADIENT})


class _Seen(NamedTuple):
    """A mark, and the spaces of fill and stroke at it, each with whether it overprints."""

    mark: Mark
    pens: tuple[tuple[SpaceKind, bool], ...]

    @property
    def is_plain(self) -> bool:
        """Whether a colour of CMYK is set as such: one from a table covers all process inks."""
        space, _ = self.pens[self.mark.role is Role.STROKE]
        return self.mark.colour.kind is ColourKind.CMYK and space is not SpaceKind.INDEXED


def overprint_differences(old: PageSource, new: PageSource, asked: OverprintMode) -> Iterator[str]:
    """Say on which pages something lets through, or covers, what it did not before.

    Both files are to have the same pages. One mark of a page is named.
    """
    for number, *pages in in_pairs(old, new):
        if not any(_overprints(one) for page in pages for one in drawn_from(page)):
            continue
        try:
            before, after = (
                _marks(source.pdf, page, number)
                for source, page in zip((old, new), pages, strict=True)
            )
        except FileError as problem:
            yield f"page {number}: what overprints can't be read ({problem.findings[0].message})"
            continue
        for was, now in zip_longest(before, after):
            if was is None or now is None:
                break  # what is not there at all is for others to see
            if not _as_asked(was, now, asked):
                what = f"{was.mark.colour.text} as {was.mark.role}"
                yield f"page {number}: {what} overprints in another way"
                break


def _overprints(thing: object) -> bool:
    return any(entry(thing, key) is True for key in ("/OP", "/op"))


def _marks(pdf: pikepdf.Pdf, page: pikepdf.Page, number: int) -> list[_Seen]:
    seen: list[_Seen] = []
    reader = PageReader(pdf, lambda mark: seen.append(_Seen(mark, _pens(reader.state))))
    reader.read_page(page, page_boxes(page), number)
    return seen


def _pens(state: PageState) -> tuple[tuple[SpaceKind, bool], ...]:
    overprint = state.overprint
    return (state.fill.space.kind, overprint.fill), (state.stroke.space.kind, overprint.stroke)


def _mode_is_needed(before: _Seen, after: _Seen) -> bool:
    """Whether fill or stroke is left in plain CMYK under overprint that covered nothing before."""
    return any(
        on and now is SpaceKind.CMYK and was in _LEAVING
        for (was, _), (now, on) in zip(before.pens, after.pens, strict=True)
    )


def _as_asked(before: _Seen, after: _Seen, asked: OverprintMode) -> bool:
    """Whether a mark overprints as it did, or as its new colour has to (ISO 32000-2, 8.6.7)."""
    was, now = before.mark, after.mark
    if not was.overprint:
        return not now.overprint
    if _would_vanish(before, now):
        # There is one mode for fill and stroke: where it is needed, overprint itself goes off.
        if _mode_is_needed(before, after):
            return not now.overprint
        return now.overprint and now.overprint_mode == 0
    if asked is OverprintMode.OFF and _lets_through(before, now):
        return not now.overprint
    same_mode = now.overprint_mode == was.overprint_mode or not _by_mode(now)
    return now.overprint and same_mode


def _by_mode(mark: Mark) -> bool:
    """Whether the mode makes a difference: to plain CMYK that is no picture."""
    return mark.colour.kind is ColourKind.CMYK or mark.role is Role.GRADIENT


def _would_vanish(before: _Seen, now: Mark) -> bool:
    """Whether a colour covered all process inks, and as CMYK would leave some in mode 1."""
    was = before.mark
    return (
        was.overprint_mode == 1
        and was.colour != now.colour
        and not before.is_plain
        and was.colour.kind not in {*_NAMED, *_MANY}
        and now.colour.kind is ColourKind.CMYK
        and bool(_zeros(now.colour))
    )


def _lets_through(before: _Seen, now: Mark) -> bool:
    """Whether a new colour leaves other plates than the old one under overprint."""
    was = before.mark
    if was.colour == now.colour or was.colour.kind in _MANY:
        return False
    if was.colour.kind in _NAMED:
        return _named(was.colour) != _named(now.colour)
    return (before.is_plain and was.overprint_mode == 1) and (
        bool(_zeros(was.colour))
        if now.colour.kind is not ColourKind.CMYK
        else _zeros(was.colour) != _zeros(now.colour)
    )


def _named(colour: ArtworkColour) -> set[str]:
    return {name for name, _ in colour.inks or ()}


def _zeros(colour: ArtworkColour) -> set[int]:
    values = colour.paint.values if colour.paint is not None else ()
    return {index for index, value in enumerate(values) if value == 0}
