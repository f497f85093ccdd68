"""Inks: kinds of colour, total ink, white that overprints, registration colour."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

from inkaccord.artwork.marks.mark import OWN_COLOURS, Mark, PlacedPicture
from inkaccord.artwork.plates import spots_of
from inkaccord.artwork.preflight.case import (
    OpenArtwork,
    PreflightContext,
    area_in_words,
    box_of,
    more_like,
)
from inkaccord.artwork.preflight.rules import ArtworkRules
from inkaccord.diagnostics import Diagnostic, error, note, warning
from inkaccord.pdf.colours.colours import ArtworkColour, ColourKind
from inkaccord.pdf.entries import entry
from inkaccord.pdf.ghostscript import ghostscript_path
from inkaccord.pdf.groups import blends, drawn_from
from inkaccord.pdf.ink_questions import InkQuestion
from inkaccord.pdf.ink_rendering import InkRaster
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

    ``ink-without-limit``: how much it is at most where no limit is stated.
    """
    if rules.max_total_ink is None:
        if rules.tell_ink:
            yield from _most_ink(artwork, rules)
        return
    pages = _pages_to_draw(artwork, rules)
    if not pages:
        return
    measured = False
    for raster in artwork.inks(pages, spots_apart=_apart(rules)):
        measured = True
        yield from _ink_on_page(artwork, rules, raster)
    if not measured:
        yield from _ink_from_objects(artwork, rules)


def _most_ink(artwork: OpenArtwork, rules: ArtworkRules) -> Iterator[Diagnostic]:
    """Say how much ink stands anywhere at most, so that a person can ask whether it will do."""
    drawn = _pages_to_draw(artwork, rules)
    most = {mark.page: 0.0 for mark in artwork.shown()}
    for mark in artwork.shown():
        if mark.page not in drawn:
            most[mark.page] = max(most[mark.page], _ink_of(mark, rules))
    measured = set()
    for raster in artwork.inks(drawn, spots_apart=_apart(rules)):
        most[raster.page] = float(_total(raster, rules).max())
        measured.add(raster.page)
    if not most or measured < set(drawn):
        return  # the pages could not be drawn
    page = max(most, key=lambda number: (most[number], -number))
    if not most[page]:
        return
    yield note(
        "ink-without-limit",
        f"no ink limit is stated for this device; the most ink is "
        f"{'an estimated ' if _is_estimated(artwork, page) else ''}{most[page]:.0f} %",
        place=artwork.place_of_page(page),
        hint="ask the vendor for its limit, and set the device's 'ink_limit'",
    )


def ink_question(artwork: OpenArtwork, rules: ArtworkRules) -> InkQuestion | None:
    """Return what :func:`check_total_ink` has to see of an artwork, plates of spots left out.

    Without pages where it has to see none; None where it has to look for itself.
    """
    if not isinstance(artwork.source, bytes) or _apart(rules) or ghostscript_path() is None:
        return None
    asks = rules.max_total_ink is not None or rules.tell_ink
    pages = _pages_to_draw(artwork, rules) if asks else []
    return InkQuestion((artwork.source,), tuple(pages), artwork.ink_dpi, bits=8)


def _apart(rules: ArtworkRules) -> bool:
    """Whether spots are measured as plates of their own."""
    return rules.spots == "keep" or bool(rules.finishes)


def _ink_of(mark: Mark, rules: ArtworkRules) -> float:
    """Return the ink of one object in percent, finishes left out; 0 where it is not known."""
    total = mark.colour.total_ink or 0.0
    plates = {rule.plate for rule in rules.finishes}
    return total - sum(amount for name, amount in mark.colour.inks or () if name in plates)


def _total(raster: InkRaster, rules: ArtworkRules) -> NDArray[np.float32]:
    """Return the ink that stands at every place in percent, finishes left out."""
    return raster.total_percent(without={rule.plate for rule in rules.finishes})


def _is_estimated(artwork: OpenArtwork, page: int) -> bool:
    """Whether a page has colours or pictures whose inks a conversion decides."""
    return any(
        part.kind in _ESTIMATED or (mark.picture is not None and _converts(mark.picture))
        for mark in artwork.shown()
        if mark.page == page
        for part in (mark.colour, *mark.colour.parts)
    )


def _converts(picture: PlacedPicture) -> bool:
    """Whether the inks of a picture are a conversion's to decide."""
    return picture.pixel_space in {OWN_COLOURS, *map(str, _ESTIMATED)}


def _pages_to_draw(artwork: OpenArtwork, rules: ArtworkRules) -> list[int]:
    """Return the pages that may print more, or in other inks, than any of their colours says."""
    if artwork.drawn is not None:
        return list(artwork.drawn)
    limit = rules.max_total_ink or math.inf
    unsure = {
        mark.page
        for mark in artwork.marks
        if mark.colour.kind not in _EXACT
        or _ink_of(mark, rules) > limit
        or mark.overprint
        or mark.see_through
    }

    if artwork.read_findings:
        return [number for number, _ in artwork.pages()]
    return [
        number
        for number, page, _ in artwork.open_pages()
        if number in unsure or any(map(_moves_inks, (page.obj, *drawn_from(page))))
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
    total = _total(raster, rules)
    over = total > rules.max_total_ink + _ROUNDING_PERCENT
    if not over.any():
        return
    mm2 = boxes.media.width * boxes.media.height / PT_PER_MM**2 / total.size
    area = float(np.count_nonzero(over)) * mm2
    if area < rules.small_ink_area_mm2:
        return
    estimated = _is_estimated(artwork, raster.page)
    yield error(
        "total-ink",
        f"up to {'an estimated ' if estimated else ''}{total.max():.0f} % of ink stand on "
        f"{area_in_words(area)}; {rules.max_total_ink:g} % is the limit; "
        + (
            "there are colours or pictures in RGB or with a profile on the page, whose inks the "
            "printer's own conversion decides"
            if estimated
            else "measured on an ink-exact rendering"
        ),
        place=artwork.place(raster.page, box_of(over, boxes)),
    )


def _ink_from_objects(artwork: OpenArtwork, rules: ArtworkRules) -> Iterator[Diagnostic]:
    limit = rules.max_total_ink or 0
    over: dict[ArtworkColour, Mark] = {}
    for mark in artwork.marks:
        if _ink_of(mark, rules) > limit + 0.01:
            over.setdefault(mark.colour, mark)
    missing = ghostscript_path() is None
    if over:
        most = max(over, key=lambda colour: _ink_of(over[colour], rules))
        others = f", and {counted(len(over) - 1, 'more colour')} over it" if len(over) > 1 else ""
        yield error(
            "total-ink",
            f"{most} is {_ink_of(over[most], rules):.0f} % of ink{others}; {limit:g} % is the "
            "limit; taken from the file's objects, as "
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
    for mark in artwork.shown():
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
    for mark in artwork.shown():
        boxes = artwork.boxes[mark.page - 1]
        names = {name for name, amount in mark.colour.inks or () if amount > 0}
        if "All" in names and boxes is not None and mark.box.meets(boxes.trim):
            yield error(
                "registration-colour",
                f"a {mark.role} inside the trim is in the registration colour, which prints on "
                "every plate",
                place=artwork.place(mark.page, mark.box),
            )
            return


def check_spots_mixed(
    artwork: OpenArtwork, _: ArtworkRules, __: PreflightContext
) -> Iterator[Diagnostic]:
    """``spot-see-through``: spots that are see-through, or multiply with what lies under them.

    What two inks look like on each other no file says, and a front end may turn the spot into
    process colour to find out.
    """
    found: dict[str, list[Mark]] = {}
    for number, _boxes in artwork.pages():
        for mark in artwork.on_page(number):
            for name in spots_of(mark.colour) if mark.see_through else ():
                found.setdefault(name, []).append(mark)
    for name, marks in found.items():
        modes = sorted(mode for mark in marks for mode in mark.blend_modes)
        mixed = "is mixed with what lies under it"
        how = f"{mixed} ({modes[0].lower()})" if modes else "is see-through"
        yield warning(
            "spot-see-through",
            f"a {marks[0].role} in the spot {name!r} {how}; it may leave its plate for process "
            "inks, and how it looks on others nobody can say" + more_like(marks),
            place=artwork.place(marks[0].page, marks[0].box),
        )
