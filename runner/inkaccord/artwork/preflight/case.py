"""What a check looks at: an open artwork, read once, and what is known around it."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Literal

import numpy as np
import pikepdf
from numpy.typing import NDArray

from inkaccord.artwork.inventory.areas import ColourMap, colour_maps
from inkaccord.artwork.marks.mark import Mark
from inkaccord.artwork.marks.reader import SourceReader
from inkaccord.artwork.plate_copies import overprinting
from inkaccord.artwork.preflight.rules import ArtworkRules
from inkaccord.colour.legibility import Reflectances
from inkaccord.diagnostics import Diagnostic, Place
from inkaccord.errors import FileError
from inkaccord.models import Frozen
from inkaccord.pdf.boxes import PageBoxes, page_boxes
from inkaccord.pdf.colours.colours import ArtworkColour
from inkaccord.pdf.colours.spaces import PROCESS_INKS
from inkaccord.pdf.ghostscript import ghostscript_path
from inkaccord.pdf.ink_rendering import InkFile, InkRaster, ink_pages, separations
from inkaccord.pdf.opening import pdf_bytes
from inkaccord.pdf.page_source import PageSource
from inkaccord.pdf.pixel_runs import PixelRuns
from inkaccord.sizes import Box
from inkaccord.words import joined

_MOST_PIXELS = 60_000_000
_MAP_DPI = 150.0
_INK_DPI = 120.0
LESS_INK = 0.02
"""Share of full ink below which a plate is taken for whole: rounding."""


Drawn = Mapping[int, InkFile]
"""Pages in the four process inks, by their numbers."""


class AddressInk(Frozen):
    """How the address stands on its ground, by the pair's model."""

    name: str
    """The ink or brand colour that the address is set in."""
    ground: Reflectances
    ink: Reflectances


class PreflightContext(Frozen):
    """What is known beside the artwork."""

    addressed: bool = False
    """Whether it carries an address for the post."""
    mailed: bool = False
    """Whether the piece itself goes through the post: an envelope or a card."""
    post: Literal["usps", "royal-mail"] | None = None
    address_inks: tuple[AddressInk, ...] = ()


@dataclass(frozen=True)
class OpenArtwork:
    """An artwork being checked.

    Attributes
    ----------
    name
        What to call the file in findings.
    source
        Its path or bytes, for renderings.
    file
        The open file, page by page; checks must not change it.
    boxes
        The boxes of each page, None for a page without a usable size.
    marks
        Everything painted, page by page, in the order of painting.
    drawn
        The pages that have to be seen in ink, where they were drawn beforehand.
    """

    name: str | None
    source: Path | bytes
    file: PageSource
    boxes: tuple[PageBoxes | None, ...]
    marks: tuple[Mark, ...]
    read_findings: tuple[Diagnostic, ...] = ()
    drawn: Drawn | None = None

    @classmethod
    def read(cls, file: PageSource, source: Path | bytes, *, name: str | None) -> OpenArtwork:
        """Read an open file."""
        marks: list[Mark] = []
        boxes: list[PageBoxes | None] = []
        findings: list[Diagnostic] = []
        reader = SourceReader(file, marks.append)
        for number, page in file.pages():
            try:
                found = page_boxes(page)
            except FileError as problem:
                findings += problem.findings
                boxes.append(None)
                continue
            boxes.append(found)
            reader.read_page(page, found, number)
        findings += reader.findings
        return cls(name, source, file, tuple(boxes), tuple(marks), tuple(findings))

    def strict_marks(self) -> Iterator[Mark]:
        """Yield the marks as the letter of the standard has them, holding those of one page.

        By it, default spaces do not reach down.
        """
        marks: list[Mark] = []
        reader = SourceReader(self.file, marks.append, strict=True)
        for number, page, boxes in self.open_pages():
            reader.read_page(page, boxes, number)
            yield from marks
            marks.clear()

    @property
    def pdf(self) -> pikepdf.Pdf:
        """The open file for what is no page's."""
        return self.file.pdf

    def without(self, plates: Set[str]) -> OpenArtwork:
        """Return the same without what is painted in some plates alone, which do not print."""
        if not plates:
            return self

        def is_printed(mark: Mark) -> bool:
            inks = {name for name, amount in mark.colour.inks or () if amount > 0}
            return not inks or not inks <= plates

        return replace(self, marks=tuple(filter(is_printed, self.marks)))

    def pages(self) -> Iterator[tuple[int, PageBoxes]]:
        """Yield the number and boxes of each page that has a size."""
        for number, boxes in enumerate(self.boxes, start=1):
            if boxes is not None:
                yield number, boxes

    def open_pages(self) -> Iterator[tuple[int, pikepdf.Page, PageBoxes]]:
        """Yield the number, page and boxes of each page that has a size, from the file."""
        for number, page in self.file.pages():
            boxes = self.boxes[number - 1]
            if boxes is not None:
                yield number, page, boxes

    def on_page(self, number: int) -> list[Mark]:
        """Return the marks of a page that are shown and reach into its bleed."""
        return list(self._by_page.get(number, ()))

    @cached_property
    def _by_page(self) -> dict[int, list[Mark]]:
        found: dict[int, list[Mark]] = {}
        for mark in self.shown():
            boxes = self.boxes[mark.page - 1]
            if boxes is None or mark.box.meets(boxes.bleed) or mark.box.is_empty:
                found.setdefault(mark.page, []).append(mark)
        return found

    def place_of_page(self, number: int) -> Place:
        """Return the trim of a page as a place; the file where there is no such page."""
        if not 0 < number <= len(self.boxes):
            return self.place()
        boxes = self.boxes[number - 1]
        return self.place(number, boxes.trim if boxes is not None else None)

    def place(self, page: int | None = None, box: Box | None = None) -> Place:
        """Return a place in this file."""
        return Place(file=self.name, page=page, box_mm=box.in_mm if box is not None else None)

    @cached_property
    def maps(self) -> dict[int, ColourMap]:
        """Which colour stands where, by page; pages that can't be drawn are missing."""
        area = sum(one.media.area for one in self.boxes if one is not None)
        dpi = min(_MAP_DPI, 72 * (_MOST_PIXELS / max(area, 1.0)) ** 0.5)
        met: dict[bytes, PixelRuns] = {}
        try:
            return {
                found.page: replace(found, runs=met.setdefault(found.runs.digest, found.runs))
                for found in colour_maps(self.source, dpi=dpi)
            }
        except FileError:
            return {}

    def ground(self, mark: Mark, round_pt: float = 0.0) -> ArtworkColour | None:
        """Return the colour that most of a mark's box, and so far round it, shows beside itself.

        None for bare paper, and where the page could not be drawn.
        """
        found = self.maps.get(mark.page)
        if found is None:
            return None
        rows, columns = found.window(mark.box.grown(round_pt))
        counts: Counter[ArtworkColour | None] = Counter()
        labels, pixels = np.unique(found.labels[rows, columns], return_counts=True)
        for label, count in zip(labels.tolist(), pixels.tolist(), strict=True):
            colour = found.names[label - 1][0] if label else None
            if colour != mark.colour:
                counts[colour] += count
        return counts.most_common(1)[0][0] if counts else None

    def shown(self) -> Iterator[Mark]:
        """Yield the marks that are not on a layer that is switched off."""
        return (mark for mark in self.marks if mark.layer_shown)

    @cached_property
    def holes(self) -> dict[int, dict[str, NDArray[np.bool_]]]:
        """Where something painted over a spot leaves a hole in its plate: by page, then by spot.

        Found by drawing the plates a second time with all overprinting. Pages that can't be drawn
        are missing.
        """
        numbers = [number for number, _ in self.pages()]
        whole = replace(self, source=overprinting(pdf_bytes(self.source)))
        drawn = zip(
            self.inks(numbers, spots_apart=True),
            whole.inks(numbers, spots_apart=True),
            strict=False,
        )
        found: dict[int, dict[str, NDArray[np.bool_]]] = {}
        for as_is, with_all in drawn:
            spots = [it for it in with_all.inks if it not in PROCESS_INKS]
            found[as_is.page] = {
                spot: with_all.plate(spot) > as_is.plate(spot) + LESS_INK for spot in spots
            }
        return found

    def inks(self, pages: Sequence[int], *, spots_apart: bool) -> Iterator[InkRaster]:
        """Yield ink-exact renderings page by page; nothing where they can't be had."""
        if self.drawn is not None and not spots_apart:
            yield from (self.drawn[page].read() for page in pages)
            return
        if ghostscript_path() is None:
            return
        try:
            if spots_apart:
                yield from separations(self.source, dpi=self.ink_dpi, pages=pages)
            else:
                yield from ink_pages(self.source, dpi=self.ink_dpi, pages=pages)
        except FileError:
            return

    @property
    def ink_dpi(self) -> float:
        """Pixels per inch of renderings in ink, lowered for very large pages."""
        return min(_INK_DPI, 72 * math.sqrt(_MOST_PIXELS / 2 / max(self._largest, 1.0)))

    @property
    def ink_pixels(self) -> float:
        """How many pixels the largest page has in ink."""
        return self._largest * (self.ink_dpi / 72) ** 2

    @property
    def _largest(self) -> float:
        return max((one.media.area for one in self.boxes if one is not None), default=1.0)


def more_like(marks: Sequence[Mark]) -> str:
    """Return how many marks there are beside the first, and on which pages; empty for none."""
    if len(marks) < 2:
        return ""
    pages = sorted({mark.page for mark in marks[1:]})
    here = pages == [marks[0].page]
    several = "pages" if len(pages) > 1 else "page"
    where = "this page" if here else f"{several} {joined([str(one) for one in pages[:8]])}"
    return f" ({len(marks) - 1} more like it on {where})"


def area_in_words(mm2: float) -> str:
    """Return an area as people write it."""
    return (
        f"{mm2 / 100:.0f} cm²"
        if mm2 >= 1000
        else f"{mm2:.2g} mm²"
        if mm2 < 10
        else f"{mm2:.0f} mm²"
    )


def box_of(pixels: NDArray[np.bool_], boxes: PageBoxes) -> Box:
    """Return the box around pixels of a rendering, turned back as the page is turned."""
    turned = np.rot90(pixels, boxes.rotation // 90)
    rows, columns = np.nonzero(turned.any(axis=1))[0], np.nonzero(turned.any(axis=0))[0]
    height, width = turned.shape
    media = boxes.media
    x, y = media.width / width, media.height / height
    return Box(
        left=media.left + float(columns[0]) * x,
        right=media.left + float(columns[-1] + 1) * x,
        top=media.top - float(rows[0]) * y,
        bottom=media.top - float(rows[-1] + 1) * y,
    )


Check = Callable[[OpenArtwork, ArtworkRules, PreflightContext], Iterable[Diagnostic]]
"""One check: yields its findings; says nothing where all is well."""
