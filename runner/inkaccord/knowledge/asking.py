"""Questions without an order: what a colour is, and its build on each pair."""

from typing import Protocol

import numpy as np

from inkaccord.colour.agreement.tolerances import JUST_SEEN
from inkaccord.colour.arrays import Array
from inkaccord.colour.builds import FULL_SCALE, Build
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.lab import Lab, as_lab
from inkaccord.colour.matching.match import match
from inkaccord.colour.pairs import OnPair, Pair
from inkaccord.colour.sampling.gain import bound_after
from inkaccord.colour.spaces import srgb_to_lab
from inkaccord.diagnostics import Diagnostic, Place, note, warning
from inkaccord.errors import OrderError
from inkaccord.knowledge.aims import picked_aim
from inkaccord.knowledge.elsewhere import told_by
from inkaccord.knowledge.matched import lost_words
from inkaccord.knowledge.pairs import PairKnowledge
from inkaccord.knowledge.picking import Picked
from inkaccord.knowledge.values import Evidence
from inkaccord.models import Frozen
from inkaccord.order.answers import SwatchName
from inkaccord.order.book import BookColour
from inkaccord.order.colours import Aim
from inkaccord.order.mistakes import nearest
from inkaccord.order.wanted import Wanted
from inkaccord.sheets.controls import control_builds
from inkaccord.sheets.model import SampleSheet
from inkaccord.sheets.reading.samples import read_thing
from inkaccord.words import counted, quoted

WORTH_PRINTING = 0.2
"""ΔE00 by which a bound must come down before a sheet for it is offered. Common practice, no
source: an instrument repeats no better."""
FIRST_SHEET = 40
"""Swatches of the first sheet of a pair that nobody has read: docs/measured.md measures it."""
_NEAR, _REACH, _STEP = 8, 4, 0.05
"""Swatches round a build, how far they reach, ΔE00, on a sheet that makes it surer, and about which
share of a channel that is."""


class Asks(Protocol):
    """Where the answers come from: a shelf, and the order that is named, if one is."""

    def know(self, pair: Pair) -> PairKnowledge:
        """Return what is known of a pair. Raises OrderError for one that nobody knows."""
        ...

    def pairs(self) -> tuple[Pair, ...]:
        """Return all pairs that are known."""
        ...

    def entry(self, name: str) -> BookColour:
        """Return a colour of the studio's book. Raises OrderError ``no-such-colour``."""
        ...

    def aim_in_order(self, name: str) -> Aim:
        """Return the aim of an order's colour. Raises OrderError ``no-such-colour``."""
        ...

    def pairs_in_order(self) -> tuple[Pair, ...]:
        """Return the pairs of the named order, whose looks alone count in it."""
        ...

    def sheet(self, sheet_id: str) -> SampleSheet:
        """Return a sheet. Raises OrderError ``no-such-sheet``."""
        ...


class AskedColour(Frozen):
    """A colour that was asked for, as far as it is known what it looks like."""

    said: str
    """As a person reads it."""
    lab: Lab | None
    """CIELAB, D50 and 2°; None for a build that names no pair, which is another on each."""
    bound: float = 0.0
    """95 % bound, ΔE00, on that: 0 for what was given as CIELAB or read."""
    build: Build | None = None
    on: Pair | None = None
    """The print that it is, where it is one."""
    picked_as: str = ""
    """What picks call it, where the eye judges it."""
    assumed: str = ""
    """What is taken for granted, where it is no better known."""
    findings: tuple[Diagnostic, ...] = ()


class Surer(Frozen):
    """What to do to be surer of an answer."""

    why: str
    command: tuple[str, ...]
    """Words after ``inkaccord``."""
    bound_after: float | None = None
    """95 % bound, ΔE00, once that is read, as far as the model can tell beforehand."""


class PairAnswer(OnPair):
    """A colour on a pair."""

    build: Build
    predicted_lab: Lab
    uncertainty: float
    """95 % bound, ΔE00, on the predicted colour."""
    delta_e_00: float | None
    """Predicted distance to what was asked for; None for a build, which is itself on each pair."""
    evidence: Evidence
    itself: bool = False
    """Whether this is the print that was asked for."""
    reachable: bool = True
    perhaps_reachable: bool = False
    """Out of reach as predicted, but by less than prediction and aim may be off."""
    lost: str = ""
    """What the pair can't reach, in words."""
    readings: int = 0
    assumed: str = ""
    surer: Surer | None = None


def resolve_colour(wanted: Wanted, source: Asks) -> AskedColour:
    """Return what a colour in words looks like.

    A swatch of a sheet is a build on the sheet's pair: what the pair prints, by all its readings.

    Raises OrderError for a sheet, swatch or pair that nobody knows, and as
    :func:`~inkaccord.sheets.reading.samples.read_thing` does for files.
    """
    if wanted.lab is not None:
        return AskedColour(said=wanted.said, lab=wanted.lab)
    if wanted.entry is not None:
        return resolve_entry(source.entry(wanted.entry), source)
    if wanted.ordered is not None:
        aim = source.aim_in_order(wanted.ordered)
        if aim.from_book is not None:
            return resolve_entry(source.entry(aim.from_book), source)
        return _aimed(wanted.said, wanted.ordered, aim, source, source.pairs_in_order())
    if wanted.file is not None:
        thing = read_thing(wanted.file)
        return AskedColour(said=wanted.said, lab=thing.lab, findings=thing.findings)
    said, on, build = wanted.said, wanted.on, wanted.build
    if wanted.swatch is not None:
        on, build = swatch_print(wanted.swatch, source)
        said = f"{said} ({build} on {on})"
    assert build is not None  # noqa: S101 -- nothing else is left
    if on is None:
        return AskedColour(said=said, lab=None, build=build)
    return print_of(said, build, source.know(on))


def resolve_entry(colour: BookColour, source: Asks) -> AskedColour:
    """Return what a colour of the book looks like, as far as its aim is known."""
    said = f"{colour.name} of the book"
    return _aimed(said, colour.name, colour.aim, source, source.pairs())


def _aimed(
    said: str, name: str, aim: Aim, source: Asks, looked_on: tuple[Pair, ...]
) -> AskedColour:
    """Return what a colour looks like, as far as its aim is known.

    Picks go by its name; those on the pairs ``looked_on`` count.
    """
    if aim.build is not None and aim.on is not None:
        return print_of(said, aim.build, source.know(aim.on))
    if aim.lab is not None:
        return AskedColour(said=said, lab=aim.lab)
    picked = picked_aim(name, map(source.know, looked_on), place=Place())
    return AskedColour(
        said=said,
        lab=picked.lab,
        bound=round(picked.bound, 3),
        picked_as=name,
        assumed=picked.why,
        findings=picked.findings,
    )


def print_of(said: str, build: Build, known: PairKnowledge) -> AskedColour:
    """Return a build on a pair as the colour that it has there."""
    _check_drive(build, known)
    return AskedColour(
        said=said,
        lab=as_lab(known.lab_of(build)),
        bound=round(known.bound_of(build), 3),
        build=build,
        on=known.pair,
        assumed=assumed_of(known),
    )


def swatch_print(name: SwatchName, source: Asks) -> tuple[Pair, Build]:
    """Return the pair and the build of a swatch. Raises OrderError ``no-such-swatch``."""
    sheet = source.sheet(name.sheet)
    by_id = {swatch.id.upper(): swatch for swatch in sheet.swatches}
    if name.swatch not in by_id:
        near = nearest(name.swatch, by_id)
        raise OrderError.of(
            "no-such-swatch",
            f"sheet {sheet.id} has no swatch {name.swatch}",
            hint=f"did you mean {' or '.join(near)}?"
            if near
            else f"'inkaccord shelf show {sheet.id}' lists them",
        )
    return sheet.pair, by_id[name.swatch].build


def answer(asked: AskedColour, known: PairKnowledge) -> PairAnswer:
    """Return a colour's build on a pair, what it will look like there, and how sure that is.

    Raises OrderError ``wrong-drive`` for a build that the pair is not driven by, ``not-picked``
    for a colour that the eye judges and nobody has picked.
    """
    picked = _picked(asked, known) if asked.picked_as else None
    if picked is not None and not picked.outdated and (asked.lab is None or not known.is_read):
        # Whoever picked says that it matches; only a reading of this pair knows better.
        lab = picked.lab if known.is_read or asked.lab is None else asked.lab
        by_eye = _answered(known, picked.build, lab, picked.bound)
        return by_eye.model_copy(
            update={"evidence": Evidence.PICKED, "surer": None, "assumed": "picked by eye"}
        )
    if asked.picked_as and asked.lab is None:
        raise OrderError.of(
            "not-picked",
            f"{asked.said} is judged by eye, and nobody has picked it on {known.pair} or on any "
            "pair that is read",
            hint="hold the thing beside a printed sheet: 'inkaccord look SHEET', or 'inkaccord "
            f"record SHEET --pick {quoted(asked.picked_as)}=B7'",
        )
    if asked.lab is None or asked.on == known.pair:
        assert asked.build is not None  # noqa: S101 -- without a colour it is a build
        _check_drive(asked.build, known)
        bound = known.bound_of(asked.build)
        itself = asked.on == known.pair
        return _answered(
            known, asked.build, as_lab(known.lab_of(asked.build)), bound, itself=itself
        )
    found = match(known.model, np.array(asked.lab), known.policy)[0]
    lab = as_lab(np.array(found.predicted_lab))
    distance = float(delta_e_2000(np.array(lab), np.array(asked.lab)))
    reachable = distance < JUST_SEEN
    return _answered(known, found.build, lab, found.bound).model_copy(
        update={
            "delta_e_00": round(distance, 3),
            "reachable": reachable,
            "perhaps_reachable": not reachable
            and distance <= float(np.hypot(found.bound, asked.bound)),
            "lost": "" if reachable else lost_words(found),
        }
    )


def _picked(asked: AskedColour, known: PairKnowledge) -> Picked | None:
    """Return what was picked on a pair, in the light of what it is where others are read."""
    if asked.lab is None or known.is_read:
        return known.picked(asked.picked_as)
    return known.picked(asked.picked_as, told_by(np.array(asked.lab), asked.bound, known))


def _answered(
    known: PairKnowledge, build: Build, lab: Lab, bound: float, *, itself: bool = False
) -> PairAnswer:
    return PairAnswer(
        **known.pair.parts,
        build=build,
        predicted_lab=lab,
        uncertainty=round(bound, 3),
        delta_e_00=0.0 if itself else None,
        evidence=Evidence.READ if known.is_read else Evidence.ESTIMATED,
        itself=itself,
        readings=0 if known.readings is None else len(known.readings.xyz),
        assumed=assumed_of(known),
        surer=surer_of(known, build, bound),
    )


def _check_drive(build: Build, known: PairKnowledge) -> None:
    if build.drive is not known.drive:
        raise OrderError.of(
            "wrong-drive",
            f"{build} is no build for {known.pair}, which is driven in {known.drive.upper()}",
            hint="a screen's colour is written '#2F5D50', and any colour as 'lab 41 -20 8'",
        )


def assumed_of(known: PairKnowledge) -> str:
    """Say what is taken for granted of a pair that is not read, or no longer; else nothing."""
    if known.is_read:
        return known.stale
    if known.waits_for_new_sheet:
        return f"it has drifted and must be read anew: {known.drift}"
    number = 0 if known.readings is None else len(known.readings.xyz)
    said = (
        "no swatch of it is read"
        if not number
        else f"only {counted(number, 'swatch')} of it {'is' if number == 1 else 'are'} read"
    )
    if number:
        return f"{said}; the rest is what devices of its kind usually print"
    lightness, a, b = known.paper
    inks = "the same device on another stock" if known.kin else "devices of its kind"
    return (
        f"{said}: its paper is taken as CIELAB {lightness:g}, {a:g}, {b:g}, its inks as those of "
        f"{inks}"
    )


def surer_of(known: PairKnowledge, build: Build, bound: float) -> Surer | None:
    """Return what to print, or to read, to be surer of a build; None where it would not help."""
    waiting = known.waiting()
    if not known.is_read and waiting:
        sheet = waiting[0].id
        return Surer(why=f"its sheet {sheet} waits to be read", command=("record", sheet, "FILE"))
    pair = str(known.pair)
    if not known.is_read:
        drive = () if known.sheets else ("--drive", known.drive.value)
        command = ("swatches", pair, "--count", str(FIRST_SHEET), *drive)
        return Surer(why=f"a first sheet of {FIRST_SHEET} swatches", command=command)
    after = float(bound_after(known.model, np.array([build.values]), _read_near(build))[0])
    if bound - after < WORTH_PRINTING:
        return None
    near = ("--near", str(build), "--reach", str(_REACH), "--count", str(_NEAR))
    return Surer(
        why=f"{_NEAR} swatches near it",
        command=("swatches", pair, *near),
        bound_after=round(after, 3),
    )


def build_of_new(wanted: Wanted, pair: Pair | None, source: Asks) -> tuple[Build, Diagnostic]:
    """Return the build that a colour of an artwork becomes, and what to say of it.

    Without a pair it is that of a swatch, as it stands on its sheet. Raises OrderError as
    :func:`resolve_colour` and :func:`answer` do.
    """
    if pair is None:
        assert wanted.swatch is not None  # noqa: S101 -- nothing else comes without a pair
        on, build = swatch_print(wanted.swatch, source)
        return build, note("asked", f"{wanted.said} is {build}, as it was printed on {on}")
    found = answer(resolve_colour(wanted, source), source.know(pair))
    off = "" if found.delta_e_00 is None else f"{found.delta_e_00:.1f} ΔE00 off as predicted, "
    said = f"{wanted.said} on {pair} is {found.build}, {off}±{found.uncertainty:.1f}"
    if found.evidence is Evidence.ESTIMATED:
        return found.build, warning(
            "estimated-build",
            f"{said}: {found.assumed}",
            hint="print and read a sheet of it first; 'inkaccord ask' says which",
        )
    if not found.reachable:
        return found.build, warning("out-of-reach", f"{said}; out of reach: {found.lost}")
    return found.build, note("asked", said)


def _read_near(build: Build) -> Array:
    """Return builds (n, k) about as a sheet near a build has them: it, its neighbours, controls."""
    values = np.array(build.values)
    step = _STEP * FULL_SCALE[build.drive] * np.eye(len(values))
    near = np.clip(np.vstack([values, values + step, values - step]), 0, FULL_SCALE[build.drive])
    return np.vstack([near[:_NEAR], [it.values for it in control_builds(build.drive)]])


def near_lab(wanted: Wanted, known: PairKnowledge, source: Asks) -> Lab:
    """Return CIELAB of a colour as one pair has it: a build without a pair is on this one.

    RGB numbers on a pair in CMYK are what a screen shows of them. A colour that the eye judges is
    what was picked; raises OrderError as :func:`answer` does where nobody has.
    """
    if wanted.build is not None and wanted.on is None:
        if wanted.build.drive is known.drive:
            return as_lab(known.lab_of(wanted.build))
        if wanted.build.drive.value == "rgb":
            return as_lab(srgb_to_lab(np.array(wanted.build.values) / 255.0))
        _check_drive(wanted.build, known)
    resolved = resolve_colour(wanted, source)
    return answer(resolved, known).predicted_lab if resolved.lab is None else resolved.lab
