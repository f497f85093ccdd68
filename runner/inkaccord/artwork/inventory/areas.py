"""Where each colour stands on a page and how much paper it covers: measured on a rendering.

The marker copy (:mod:`inkaccord.artwork.inventory.markers`) is drawn pixel by pixel. Covered parts
do not count for what they cover; where something see-through or overprinting lies on top, both
count.
"""

from __future__ import annotations

import io
from collections.abc import Collection, Iterator
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np
import pikepdf
from numpy.typing import NDArray

from inkaccord.artwork.inventory.clearing import cleared
from inkaccord.artwork.inventory.marker_codes import labels_in
from inkaccord.artwork.inventory.markers import Label, MarkerWriter
from inkaccord.errors import FileError
from inkaccord.pdf.boxes import PageBoxes, page_boxes
from inkaccord.pdf.colours.colours import ArtworkColour
from inkaccord.pdf.page_source import ChangeablePages, PagesToChange
from inkaccord.pdf.pixel_runs import PixelRuns
from inkaccord.pdf.rendering import page_codes
from inkaccord.pdf.writing import rebuild, save
from inkaccord.sizes import Box
from inkaccord.units import PT_PER_MM

MAX_PIXELS = 20_000_000
"""More pixels on one page than this lower the resolution: beyond A3 at 300."""
PAGES_AT_ONCE = 500
"""A marker copy has no more: it takes four times what the page does, and the time to draw it is
bounded."""
PAPER = 0
"""The label of bare paper."""


@dataclass(frozen=True)
class ColourMap:
    """Which colour stands where on one page.

    Attributes
    ----------
    page
        Page number, from 1.
    boxes
        The page's boxes; the map covers the MediaBox, unrotated.
    runs
        The label of what was painted last, row 0 at the top, by runs.
    under
        Shape (height, width): the same with see-through and overprinting things lifted off; None
        where there are none.
    names
        Colour and role of label 1 and up.
    unclear
        Share of the pixels whose colour had to be taken from their neighbours.
    """

    page: int
    boxes: PageBoxes
    runs: PixelRuns
    under: NDArray[np.uint32] | None
    names: tuple[Label, ...]
    unclear: float = 0.0

    @cached_property
    def labels(self) -> NDArray[np.uint32]:
        """The label of each pixel, shape (height, width)."""
        return self.runs.pixels()

    @property
    def mm2_per_pixel(self) -> float:
        """Area of one pixel."""
        height, width = self.runs.shape
        media = self.boxes.media
        return float(media.width * media.height / PT_PER_MM**2 / max(1, height * width))

    def window(self, box: Box) -> tuple[slice, slice]:
        """Return the rows and columns that a box in page points covers."""
        height, width = self.runs.shape
        media = self.boxes.media
        across, up = width / media.width, height / media.height
        left, right = (round((x - media.left) * across) for x in (box.left, box.right))
        top, bottom = (round((media.top - y) * up) for y in (box.top, box.bottom))
        return (
            slice(max(0, top), max(0, min(height, bottom))),
            slice(max(0, left), max(0, min(width, right))),
        )

    def counts(self, within: Box) -> NDArray[np.int64]:
        """Return the pixels that each label covers within a box; index 0 is bare paper."""
        rows, columns = self.window(within)
        size = len(self.names) + 1
        counts = self.runs.counts(rows, columns, size)
        if self.under is not None:
            top, below = self.labels[rows, columns], self.under[rows, columns]
            paper = counts[PAPER]
            counts += np.bincount(below[below != top], minlength=size)
            counts[PAPER] = paper
        return counts

    def where(self, colours: Collection[ArtworkColour]) -> NDArray[np.bool_]:
        """Return the pixels on which any of some colours stands, in whatever role."""
        wanted = [at for at, (one, _) in enumerate(self.names, start=1) if one in colours]
        found = np.isin(self.labels, wanted)
        if self.under is not None:
            found |= np.isin(self.under, wanted)
        return found


def colour_maps(source: Path | bytes, *, dpi: float = 300) -> Iterator[ColourMap]:
    """Measure which colour stands where, page by page.

    Parameters
    ----------
    source
        The PDF.
    dpi
        Pixels per inch; fine lines count as at least one pixel wide.

    Yields
    ------
    ColourMap
        For each page that has a size.

    Raises
    ------
    FileError
        When the file cannot be opened or drawn.
    """
    labels: dict[Label, int] = {}
    before = 0
    with ExitStack() as stack:
        pages = ChangeablePages(source, stack)
        while (part := _marked(pages, labels, before, lift=False)).boxes:
            lifted: bytes | None = None
            if any(part.see_through):
                lifted = _marked(pages, labels, before, lift=True).data
            with _counting_from(before):
                yield from _maps(part, lifted, before, tuple(labels), dpi)
            before += len(part.boxes)
            if before >= part.of:
                return


@dataclass(frozen=True, slots=True)
class _Part:
    """The marker copy of some pages of a file, one after the other."""

    data: bytes
    boxes: list[PageBoxes | None]
    see_through: list[bool]
    of: int
    """How many pages the file has."""


def _maps(
    part: _Part, lifted: bytes | None, before: int, names: tuple[Label, ...], dpi: float
) -> Iterator[ColourMap]:
    numbers = [at for at, one in enumerate(part.boxes, start=1) if one is not None]
    unit = max((one.user_unit for one in part.boxes if one is not None), default=1.0)
    drawn = page_codes(part.data, dpi=dpi * unit, pages=numbers, max_pixels=MAX_PIXELS)
    for number, codes in zip(numbers, drawn, strict=True):
        page = part.boxes[number - 1]
        assert page is not None  # noqa: S101 - numbers lists only pages with boxes
        top, unclear = _labelled(codes, len(names))
        under = None
        if lifted is not None and part.see_through[number - 1]:
            (below,) = page_codes(lifted, dpi=dpi * unit, pages=[number], max_pixels=MAX_PIXELS)
            under = _labelled(below, len(names))[0].pixels()
            if under.shape != top.shape:  # pragma: no cover - both have the page's size
                under = None
        yield ColourMap(before + number, page, top, under, names, unclear)


@contextmanager
def _counting_from(before: int) -> Iterator[None]:
    """Name the page of the file in what is raised of a part of it."""
    try:
        yield
    except FileError as problem:
        (found,) = problem.findings
        if not before or found.place.page is None:
            raise
        place = found.place.model_copy(update={"page": before + found.place.page})
        raise FileError(found.model_copy(update={"place": place})) from problem


def _marked(
    pages: ChangeablePages,
    labels: dict[Label, int],
    before: int,
    *,
    lift: bool,
) -> _Part:
    """Return the marker copy of the pages that come after some."""
    with pages.after(before, PAGES_AT_ONCE) as these:
        writer = MarkerWriter(these.some.pdf, labels, lift=lift)
        return _copied(these, writer)


def _copied(these: PagesToChange, writer: MarkerWriter) -> _Part:
    boxes: list[PageBoxes | None] = []
    see_through: list[bool] = []
    pdf, pages = these.some.pdf, these.some.pages
    for number, page in pages.items():
        writer.has_see_through = False
        found = None
        with suppress(FileError):
            found = page_boxes(page)
            writer.write_page(page, found, number)
        boxes.append(found)
        see_through.append(writer.has_see_through)
    if len(pages) < these.of:
        rebuild(pdf, [page.obj for page in pages.values()], title="")
    return _Part(_saved(pdf), boxes, see_through, these.of)


def _saved(pdf: pikepdf.Pdf) -> bytes:
    out = io.BytesIO()
    save(pdf, out, compress_streams=False)
    return out.getvalue()


def _labelled(codes: PixelRuns, most: int) -> tuple[PixelRuns, float]:
    """Return the label of each pixel, and which share of them was taken from its neighbours."""
    labels = codes.having(labels_in(codes.values))
    if not (labels.values > most).any():
        return labels, 0.0
    return cleared(labels, most)
