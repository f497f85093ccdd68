"""What was picked by eye for a colour on a pair, all picks weighed together."""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.offers import NO_OFFER, Offer, judge_offer
from inkaccord.colour.pairs import Pair
from inkaccord.colour.picks import Direction, Look, picked_build
from inkaccord.colour.predictor import Predictor
from inkaccord.diagnostics import Diagnostic
from inkaccord.order.colours import Lab
from inkaccord.shelf.kept import KeptPick


class PickedPair(Protocol):
    """What picks are weighed by: a :class:`~inkaccord.stages.knowledge.PairKnowledge`."""

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
    def model(self) -> Predictor:
        """Its press model."""

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
    lab
        Its CIELAB, as the pair's model has it.
    bound
        95 % bound, ΔE00, on how well the eye judged.
    settled
        Whether the pick lay well inside the swatches that were offered for the colour. One at
        their rim says only which way to go on.
    sheets
        The sheets that were picked on.
    since
        The day of the newest of these picks.
    findings
        Picks that contradict the others.
    """

    build: Build
    lab: Lab
    bound: float
    settled: bool
    sheets: tuple[str, ...]
    since: datetime.date
    findings: tuple[Diagnostic, ...] = ()
    outdated: bool = False
    """Whether the pair has drifted since the sheets were printed: the colour still counts, the
    build no longer does."""


def weigh_picks(known: PickedPair, colour: str) -> Picked | None:
    """Return the picks for a colour as one, or None where there is none."""
    picks = [(it, _offer(known, it)) for it in known.picks if it.pick.colour == colour]
    settled = [(it, offer) for it, offer in picks if offer.settled]
    if settled:
        # The finest offers count; what was picked on the way to them is done with.
        finest = min(offer.spacing for _, offer in settled)
        chosen = [(it, offer) for it, offer in settled if offer.spacing <= 1.5 * finest + 0.5]
    else:
        # The newest says where to go on; one among swatches of other colours says least.
        chosen = ([one for one in picks if one[1] is not NO_OFFER] or picks)[-1:]
    looks = [look for it, _ in chosen if (look := _look(it)) is not None]
    if not looks:
        return None
    sheets = tuple(dict.fromkeys(it.sheet.id for it, _ in chosen))
    outdated = known.predates_drift(sheets)
    model = known.model_before if outdated else None
    found = picked_build(model or known.model, looks, known.policy)
    lightness, a, b = (round(float(x), 3) for x in found.lab)
    doubt = max(offer.doubt for _, offer in chosen)
    return Picked(
        build=Build(drive=known.drive, values=tuple(found.build.tolist())),
        lab=(lightness, a, b),
        bound=float(np.hypot(found.bound, doubt)),
        settled=bool(settled),
        sheets=sheets,
        since=max(it.pick.picked_on or it.recorded_at.date() for it, _ in chosen),
        outdated=outdated,
        findings=tuple(
            it.model_copy(update={"message": f"{colour} on {known.pair}: {it.message}"})
            for it in found.findings
        ),
    )


def offered_before(known: PickedPair, colour: str, builds: Iterable[Build]) -> bool:
    """Tell whether a pick was made among these very swatches: once more, they would say the same.

    That is so where a pair has come to the end of what it can print.
    """
    wanted = set(builds)
    return any(
        wanted <= {swatch.build for swatch in it.sheet.swatches if swatch.colour == colour}
        for it in known.picks
        if it.pick.colour == colour
    )


def _offer(known: PickedPair, kept: KeptPick) -> Offer:
    """Return what there was to choose from for the colour, on the sheet of a pick."""
    swatch = kept.sheet.swatch(kept.pick.swatch)
    group = [it for it in kept.sheet.swatches if it.colour == kept.pick.colour]
    if swatch is None or swatch not in group:
        return NO_OFFER
    builds = np.array([it.build.values for it in group])
    return judge_offer(known.model, builds, group.index(swatch))


def _look(kept: KeptPick) -> Look | None:
    pick, sheet = kept.pick, kept.sheet
    swatch = sheet.swatch(pick.swatch)
    if swatch is None:
        return None
    second = sheet.swatch(pick.between) if pick.between else None
    return Look(
        build=swatch.build.values,
        between=second.build.values if second else None,
        direction=Direction(pick.nudge.value) if pick.nudge else None,
        sure=pick.sure,
    )
