"""What each stage gives: the values that flow from stage to stage and into the record."""

import datetime
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from pydantic import Field

from inkaccord.artwork.paints import Paint
from inkaccord.colour.agreement.verdicts import Verdict
from inkaccord.colour.builds import Build
from inkaccord.colour.pairs import Pair
from inkaccord.diagnostics import Diagnostic
from inkaccord.models import Frozen
from inkaccord.order.answers import SwatchName
from inkaccord.order.colours import Lab
from inkaccord.sheets.model import SampleSheet
from inkaccord.sheets.savings import Cost

# --- collect ---------------------------------------------------------------------------------


class FoundAs(StrEnum):
    """What a colour in an artwork turned out to be."""

    BRAND = "brand"
    """A brand colour of the order, or a tint of one."""
    KEPT = "kept"
    """Paper white, black, or named under ``keep``."""
    NEAR_MISS = "near-miss"
    """Almost a brand colour: a slip of the designer's."""
    UNKNOWN = "unknown"
    """None of these."""


class FoundColour(Frozen):
    """One colour of an artwork."""

    text: str
    """How the file writes it."""
    paint: Paint | None
    """The same as a value; None for what no paint describes (a pattern's, a photograph's)."""
    found_as: FoundAs
    colour: str | None = None
    """The brand colour it is, or nearly is."""
    tint: float = 100.0
    """Tint of the brand colour in percent."""
    area_mm2: float = 0.0
    pages: tuple[int, ...] = ()
    roles: tuple[str, ...] = ()


class PieceArtwork(Frozen):
    """What a piece's artwork contains."""

    piece: str
    path: str
    sha256: str
    pages: int
    photographs: int
    colours: tuple[FoundColour, ...]

    @property
    def brand_colours(self) -> tuple[str, ...]:
        """The brand colours that the piece carries, each once, largest area first."""
        found = [it for it in self.colours if it.found_as is FoundAs.BRAND and it.colour]
        found.sort(key=lambda it: -it.area_mm2)
        return tuple(dict.fromkeys(it.colour for it in found if it.colour))


class Collected(Frozen):
    """The colours of the order and of its artwork."""

    artworks: tuple[PieceArtwork, ...]
    failed: dict[str, str] = Field(default_factory=dict)
    """Pieces whose artwork can't be used, and why."""
    findings: tuple[Diagnostic, ...] = ()

    def of(self, piece: str) -> PieceArtwork:
        """Return a piece's artwork. Raises KeyError."""
        for artwork in self.artworks:
            if artwork.piece == piece:
                return artwork
        raise KeyError(piece)


# --- translate -------------------------------------------------------------------------------


class Torn(Frozen):
    """Two picks of one colour that can't both be right, and how far apart they lie, ΔE00."""

    one: SwatchName
    other: SwatchName
    apart: float


class ResolvedAim(Frozen):
    """What a brand colour should look like, as far as that is known."""

    lab: Lab | None
    """None while it is not known."""
    bound: float = 0.0
    """95 % bound, ΔE00, on the aim itself: 0 for one that is given in CIELAB."""
    seen_bound: float = 0.0
    """The part of it that is no doubt of the eye's: how well the colour of the print is known that
    it was taken from."""
    by_eye: bool = False
    settled: bool = True
    """Whether the eye has come to an end: a pick that lies inside what was offered, and no other
    that contradicts it."""
    torn: Torn | None = None
    """Two picks that can't both be right."""
    prints: frozenset[tuple[Pair, Build]] = frozenset()
    """The prints that are the aim: they differ from it by nothing."""
    why: str = ""
    """Why it is not known, in words."""
    findings: tuple[Diagnostic, ...] = ()
    """Picks on one pair that those on others contradict."""


class Evidence(StrEnum):
    """How a translation is known."""

    READ = "read"
    """From readings of this pair's own swatches."""
    PICKED = "picked"
    """From swatches of this pair judged by eye."""
    ESTIMATED = "estimated"
    """From other pairs and experience: good for a preview, not for printing."""


class TintBuild(Frozen):
    """The build of one tint of a brand colour."""

    tint: float
    build: Build


class Translated(Frozen):
    """What is known of a brand colour as a build, wherever it is printed."""

    colour: str
    build: Build
    evidence: Evidence
    aim_lab: Lab | None
    """What the colour should look like; None where it is only known by eye."""
    predicted_lab: Lab
    delta_e_00: float | None
    """Predicted distance to the aim; None where that is only known by eye, or not at all yet."""
    uncertainty: float
    """95 % bound, ΔE00, on the predicted colour."""
    aim_uncertainty: float = 0.0
    """The same on the aim itself, where it rests on readings or on the eye."""
    aim_by_eye: bool = False
    reachable: bool = True
    perhaps_reachable: bool = False
    """Out of reach as predicted, but by less than prediction and aim may be off."""
    lost: str = ""
    """What the pair can't reach of the aim, in words."""
    tints: tuple[TintBuild, ...] = ()
    sheets: tuple[str, ...] = ()
    """The sample sheets that it rests on."""
    known_since: datetime.date | None = None
    note: str = ""

    @property
    def to_aim(self) -> str:
        """The distance to the aim as a person reads it."""
        if self.evidence is Evidence.ESTIMATED:
            return "not yet"
        return "by eye" if self.delta_e_00 is None else f"{self.delta_e_00:.1f}"

    @property
    def sure_to(self) -> str:
        """How sure the predicted colour is, as a person reads it."""
        return "not yet" if self.evidence is Evidence.ESTIMATED else f"±{self.uncertainty:.1f}"

    @property
    def reach(self) -> str:
        """Words for a colour that the pair can't reach, as far as anyone can say; else empty."""
        if self.reachable:
            return ""
        return "perhaps just out of reach" if self.perhaps_reachable else "out of reach"


class Translation(Translated):
    """A brand colour as a build on a pair."""

    pair: Pair


class Unknown(Frozen):
    """A brand colour that can't be translated on a pair yet, and why."""

    colour: str
    pair: Pair
    why: str


class ControlsCompared(Frozen):
    """The control swatches of one print beside those of an earlier one."""

    sheet: str
    read_on: datetime.date
    since_sheet: str
    since: datetime.date
    delta_e_00: float
    """Root mean square over the controls, the readings' noise taken off."""
    largest: float
    """Of the single controls, as read."""
    swatches: int
    beyond: bool
    """Whether they lie farther apart than the device's tolerance."""


class DriftState(StrEnum):
    """What became of a pair whose controls were compared."""

    STEADY = "steady"
    RE_ANCHORED = "re-anchored"
    """It has drifted, and its earlier readings were moved by what the controls tell."""
    READ_ANEW = "read anew"
    """It has drifted, and enough was read since to know it as it is now."""
    TO_BE_READ = "to be read anew"
    """It has drifted, and its device asks for a new sheet."""


class Steadiness(Frozen):
    """How a pair has kept to itself since it was first read, by its controls."""

    state: DriftState
    tolerance: float
    compared: tuple[ControlsCompared, ...]
    """Every comparison, the oldest first; each begins anew after a drift."""


class PairSteadiness(Steadiness):
    """The steadiness of a pair whose controls were read more than once."""

    pair: Pair


class Trade(Frozen):
    """One point on the curve of a colour that some pair can't reach: alike against true."""

    colour: str
    apart: float
    """The largest ΔE00 between two pieces."""
    mean_to_aim: float
    """The mean ΔE00 of the pieces to the aim."""
    to_aim: dict[str, float]
    """The same for each piece."""
    labs: dict[str, Lab] = Field(default_factory=dict)
    """The predicted colour on each piece."""
    chosen: bool = False
    """Whether the order prints this point."""


class Translations(Frozen):
    """Every brand colour on every pair that carries it."""

    known: tuple[Translation, ...]
    aims: dict[str, ResolvedAim] = Field(default_factory=dict)
    """By colour."""
    trades: tuple[Trade, ...] = ()
    """For colours out of reach somewhere: what agreement costs."""
    unknown: tuple[Unknown, ...] = ()
    steadiness: tuple[PairSteadiness, ...] = ()
    findings: tuple[Diagnostic, ...] = ()

    def of(self, colour: str, pair: Pair) -> Translation | None:
        """Return the translation of a colour on a pair, if there is one."""
        for it in self.known:
            if it.colour == colour and it.pair == pair:
                return it
        return None


# --- plan samples ----------------------------------------------------------------------------


class StepKind(StrEnum):
    """What a person is asked for."""

    PRINT = "print"
    """A sheet is to be printed, and recorded."""
    RECORD = "record"
    """A sheet that is printed already is to be read, or picked from."""
    QUESTION = "question"
    """No paper can tell: the order is to say what is wanted."""


class Answer(Frozen):
    """A line to write in the order file."""

    field: tuple[str, ...]
    """Where it belongs: ``("pieces", "tag", "accept", "butter")``."""
    value: Any
    """What stands there then: plain data."""
    line: str
    """The same as it is written. It works at the left edge, anywhere in the file."""
    replaces: int | None = None
    """The line of the order file that it takes the place of, if the field is there already."""


class Choice(Frozen):
    """One way to answer a question."""

    words: str
    answers: tuple[Answer, ...] = ()
    """Lines to write, all of them; none where it is not the order file that must change."""
    command: str | None = None
    sheets: tuple[str, ...] = ()
    """Printed sheets that it asks to be read."""


class NextStep(Frozen):
    """What a person has to do, or to decide, before the order can go on."""

    kind: StepKind = StepKind.PRINT
    text: str
    command: str | None = None
    sheet: str | None = None
    pair: Pair | None = None
    colours: tuple[str, ...] = ()
    pieces: tuple[str, ...] = ()
    choices: tuple[Choice, ...] = ()
    """Of a question: one of them answers it."""


class PlannedSheet(Frozen):
    """A sample sheet to print, or printed and waiting to be recorded."""

    sheet: SampleSheet
    why: str
    path: str
    """Of its PDF, inside the out folder."""
    table: str
    """Of its CGATS text, inside the out folder."""
    laid: str = ""
    """Of the PDF that has it on the larger sheet that it is cut out of; empty where none is."""


class SamplePlan(Frozen):
    """What has to be printed or decided, and nothing that is known."""

    sheets: tuple[PlannedSheet, ...] = ()
    withdrawn: dict[str, str] = Field(default_factory=dict)
    """Sheets that nobody needs any more, and why, by id."""
    steps: tuple[NextStep, ...] = ()
    saved: Cost = Cost()
    """What need not be printed, because the shelf has it."""
    findings: tuple[Diagnostic, ...] = ()


# --- agree -----------------------------------------------------------------------------------


EYE_DECIDES_WITHIN = 6.0
"""Bound, ΔE00, up to which a judgement by eye is taken for one: two eyes that err by 1.5 to 3 each.
Beyond, the swatches to choose from lay too far apart."""


class Distance(Frozen):
    """How far apart a colour lies on two pieces, or on one piece and its aim."""

    colour: str
    piece: str
    other: str | None
    """The second piece; None for the aim."""
    delta_e_00: float
    paper_relative: float | None = None
    """The same with each colour seen against its own paper; None where a paper is not known, and
    to an aim that is no print on a paper."""
    paper_uncertainty: float | None = None
    """95 % bound, ΔE00, on ``paper_relative``: that of the colours and of the papers."""
    uncertainty: float
    tolerance: float
    verdict: Verdict
    by_eye: bool = False
    """Whether it rests on judgement by eye."""
    aim_uncertainty: float = 0.0
    """To an aim picked by eye: how well the eye judged, 95 %, ΔE00. It is the same for all pieces
    and no part of ``uncertainty``: the verdict is about the colour as it was picked."""
    accepted: str | None = None
    """The piece on which the order accepts the colour as it is; the distance holds no piece."""
    other_light: float | None = None
    """The distance under the order's other light, where spectra exist."""
    metamerism: float | None = None
    """Metamerism index for the change to that light (ISO 18314-4, multiplicative correction):
    what of ``other_light`` the change of light alone does."""

    @property
    def eye_decides(self) -> bool:
        """Whether it rests on judgement by eye, and the eye could see enough to judge."""
        return self.by_eye and self.uncertainty <= EYE_DECIDES_WITHIN


class Acceptance(Frozen):
    """A colour that the order accepts on a piece, and what is known of it."""

    piece: str
    colour: str
    why: str
    known: float
    """ΔE00 that it was off when it was accepted, as far as anyone could say: to the aim, or from
    another piece."""
    up_to: float
    """ΔE00 up to which it is accepted."""
    now: float
    """ΔE00 that it is off now."""

    @property
    def holds(self) -> bool:
        """Whether it still covers the colour."""
        return self.now <= self.up_to


class Agreement(Frozen):
    """Whether the pieces agree, before money is spent."""

    distances: tuple[Distance, ...] = ()
    accepted: tuple[Acceptance, ...] = ()
    """Also those that no longer hold: the colour has become worse than what was accepted."""
    held: dict[str, str] = Field(default_factory=dict)
    """Pieces that may not be released, and why."""
    findings: tuple[Diagnostic, ...] = ()


# --- recolour, impose, deliver ---------------------------------------------------------------


@dataclass(frozen=True)
class OutFile:
    """A file to be written into the out folder.

    Attributes
    ----------
    path
        Inside the out folder, with forward slashes.
    data
        Its bytes.
    what
        One word for the record: print, order-sheet, packing-list, sample, report …
    pieces
        The pieces that it shows, in order.
    vendor
        Whom it is for.
    """

    path: str
    data: bytes
    what: str
    pieces: tuple[str, ...] = ()
    vendor: str | None = None


class ProofSummary(Frozen):
    """What the proof of a recoloured file said."""

    passed: bool
    lines: tuple[str, ...]


@dataclass(frozen=True)
class RecolouredPiece:
    """A vendor's copy of one artwork."""

    piece: str
    data: bytes
    proof: ProofSummary
    findings: tuple[Diagnostic, ...] = ()


@dataclass(frozen=True)
class Recoloured:
    """Every vendor's copy that could be made."""

    pieces: tuple[RecolouredPiece, ...] = ()
    failed: dict[str, str] = field(default_factory=dict)
    findings: tuple[Diagnostic, ...] = ()


class LaidTrim(Frozen):
    """One copy of a piece on a sheet, seen from the front."""

    piece: str
    box_mm: tuple[float, float, float, float]
    """Left, bottom, right, top, from the sheet's lower left corner."""


class CutLine(Frozen):
    """One cut of the cut plan, where it lies on the sheet."""

    number: int
    ends_mm: tuple[float, float, float, float]
    """From (x, y) to (x, y): across the paper that then lies on the table."""


class SheetRun(Frozen):
    """One imposed sheet and how many of it are printed."""

    vendor: str
    device: str
    stock: str
    pieces: dict[str, int]
    """How many of each piece stand on one sheet."""
    run: int
    width_mm: float
    height_mm: float
    used: float
    """Share of the sheet that becomes pieces, 0 to 1."""
    path: str
    cut_plan: tuple[str, ...] = ()
    trims: tuple[LaidTrim, ...] = ()
    cuts: tuple[CutLine, ...] = ()
    picture: str = ""
    """SVG of the sheet, for the report."""


@dataclass(frozen=True)
class Imposed:
    """Print files, and what they say to the person who prints and cuts."""

    files: tuple[OutFile, ...] = ()
    sheets: tuple[SheetRun, ...] = ()
    notes: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """Lines for a vendor's order sheet, by vendor."""
    bounds: tuple[str, ...] = ()
    """What is known of the best possible layout, in words."""
    failed: dict[str, str] = field(default_factory=dict)
    findings: tuple[Diagnostic, ...] = ()
