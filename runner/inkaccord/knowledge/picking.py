"""What was picked by eye for a colour on a pair, all looks taken together."""

import datetime
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from inkaccord.colour.belief import Told
from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.lab import Lab, as_lab
from inkaccord.colour.looks import LEAST_SURE, Look, Offered
from inkaccord.colour.pairs import Pair
from inkaccord.colour.picks import LOOKS_A_SHEET, SETTLED, offered_on, picked_build
from inkaccord.colour.predictor import Predictor
from inkaccord.colour.sampling.eye_set import COARSE, ladder_ways, steps_of
from inkaccord.diagnostics import Diagnostic
from inkaccord.knowledge.values import Torn
from inkaccord.order.answers import SwatchName
from inkaccord.sheets.model import Pick, Swatch
from inkaccord.shelf.kept import KeptPick


class PickedPair(Protocol):
    """What picks are weighed by: a :class:`~inkaccord.knowledge.pairs.PairKnowledge`."""

    @property
    def pair(self) -> Pair:
        """The pair."""

    @property
    def drive(self) -> Drive:
        """How its device is driven."""

    @property
    def policy(self) -> InkPolicy:
        """How its inks are to be used."""

    @property
    def picks(self) -> tuple[KeptPick, ...]:
        """Everything that was picked on it."""

    @property
    def decided(self) -> Mapping[str, SwatchName]:
        """The swatches that a person has said are the thing, by colour."""

    @property
    def is_read(self) -> bool:
        """Whether there are readings enough to print by."""

    @property
    def model(self) -> Predictor:
        """Its press model."""

    @property
    def other_models(self) -> tuple[Predictor, ...]:
        """What it may print as well, where nothing tells."""

    @property
    def model_before(self) -> Predictor | None:
        """The model of the time before it drifted; None where it hasn't."""

    def predates_drift(self, sheets: Iterable[str]) -> bool:
        """Tell whether all of some sheets were printed before the pair drifted."""


@dataclass(frozen=True)
class Picked:
    """The build that was picked, and what it looks like.

    Attributes
    ----------
    build
        What to print.
    model
        The model of the pair that it was judged by.
    lab
        Its CIELAB, as that model has it.
    bound
        95 % bound, ΔE00, on how well the eye judged.
    settled
        Whether the colour lay well inside the swatches that were offered for it. At their rim it
        says only which way to go on.
    swatches
        The swatches that were picked.
    since
        The day of the newest of these picks.
    change
        Root mean square ΔE00 by which one more sheet would change the colour.
    steps
        How far its swatches would stand apart in lightness, chroma and hue, ΔE00.
    findings
        Picks that contradict the others.
    torn
        The two picks that are farthest apart, where there is no telling which of them is right.
    outdated
        Whether the pair has drifted since the sheets were printed: the colour still counts, the
        build no longer does.
    """

    build: Build
    model: Predictor
    lab: Lab
    bound: float
    settled: bool
    swatches: tuple[SwatchName, ...]
    since: datetime.date
    change: float = 0.0
    steps: tuple[float, float, float] = (COARSE, COARSE, COARSE)
    findings: tuple[Diagnostic, ...] = ()
    torn: Torn | None = None
    outdated: bool = False

    @property
    def sheets(self) -> tuple[str, ...]:
        """The sheets that were picked on."""
        return tuple(dict.fromkeys(it.sheet for it in self.swatches))


def weigh_picks(known: PickedPair, colour: str, told: Told | None = None) -> Picked | None:
    """Return the picks for a colour as one, or None where there is none.

    ``told`` is where the thing lies on this pair by what was found out elsewhere.
    """
    chosen = [it for it in known.picks if it.pick.colour == colour and _counts(known, it)]
    outdated = known.predates_drift(it.sheet.id for it in chosen)
    model = (known.model_before if outdated else None) or known.model
    offers: dict[tuple[str, bool], Offered] = {}
    looked = [(it, look) for it in chosen if (look := _look(it, model, offers)) is not None]
    if not looked:
        return None
    looks = [look for _, look in looked]
    # A scanner says a build: what that looks like is its model's word.
    others = () if any(it.compared for it in looks) else known.other_models
    found = picked_build(model, looks, known.policy, others, told)
    names = tuple(_named(it, look, found.lab) for it, look in looked)
    return Picked(
        build=Build(drive=known.drive, values=tuple(found.build.tolist())),
        model=found.model,
        lab=as_lab(found.lab),
        bound=found.bound,
        settled=found.bound <= SETTLED or known.decided.get(colour) in names,
        swatches=names,
        since=max(it.day for it, _ in looked),
        change=found.belief.change_by(LOOKS_A_SHEET),
        steps=steps_of(found.belief.spread(ladder_ways(found.lab))),
        outdated=outdated,
        torn=_torn(names, found.apart) if len(found.findings) == len(names) else None,
        findings=tuple(
            finding.model_copy(update={"message": f"{colour} on {known.pair}: {finding.message}"})
            for finding in found.findings
        ),
    )


def _named(kept: KeptPick, look: Look, lab: np.ndarray) -> SwatchName:
    """Return the swatch that was picked; where none was, the one that lies nearest to the thing."""
    if kept.pick.swatch is not None:
        return SwatchName(kept.sheet.id, kept.pick.swatch)
    nearest = int(delta_e_2000(look.offered.labs, lab).argmin())
    return SwatchName(kept.sheet.id, (_group(kept) or kept.sheet.swatches)[nearest].id)


def _counts(known: PickedPair, kept: KeptPick) -> bool:
    """Tell whether a pick counts: where a person has said which swatch is the thing, it alone.

    On a pair that nobody has read, what was picked there is all that is known of it.
    """
    decided = known.decided.get(kept.pick.colour)
    if decided is None or (kept.sheet.id, kept.pick.swatch) == (decided.sheet, decided.swatch):
        return True
    return not known.is_read and decided.sheet not in {it.sheet.id for it in known.picks}


def _torn(names: Sequence[SwatchName], apart: np.ndarray) -> Torn | None:
    """Return the two that lie farthest apart."""
    one, other = sorted(int(at) for at in np.unravel_index(int(np.argmax(apart)), apart.shape))
    return (
        Torn(one=names[one], other=names[other], apart=float(apart[one, other])) if other else None
    )


def offered_before(known: PickedPair, colour: str, builds: Iterable[Build]) -> bool:
    """Tell whether a pick was made among these very swatches: once more, they would say the same.

    That is so where a pair has come to the end of what it can print.
    """
    wanted = set(builds)
    return any(
        wanted <= {swatch.build for swatch in _group(kept)}
        for kept in known.picks
        if kept.pick.colour == colour
    )


def _group(kept: KeptPick) -> tuple[Swatch, ...]:
    """Return the swatches that stand on a sheet for the colour of a pick."""
    return tuple(it for it in kept.sheet.swatches if it.colour == kept.pick.colour)


def _look(kept: KeptPick, model: Predictor, offers: dict[tuple[str, bool], Offered]) -> Look | None:
    """Return a pick as a look; None where it names a swatch that is not on the sheet.

    Who picked a swatch that stands there for something else looked at the whole sheet.
    """
    pick, group = kept.pick, _group(kept)
    own = pick.swatch is None or any(it.id == pick.swatch for it in group)
    others = () if group and own else (it for it in kept.sheet.swatches if it not in group)
    swatches = (*group, *others)
    if (kept.sheet.id, own) not in offers:
        offers[kept.sheet.id, own] = offered_on(
            model,
            [it.build.values for it in swatches],
            own=None if own or not group else len(group),
        )
    offered = offers[kept.sheet.id, own]
    row = {it.id: at for at, it in enumerate(swatches)}
    if pick.swatch is not None and pick.swatch not in row:
        return None
    among = tuple(row[it] for it in pick.among or () if it in row)
    return Look(
        offered=offered,
        swatch=None if pick.swatch is None else row[pick.swatch],
        between=row.get(pick.between) if pick.between else None,
        then=row.get(pick.then) if pick.then else None,
        among=among or None,
        direction=pick.nudge,
        sure=pick.sure,
        # a scanner and a telephone err apart, whoever laid the thing there
        by=pick.by if pick.build is None else pick.light,
        compared=None if pick.build is None else _compared(pick, model),
    )


def _compared(pick: Pick, model: Predictor) -> tuple[np.ndarray, float]:
    """Return the CIELAB that a scanner found for the thing, and its root mean square error."""
    lab = model.predict_lab(np.array([pick.build], dtype=np.float64))[0]
    return lab, LEAST_SURE if pick.error is None else pick.error
