"""What a sample sheet is: the one value that planning, drawing, recording and the shelf share."""

import datetime
from collections.abc import Iterable
from enum import StrEnum
from typing import NamedTuple, Self

from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.conditions import INSTRUMENT_NOISE, Conditions
from inkaccord.colour.direction import Direction
from inkaccord.colour.lab import Lab
from inkaccord.colour.pairs import Pair
from inkaccord.models import Frozen
from inkaccord.sheets.settings import Hole, SheetSettings
from inkaccord.sizes import Box, Size


class Purpose(StrEnum):
    """Why a sheet is printed."""

    SCOUTING = "scouting"
    """First contact with a pair; every colour of the order shares it."""
    CLOSING_IN = "closing-in"
    """A few swatches round each colour's predicted build."""
    PROOF = "proof"
    """One swatch of each chosen build."""
    CONTROLS = "controls"
    """The control swatches alone: the cheapest way to tell whether a pair has drifted."""
    SWATCH_SET = "swatch-set"
    """A systematic range for a pair that the studio uses all the time."""
    IMPORTED = "imported"
    """Readings of a sheet that was not drawn here."""


class Swatch(Frozen):
    """One patch: its id on the sheet, its build, where it stands.

    ``box_pt`` is left, bottom, right, top on page ``page`` (from 1), from the lower left corner of
    the media. It is None for a sheet that was not drawn here.
    """

    id: str
    build: Build
    control: bool = False
    """Whether it is one of the control swatches that every sheet repeats."""
    colour: str | None = None
    """The brand colour that it serves, where it serves one."""
    for_eye: bool = False
    """Whether it is there to be held against the thing, not for the instrument."""
    ways: tuple[Direction, ...] = ()
    """How it differs from the middle of what is offered, where it stands at a ladder's end."""
    page: int = 1
    box_pt: Box | None = None


class Berth(Frozen):
    """A framed white field where a thing lies on the scanner's glass, beside the swatches."""

    colour: str
    """The brand colour that the thing is matched for."""
    page: int = 1
    box_pt: Box


class RangeStart(NamedTuple):
    """Where a range of a swatch set begins."""

    swatch: str
    """Id of its first swatch."""
    title: str


class SampleSheet(Frozen):
    """A printed page, or set of pages, of labelled swatches for one pair.

    ``id`` is short enough to read aloud, unique on the shelf, and follows from the content, so
    that the same plan has the same id on every machine.
    """

    id: str
    pair: Pair
    drive: Drive
    purpose: Purpose
    swatches: tuple[Swatch, ...]
    size: Size
    """Trim size of a page."""
    pages: int = 1
    bleed_pt: float = 0.0
    live_pt: Box | None = None
    """Left, bottom, right, top of the area that all print stays within; the corner marks sit in
    its corners. The same on every page. None for a sheet that was not drawn here."""
    settings: SheetSettings = SheetSettings()
    """The sizes that it was laid out with, so that it is drawn and found again the same."""
    page_titles: tuple[str, ...] = ()
    """What each page holds, where the pages differ (a swatch set's ranges)."""
    ranges: tuple[RangeStart, ...] = ()
    """The ranges of a swatch set, in the order of its swatches."""
    berths: tuple[Berth, ...] = ()
    """Where things are laid on the glass with it."""
    holes: tuple[Hole, ...] = ()
    """What is punched, the same on every page."""
    paper_lab: Lab | None = None
    """CIELAB of the stock, where a person told it for want of a reading."""
    order: str = ""
    """Name of the order or swatch set it was made for."""
    date: datetime.date
    """The order's date; the day of printing comes with the readings."""

    def swatch(self, swatch_id: str) -> Swatch | None:
        """Return the swatch of an id, capital or small letters alike."""
        wanted = swatch_id.strip().upper()
        return next((swatch for swatch in self.swatches if swatch.id.upper() == wanted), None)


def range_titles(swatches: Iterable[Swatch], ranges: Iterable[RangeStart]) -> dict[str, str]:
    """Return what each swatch of a swatch set's ranges stands under, by its id."""
    starts, titles, title = dict(ranges), dict[str, str](), ""
    for swatch in swatches:
        title = starts.get(swatch.id, title)
        if title and not swatch.control:
            titles[swatch.id] = title
    return titles


class Reading(Frozen):
    """What an instrument, or a calibrated scan, gave for one swatch."""

    swatch: str
    lab: Lab
    """CIELAB under the sheet's conditions."""
    spectrum: tuple[float, ...] | None = None
    """Reflectance factors 0 to 1 at the sheet's wavelengths."""


class SheetReadings(Frozen):
    """All that one reading of one sheet gave."""

    sheet: str
    readings: tuple[Reading, ...]
    conditions: Conditions = Conditions()
    wavelengths_nm: tuple[float, ...] | None = None
    noise: float = INSTRUMENT_NOISE
    """Standard deviation expected of a reading, ΔE00."""
    device: str = ""
    """The instrument, as its file names it."""
    read_on: datetime.date | None = None

    def dated(self, day: datetime.date | None) -> Self:
        """Return the same, read on a day where it does not say itself when."""
        return self if self.read_on else self.model_copy(update={"read_on": day})


class Pick(Frozen):
    """One look at a sheet: which swatch matches a brand colour, by eye or on a scanner's glass."""

    sheet: str
    colour: str
    swatch: str | None = None
    """None where none of them matches: the colour lies beyond all, the way of ``nudge`` if any."""
    between: str | None = None
    """The second swatch, when the match lies between two."""
    then: str | None = None
    """The swatch that comes next nearest."""
    among: tuple[str, ...] | None = None
    """The swatches that were looked at, such as a row; None for all that the colour has."""
    turn: int | None = None
    """Which of that day's looks it was, from 2 on: a second one with the same answer counts too."""
    nudge: Direction | None = None
    by: str = ""
    light: str = ""
    sure: float = 0.5
    """How sure the person was, 0 to 1."""
    picked_on: datetime.date | None = None
    build: tuple[float, ...] | None = None
    """The build, on the sheet's pair, that a comparison on a scanner's glass found."""
    error: float | None = None
    """Its root mean square error, ΔE00."""
