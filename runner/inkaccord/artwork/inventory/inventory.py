"""What an artwork file holds: every colour with its place and area, pictures, fonts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pikepdf
from pydantic import Field

from inkaccord.artwork.advice import advised
from inkaccord.artwork.inventory.areas import PAPER, ColourMap, colour_maps
from inkaccord.artwork.inventory.drawn_pictures import Areas, parted, shares_of_pictures
from inkaccord.artwork.inventory.on_pages import BoxMm, ColourOnPage, OnPages
from inkaccord.artwork.inventory.painted import Painted, PaintedPages
from inkaccord.artwork.made_with import program_kind
from inkaccord.artwork.marks.mark import Mark
from inkaccord.artwork.marks.reader import PageReader
from inkaccord.artwork.photographs.few_colours import flat_pictures
from inkaccord.artwork.photographs.one_colour import flatten_pictures
from inkaccord.artwork.programs import ProgramKind
from inkaccord.artwork.roles import Role
from inkaccord.artwork.two_plates import two_plates
from inkaccord.colour.paints import Paint
from inkaccord.diagnostics import Diagnostic, Place, warning
from inkaccord.errors import FileError
from inkaccord.files import as_given
from inkaccord.models import Frozen
from inkaccord.pdf.boxes import PageBoxes, page_boxes
from inkaccord.pdf.colours.colours import ArtworkColour, ColourKind
from inkaccord.pdf.colours.spaces import SpaceKind
from inkaccord.pdf.groups import groups_of
from inkaccord.pdf.opening import open_artwork, opening_findings
from inkaccord.pdf.signatures import is_signed
from inkaccord.pdf.writing import save_as_packed

_UNCLEAR = 0.02


class ColourEntry(Frozen):
    """One colour of a file."""

    colour: ArtworkColour
    pages: OnPages
    overprints: bool = False
    see_through: bool = False
    layers: tuple[str, ...] = ()
    shown: bool = True
    """Whether any of it is not on a layer that is switched off."""
    steps: tuple[ArtworkColour, ...] = Field(default=(), exclude=True)
    """The flat fills of which a gradient in steps consists."""

    @property
    def area_mm2(self) -> float | None:
        """The area on all pages together."""
        return _sum(self.pages.areas_mm2)

    @property
    def roles(self) -> tuple[Role, ...]:
        """How it is used, anywhere."""
        used = {role for roles in self.pages.uses for role in roles}
        return tuple(role for role in Role if role in used)

    @property
    def marks(self) -> int:
        """How many things are painted with it."""
        return self.pages.marks


class PictureEntry(Frozen):
    """One placing of an image."""

    page: int
    width_px: int
    height_px: int
    bits: int
    space: str
    filters: tuple[str, ...]
    ppi: tuple[float, float]
    """Pixels per inch at final size."""
    masked: bool
    box_mm: BoxMm


class FontEntry(Frozen):
    """One font, with the sizes it is set in."""

    name: str
    kind: str
    embedded: bool
    subset: bool
    smallest_pt: float
    largest_pt: float
    pages: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class PageEntry:
    """One page."""

    number: int
    boxes: PageBoxes | None
    bare_mm2: float | None
    """Paper within the CropBox that nothing covers."""


class Inventory(Frozen):
    """Everything that :func:`inventory` found."""

    file: str | None
    pages: tuple[PageEntry, ...]
    colours: tuple[ColourEntry, ...]
    """The largest area first."""
    pictures: tuple[PictureEntry, ...]
    fonts: tuple[FontEntry, ...]
    dpi: float
    """At what resolution areas were measured."""
    program: ProgramKind = ProgramKind.UNKNOWN
    """What kind of program made the file, by what the file says."""
    groups: tuple[SpaceKind, ...] = ()
    """The spaces that its pages, and what they draw, mix their colours in, where they name one."""
    signed: bool = False
    """Whether it carries a signature, which any change breaks."""
    findings: tuple[Diagnostic, ...] = ()

    def by_numbers(self) -> Inventory:
        """Return it with colours that have a profile as the plain ones of the same numbers."""
        colours = (
            entry.model_copy(update={"colour": entry.colour.by_numbers}) for entry in self.colours
        )
        return self.model_copy(update={"colours": tuple(colours)})


def _sum(areas: Iterable[float | None]) -> float | None:
    known = list(areas)
    return None if any(area is None for area in known) else sum(a for a in known if a is not None)


def inventory(
    source: Path | str | bytes,
    *,
    dpi: float = 300,
    known: Sequence[Paint] = (),
    name: str | None = None,
) -> Inventory:
    """Return every colour of a PDF with its place and its area, its pictures and its fonts.

    Parameters
    ----------
    source
        The PDF.
    dpi
        Resolution of the area measurement. At 300 a rectangle or circle of 10 mm or more is
        within 1 %; a line thinner than a pixel counts as one pixel wide.
    known
        Colours that a blurred shape, of which its program made a picture, may be meant as.
    name
        What to call the file; its path by default.

    Raises
    ------
    FileError
        When the file cannot be opened. A page that cannot be drawn is a finding, and its areas
        are None.
    """
    source = as_given(source)
    label = name or (str(source) if isinstance(source, Path) else None)
    with open_artwork(source, name=name) as pdf:
        if flatten_pictures(pdf, known, guess=True):
            source = save_as_packed(pdf)
        drawn = {picture.key: picture for picture in flat_pictures(pdf, known)}
        findings = opening_findings(pdf, label)
        painted = PaintedPages(drawn)
        boxes, said = _read(pdf, painted)
        findings += said
        findings += two_plates(pdf, painted.spots)
        program, groups, signed = program_kind(pdf), groups_of(pdf), is_signed(pdf)
    del pdf  # else its objects stand beside those of the next one
    steps, shares = painted.steps, shares_of_pictures(painted.pictures, drawn)
    measured: dict[int, Areas] = {}
    met: dict[tuple[object, ...], Areas] = {}
    bare: dict[int, float] = {}
    try:
        for found_map in colour_maps(source, dpi=dpi):
            areas, bare[found_map.page] = _areas(found_map)
            areas = _summed(parted(areas, shares), steps)
            measured[found_map.page] = met.setdefault(tuple(areas.items()), areas)
            if found_map.unclear > _UNCLEAR:
                findings.append(_unclear(found_map))
    except FileError as problem:
        findings.append(
            warning(
                "area-unknown",
                f"the areas could not be measured: {problem}",
            )
        )
    return Inventory(
        file=label,
        pages=tuple(
            PageEntry(number=number, boxes=one, bare_mm2=bare.get(number))
            for number, one in enumerate(boxes, start=1)
        ),
        colours=_colours(painted, steps, measured),
        pictures=tuple(_pictures(painted.pictures)),
        fonts=_fonts(painted),
        dpi=dpi,
        program=program,
        groups=groups,
        signed=signed,
        findings=tuple(_placed(finding, label) for finding in advised(findings, program)),
    )


def _read(
    pdf: pikepdf.Pdf, painted: PaintedPages
) -> tuple[list[PageBoxes | None], list[Diagnostic]]:
    """Take the marks of every page; return the pages' boxes, and what was odd."""
    marks: list[Mark] = []
    boxes: list[PageBoxes | None] = []
    findings: list[Diagnostic] = []
    reader = PageReader(pdf, marks.append)
    for number, page in enumerate(pdf.pages, start=1):
        try:
            found = page_boxes(page)
            reader.read_page(page, found)
            boxes.append(found)
        except FileError as problem:
            findings += problem.findings
            boxes.append(None)
        painted.take(number, marks)
        marks.clear()
    return boxes, findings + reader.findings


def _placed(finding: Diagnostic, file: str | None) -> Diagnostic:
    if finding.place.file is not None or file is None:
        return finding
    return finding.model_copy(update={"place": finding.place.model_copy(update={"file": file})})


def _unclear(found: ColourMap) -> Diagnostic:
    return warning(
        "area-unclear",
        f"{found.unclear:.0%} of the page could not be given to one colour for certain",
        place=Place(page=found.page),
        hint="take the areas of this page as estimates",
    )


def _areas(found: ColourMap) -> tuple[Areas, float]:
    """Return area and area in the trim of each colour in each role, and the bare paper, in mm²."""
    pixel = found.mm2_per_pixel
    whole = found.counts(found.boxes.crop)
    same = found.window(found.boxes.trim) == found.window(found.boxes.crop)
    inside = whole if same else found.counts(found.boxes.trim)
    names = found.names
    areas = {
        names[at - 1]: (float(whole[at] * pixel), float(inside[at] * pixel))
        for at in map(int, np.flatnonzero(whole))
        if at != PAPER
    }
    return areas, float(whole[PAPER] * pixel)


def _colours(
    painted: PaintedPages,
    steps: Mapping[ArtworkColour, ArtworkColour],
    measured: Mapping[int, Areas],
) -> tuple[ColourEntry, ...]:
    consists_of: dict[ArtworkColour, list[ArtworkColour]] = {}
    for step, gradient in steps.items():
        consists_of.setdefault(gradient, []).append(step)
    entries = [
        ColourEntry(
            colour=colour,
            pages=OnPages.of(_on_pages(colour, pages, measured)),
            overprints=any(one.overprints for one in pages.values()),
            see_through=any(one.see_through for one in pages.values()),
            layers=tuple(sorted({layer for one in pages.values() for layer in one.layers})),
            shown=any(one.shown for one in pages.values()),
            steps=tuple(consists_of.get(colour, ())),
        )
        for colour, pages in painted.colours(steps).items()
    ]
    return tuple(sorted(entries, key=lambda entry: (-(entry.area_mm2 or 0), entry.colour.text)))


def _summed(areas: Areas, steps: Mapping[ArtworkColour, ArtworkColour]) -> Areas:
    """Return areas with those of a gradient's steps together."""
    if not steps:
        return areas
    found: Areas = {}
    for (colour, role), (whole, inside) in areas.items():
        key = steps.get(colour, colour), role
        before = found.get(key, (0.0, 0.0))
        found[key] = before[0] + whole, before[1] + inside
    return found


def _on_pages(
    colour: ArtworkColour, pages: Mapping[int, Painted], measured: Mapping[int, Areas]
) -> Iterable[ColourOnPage]:
    """Yield a colour on each of its pages; pages that are alike share what they have in common."""
    met: dict[tuple[int, int], ColourOnPage] = {}
    for page, painted in pages.items():
        areas = measured.get(page)
        alike = id(painted), id(areas)
        if alike not in met:
            met[alike] = _on_page(colour, page, painted, areas)
        yield replace(met[alike], page=page)


def _on_page(
    colour: ArtworkColour, page: int, painted: Painted, measured: Areas | None
) -> ColourOnPage:
    areas = {
        role: None if measured is None else measured.get((colour, role), (0.0, 0.0))
        for role in Role
        if role in painted.roles
    }
    return ColourOnPage(
        page=page,
        area_mm2=_sum(None if area is None else area[0] for area in areas.values()),
        area_in_trim_mm2=_sum(None if area is None else area[1] for area in areas.values()),
        box_mm=painted.box.in_mm,
        roles=tuple((role, None if area is None else area[0]) for role, area in areas.items()),
        marks=painted.marks,
    )


def _pictures(marks: Sequence[Mark]) -> Iterable[PictureEntry]:
    for mark in marks:
        if mark.picture is not None and mark.colour.kind is ColourKind.IMAGE:
            picture = mark.picture
            yield PictureEntry(
                page=mark.page,
                width_px=picture.width_px,
                height_px=picture.height_px,
                bits=picture.bits,
                space=picture.space,
                filters=picture.filters,
                ppi=(round(picture.ppi[0], 1), round(picture.ppi[1], 1)),
                masked=picture.masked,
                box_mm=mark.box.in_mm,
            )


def _fonts(painted: PaintedPages) -> tuple[FontEntry, ...]:
    return tuple(
        FontEntry(
            name=name,
            kind=kind,
            embedded=embedded,
            subset=subset,
            smallest_pt=round(found.smallest_pt, 3),
            largest_pt=round(found.largest_pt, 3),
            pages=tuple(found.pages),
        )
        for (name, kind, embedded, subset), found in sorted(painted.faces.items())
    )
