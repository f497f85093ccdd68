"""Pages of sample sheets as they were drawn, by whichever plugin, placed on other pages."""

import io
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import NamedTuple

import pikepdf
from pikepdf import Dictionary, Name, Pdf

from inkaccord.pdf.writing import save_drawn
from inkaccord.sheets.model import SampleSheet

Draw = Callable[[SampleSheet, Sequence[str]], bytes]
"""Draws a sheet with the notes that stand at its foot: a PDF with a page for each of its pages."""


class DrawnSheet(NamedTuple):
    """A sheet and the PDF of it."""

    sheet: SampleSheet
    pdf: bytes


class DrawnPage(NamedTuple):
    """A page of a sample sheet, as it was drawn."""

    sheet: SampleSheet
    pdf: bytes
    page: int
    """From 0."""


Placed = tuple[DrawnPage, float, float]
"""A page, and where its lower left corner comes to lie, in points."""


def pages_of(drawn: Iterable[DrawnSheet]) -> Iterator[DrawnPage]:
    """Yield the pages of sheets, in turn."""
    for sheet, pdf in drawn:
        for page in range(sheet.pages):
            yield DrawnPage(sheet, pdf, page)


def with_pages(pdf: bytes, places: Sequence[Sequence[Placed]]) -> bytes:
    """Return a PDF with drawn pages placed on each of its pages, their content as it is."""
    with pikepdf.open(io.BytesIO(pdf)) as whole:
        for page, here in zip(whole.pages, places, strict=True):
            words: list[bytes] = []
            forms = Dictionary()
            for number, (drawn, x, y) in enumerate(here):
                name = f"/Block{number}"
                forms[name] = _form(whole, drawn)
                words.append(f"q 1 0 0 1 {x:.2f} {y:.2f} cm {name} Do Q".encode())
            page.Resources[Name.XObject] = forms
            page.contents_add(b"\n".join(words))
        return save_drawn(whole)


def _form(whole: Pdf, drawn: DrawnPage) -> pikepdf.Object:
    with pikepdf.open(io.BytesIO(drawn.pdf)) as pdf:
        return whole.copy_foreign(pdf.pages[drawn.page].as_form_xobject())
