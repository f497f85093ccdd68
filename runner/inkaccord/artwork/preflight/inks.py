"""Inks: kinds of colour, total ink, white that overprints, registration colour."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

from inkaccord.artwork.marks.mark import Mark
from inkaccord.artwork.preflight.case import OpenArtwork, PreflightContext
from inkaccord.artwork.preflight.rules import ArtworkRules
from inkaccord.diagnostics import Diagnostic, error, note, warning
from inkaccord.pdf.boxes import PageBoxes
from inkaccord.pdf.colours.colours import ArtworkColour, ColourKind
from inkaccord.pdf.entries import entry
from inkaccord.pdf.ghostscript import ghostscript_path
from inkaccord.pdf.groups import blends, drawn_from
from inkaccord.pdf.rendering import InkRaster
from inkaccord.sizes import Box
from inkaccord.units import PT_PER_MM
from inkaccord.words import counted

_ROUNDING_PERCENT = 1.0
"""Four 8-bit samples are within 0.8 % together."""
_EXACT = {ColourKind.CMYK, ColourKind.GRAY}
"""Kinds whose inks are their own numbers."""
_ESTIMATED = {
    ColourKind.RGB, ColourKind.LAB, ColourKind.CAL, ColourKind.ICC_CMYK, ColourKind.ICC_RGB,
    ColourKind.ICC_GRAY, ColourKind.UNKNOWN,
}  # fmt: skip


def ink_count(colour: ArtworkColour) -> int:
    """Return how many inks print a colour; four where a profile or driver decides."""
    if colour.inks is not None:
        return sum(1 for _, amount in colour.inks if amount > 0)
    return 0 if colour.is_white else 4


def check_total_ink(
    artwork: OpenArtwork, rules: ArtworkRules, _: PreflightContext
) -> Iterator[Diagnostic]:
    """``total-ink``: nowhere more ink than the stock dries; says how it was measured.

    Measured on an ink-exact rendering where Ghostscript is installed, so overprints and images
    count as they print; otherwise taken from single objects, which misses both. A page on which
    nothing can add up, and no colour is over the limit, need not be drawn.
    """
    if rules.max_total_ink is None:
        return
    pages = _pages_to_draw(artwork, rules)
    if not pages:
        return
    measured = False
    for raster in artwork.inks(pages, spots_apart=rules.spots == "keep"):
        measured = True
        yield from _ink_on_page(artwork, rules, raster)
    if not measured:
        yield from _ink_from_objects(artwork, rules)


def _pages_to_draw(artwork: OpenArtwork, rules: ArtworkRules) -> list[int]:
    """Return the pages that may print more, or in other inks, than any of their colours says."""
    limit = rules.max_total_ink or 0.0
    unsure = {
        mark.page
        for mark in artwork.marks
        if mark.colour.kind not in _EXACT
        or (mark.colour.total_ink or 0.0) > limit
        or mark.overprint
        or mark.see_through
    }

    def is_plain(number: int) -> bool:
        page = artwork.pdf.pages[number - 1]
        return not any(map(_moves_inks, (page.obj, *drawn_from(page))))

    return [
        page
        for page, _ in artwork.pages()
        if artwork.read_findings or page in unsure or not is_plain(page)
    ]


def _moves_inks(thing: Any) -> bool:
    """Tell whether what is drawn with a resource may print in other inks than its colour's."""
    converts = any(key in thing for key in ("/Group", "/DefaultCMYK", "/DefaultGray"))
    return converts or blends(thing) or entry(thing, "/Subtype") == "/Image"


def _ink_on_page(
    artwork: OpenArtwork, rules: ArtworkRules, raster: InkRaster
) -> Iterator[Diagnostic]:
    boxes = artwork.boxes[raster.page - 1]
    if boxes is None or rules.max_total_ink is None:
        return
    total = raster.total_percent()
    over = total > rules.max_total_ink + _ROUNDING_PERCENT
    if not over.any():
        return
    mm2 = boxes.media.width * boxes.media.height / PT_PER_MM**2 / total.size
    area = float(np.count_nonzero(over)) * mm2
    if area < rules.small_ink_area_mm2:
        return
    estimated = any(m.page == raster.page and m.colour.kind in _ESTIMATED for m in artwork.marks)
    yield error(
        "total-ink",
        f"up to {'an estimated ' if estimated else ''}{total.max():.0f} % of ink stand on "
        f"{_area(area)}; {rules.max_total_ink:g} % is the limit; "
        + (
            "there are colours in RGB or with a profile on the page, whose inks the printer's "
            "own conversion decides"
            if estimated
            else "measured on an ink-exact rendering"
        ),
        place=artwork.place(raster.page, _box_of(over, boxes)),
    )


def _area(mm2: float) -> str:
    """Return an area as people write it."""
    return (
        f"{mm2 / 100:.0f} cm²"
        if mm2 >= 1000
        else f"{mm2:.2g} mm²"
        if mm2 < 10
        else f"{mm2:.0f} mm²"
    )


def _box_of(pixels: NDArray[np.bool_], boxes: PageBoxes) -> Box:
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


def _ink_from_objects(artwork: OpenArtwork, rules: ArtworkRules) -> Iterator[Diagnostic]:
    limit = rules.max_total_ink or 0
    over: dict[ArtworkColour, Mark] = {}
    for mark in artwork.marks:
        total = mark.colour.total_ink
        if total is not None and total > limit + 0.01:
            over.setdefault(mark.colour, mark)
    missing = ghostscript_path() is None
    if over:
        most = max(over, key=lambda colour: colour.total_ink or 0.0)
        others = f", and {counted(len(over) - 1, 'more colour')} over it" if len(over) > 1 else ""
        yield error(
            "total-ink",
            f"{most} is {most.total_ink:.0f} % of ink{others}; {limit:g} % is the limit; taken "
            "from the file's objects, as "
            + ("Ghostscript is not installed" if missing else "the pages could not be drawn"),
            place=artwork.place(over[most].page, over[most].box),
        )
    yield note(
        "total-ink-from-objects",
        "total ink was taken from single objects: images, overprints and see-through parts that "
        "add up were not measured",
        place=artwork.place(),
        hint="install Ghostscript to have it measured"
        if missing
        else "look at dark places by eye, or export the artwork again",
    )


def check_white_overprint(
    artwork: OpenArtwork, _: ArtworkRules, __: PreflightContext
) -> Iterator[Diagnostic]:
    """``white-overprint``: white that overprints does not print at all."""
    told: set[tuple[int, ArtworkColour]] = set()
    for mark in artwork.marks:
        if not (mark.overprint and mark.colour.is_white and _vanishes(mark)):
            continue
        if (mark.page, mark.colour) not in told:
            told.add((mark.page, mark.colour))
            yield error(
                "white-overprint",
                f"a {mark.role} in white ({mark.colour}) overprints, so it will vanish on press",
                place=artwork.place(mark.page, mark.box),
            )


def _vanishes(mark: Mark) -> bool:
    """Tell whether the paint leaves what lies under it (ISO 32000-2, 8.6.7 and table 149).

    DeviceCMYK under overprint mode 1 leaves every plate where it is zero; under mode 0 it
    replaces the process plates, as gray does. A spot of 0 % leaves all other plates.
    """
    if mark.colour.kind is ColourKind.CMYK:
        return mark.overprint_mode == 1
    return mark.colour.kind in {ColourKind.SPOT, ColourKind.DEVICEN}


def check_registration(
    artwork: OpenArtwork, _: ArtworkRules, __: PreflightContext
) -> Iterator[Diagnostic]:
    """``registration-colour``: the colour of registration marks inside the piece."""
    for mark in artwork.marks:
        boxes = artwork.boxes[mark.page - 1]
        names = {name for name, amount in mark.colour.inks or () if amount > 0}
        if "All" in names and boxes is not None and mark.box.meets(boxes.trim):
            yield warning(
                "registration-colour",
                f"a {mark.role} inside the trim is in the registration colour, which prints on "
                "every plate",
                place=artwork.place(mark.page, mark.box),
            )
            return
