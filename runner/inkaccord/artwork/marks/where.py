"""Where on its page something stands that swaps concern, for what is said of it."""

from __future__ import annotations

from collections.abc import Collection, Sequence

import pikepdf

from inkaccord.artwork.marks.mark import Mark
from inkaccord.artwork.marks.reader import PageReader
from inkaccord.artwork.roles import Role
from inkaccord.artwork.swap_table import SwapTable
from inkaccord.diagnostics import Place
from inkaccord.pdf.boxes import page_boxes
from inkaccord.pdf.colours.colours import ArtworkColour
from inkaccord.sizes import Box


def concerned(pdf: pikepdf.Pdf, table: SwapTable) -> list[Mark]:
    """Return the marks of an open file that a swap changes, its gradients and mixtures included.

    Raises FileError for a page without a usable size.
    """
    marks: list[Mark] = []
    reader = PageReader(pdf, marks.append)
    for page in pdf.pages:
        reader.read_page(page, page_boxes(page))
    return [mark for mark in marks if is_concerned(mark.colour, table)]


def is_concerned(colour: ArtworkColour, table: SwapTable) -> bool:
    """Whether a swap changes a colour, one of a gradient's, or an ink of a mixture."""
    paint = colour.paint or colour.numbers
    if paint is not None and (table.of_paint(paint) or paint.name in table.whole_spots):
        return True
    if any(name in table.whole_spots for name, _ in colour.inks or ()):
        return True
    return any(is_concerned(part, table) for part in colour.parts)


def first_place(
    marks: Sequence[Mark], roles: Collection[Role], page: int | None
) -> tuple[Place, list[Mark]]:
    """Return the first page with marks in some role, the box round them, and those marks.

    ``page`` is the one to look at, None for all. Where no mark is in such a role all count; where
    there is none at all only the page is known.
    """
    here = [mark for mark in marks if page is None or mark.page == page]
    here = [mark for mark in here if mark.role in roles] or here
    here = [mark for mark in here if mark.page == here[0].page and not mark.box.is_empty]
    if not here:
        return Place(page=page), []
    boxes = [mark.box for mark in here]
    box = Box(
        min(one.left for one in boxes), min(one.bottom for one in boxes),
        max(one.right for one in boxes), max(one.top for one in boxes),
    )  # fmt: skip
    return Place(page=here[0].page, box_mm=box.in_mm), here
