"""What follows from what is known of a pair: aims, builds, steadiness, trades."""

import datetime
from enum import StrEnum

from pydantic import Field

from inkaccord.colour.builds import Build
from inkaccord.colour.pairs import OnPair, Pair
from inkaccord.diagnostics import Diagnostic
from inkaccord.models import Frozen
from inkaccord.order.answers import SwatchName
from inkaccord.order.colours import GivenLab


class Torn(Frozen):
    """Two picks of one colour that can't both be right, and how far apart they lie, ΔE00."""

    one: SwatchName
    other: SwatchName
    apart: float


class ResolvedAim(Frozen):
    """What a brand colour should look like, as far as that is known."""

    lab: GivenLab | None
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
    """How a matched build is known."""

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


class Translation(OnPair):
    """A brand colour as a build on a pair."""

    colour: str
    build: Build
    evidence: Evidence
    aim_lab: GivenLab | None
    """What the colour should look like; None where it is only known by eye."""
    predicted_lab: GivenLab
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


class Steadiness(OnPair):
    """How a pair has kept to itself since it was first read, by its controls."""

    state: DriftState
    tolerance: float
    compared: tuple[ControlsCompared, ...]
    """Every comparison, the oldest first; each begins anew after a drift."""


class Trade(Frozen):
    """One point on the curve of a colour that some pair can't reach: alike against true."""

    colour: str
    apart: float
    """The largest ΔE00 between two pieces."""
    mean_to_aim: float
    """The mean ΔE00 of the pieces to the aim."""
    to_aim: dict[str, float]
    """The same for each piece."""
    labs: dict[str, GivenLab] = Field(default_factory=dict)
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
    steadiness: tuple[Steadiness, ...] = ()
    """Of every pair whose controls were read more than once."""
    findings: tuple[Diagnostic, ...] = ()

    def of(self, colour: str, pair: Pair) -> Translation | None:
        """Return the translation of a colour on a pair, if there is one."""
        for translation in self.known:
            if translation.colour == colour and translation.pair == pair:
                return translation
        return None
