"""In which inks each page of a file prints: its process inks, and the separations beside them."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator
from contextlib import suppress
from typing import Self

import pikepdf

from inkaccord.artwork.marks.mark import OWN_COLOURS, Mark
from inkaccord.artwork.marks.reader import PageReader
from inkaccord.errors import FileError
from inkaccord.models import Frozen
from inkaccord.pdf.boxes import page_boxes
from inkaccord.pdf.colours.colours import ArtworkColour, ColourKind
from inkaccord.pdf.colours.spaces import NEVER_CHANGED, PROCESS_INKS
from inkaccord.pdf.qpdf import opened


class PageInks(Frozen):
    """The inks of one side, as far as the file fixes them.

    What is covered or white counts by the inks that it names; a picture in CMYK counts as all
    four.
    """

    process: tuple[str, ...] = ()
    """Of cyan, magenta, yellow and black, in that order."""
    separations: tuple[str, ...] = ()
    """Spots, foils, white: plates of their own, by name."""
    converted: bool = False
    """Whether a colour in RGB or with a profile is among it, whose inks a conversion decides."""

    @classmethod
    def named(cls, names: Iterable[str], *, converted: bool) -> Self:
        """Return the inks of these names, each in its place."""
        known = set(names)
        return cls(
            process=tuple(ink for ink in PROCESS_INKS if ink in known),
            separations=tuple(sorted(known - set(PROCESS_INKS) - NEVER_CHANGED)),
            converted=converted,
        )

    def __or__(self, other: PageInks) -> PageInks:
        """Return the inks of both."""
        names = (*self.process, *self.separations, *other.process, *other.separations)
        return PageInks.named(names, converted=self.converted or other.converted)


def page_inks(source: bytes, first: int | None = None) -> tuple[PageInks, ...]:
    """Return the inks of each page of a PDF, or of the first so many.

    None of a file that can't be read: whoever lays it says so.
    """
    found: list[PageInks] = []
    met: dict[PageInks, PageInks] = {}  # so that what many pages print in is kept once
    with suppress(pikepdf.PdfError), opened(source) as pdf:
        marks: list[Mark] = []
        reader = PageReader(pdf, marks.append)
        for number, page in enumerate(itertools.islice(pdf.pages, first), start=1):
            with suppress(FileError):  # a page without a size prints nothing
                reader.read_page(page, page_boxes(page), number)
            inks = inks_of(mark for mark in marks if mark.layer_shown)
            found.append(met.setdefault(inks, inks))
            marks.clear()
    return tuple(found)


def inks_of_form(pdf: pikepdf.Pdf, name: str, number: int) -> PageInks:
    """Return in which inks a page, by its number, draws the form that it calls so.

    A page without such a form prints none of it. The page is left with that form alone.
    """
    page = pdf.pages[number - 1]
    marks: list[Mark] = []
    if name in page.obj.Resources.get("/XObject", {}):
        page.obj["/Contents"] = pdf.make_stream(f"{name} Do".encode())
        PageReader(pdf, marks.append).read_page(page, page_boxes(page))
    return inks_of(marks)


def inks_of(marks: Iterable[Mark]) -> PageInks:
    """Return the inks that marks print in together."""
    names: set[str] = set()
    converted = False
    for colour, space in {(m.colour, m.picture.space if m.picture else "") for m in marks}:
        for part in _parts(colour):
            if part.inks is not None:
                names |= {name for name, amount in part.inks if amount > 0}
            elif part.kind is ColourKind.IMAGE and not part.parts:
                inks = _inks_of_picture(space)
                names |= inks or set(PROCESS_INKS)
                converted = converted or not inks
            elif not part.is_white:
                names |= set(PROCESS_INKS)
                converted = True
    if "All" in names:
        names |= set(PROCESS_INKS)
    return PageInks.named(names, converted=converted)


def _inks_of_picture(space: str) -> set[str]:
    """Return the inks that a picture's space names; none where a conversion decides them."""
    if space == ColourKind.CMYK:
        return set(PROCESS_INKS)
    if space == ColourKind.GRAY:
        return {"Black"}
    known = {str(kind) for kind in ColourKind} | {OWN_COLOURS}
    return set() if space in known or space.startswith("table of") else set(space.split(" + "))


def _parts(colour: ArtworkColour) -> Iterator[ArtworkColour]:
    if colour.inks is None and colour.parts:
        for part in colour.parts:
            yield from _parts(part)
    else:
        yield colour


def spots_of(colour: ArtworkColour) -> set[str]:
    """Return the spots that a colour prints in, those of its parts too."""
    parts = [colour, *colour.parts]
    names = {name for part in parts for name, amount in part.inks or () if amount > 0}
    return names - {*PROCESS_INKS, *NEVER_CHANGED}


def plates_of(mark: Mark) -> set[str]:
    """Return the spots that a mark prints in: of its colour, or that a picture's samples name."""
    names = set() if mark.picture is None else _inks_of_picture(mark.picture.space)
    return spots_of(mark.colour) | (names - {*PROCESS_INKS, *NEVER_CHANGED})
