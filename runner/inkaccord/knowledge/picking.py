"""What was picked by eye for a colour on a pair, all picks weighed together."""

import datetime
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Protocol

import numpy as np

from inkaccord.colour.arrays import Lab
from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.offers import NO_OFFER, Offer, judge_offer
from inkaccord.colour.pairs import Pair
from inkaccord.colour.picks import Direction, Look, look_lab, picked_build
from inkaccord.colour.predictor import Predictor
from inkaccord.diagnostics import Diagnostic
from inkaccord.knowledge.values import Torn
from inkaccord.order.answers import SwatchName
from inkaccord.sheets.model import Nudge
from inkaccord.shelf.kept import KeptPick

_NONE_OF_THEM = 0.1
"""How sure a person is at most who means that no swatch is right."""


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
    swatches
        The swatches that were picked.
    sheets
        The sheets that they are on.
    since
        The day of the newest of these picks.
    findings
        Picks that contradict the others.
    torn
        The two picks that are farthest apart, where there is no telling which of them is right.
    """

    build: Build
    lab: Lab
    bound: float
    settled: bool
    swatches: tuple[SwatchName, ...]
    since: datetime.date
    findings: tuple[Diagnostic, ...] = ()
    torn: Torn | None = None
    astray: bool = False
    """Whether none of the swatches was right, as the person said: the next lie farther apart."""
    outdated: bool = False
    """Whether the pair has drifted since the sheets were printed: the colour still counts, the
    build no longer does."""

    @property
    def sheets(self) -> tuple[str, ...]:
        """The sheets that were picked on."""
        return tuple(dict.fromkeys(it.sheet for it in self.swatches))


def weigh_picks(known: PickedPair, colour: str) -> Picked | None:
    """Return the picks for a colour as one, or None where there is none."""
    chosen = _chosen(known, colour)
    looks = [(it, look) for it, offer in chosen if (look := _look(it, offer.doubt)) is not None]
    if not looks:
        return None
    outdated = known.predates_drift(it.sheet.id for it, _ in chosen)
    model = (known.model_before if outdated else None) or known.model
    found = picked_build(model, [look for _, look in looks], known.policy)
    lightness, a, b = (round(float(x), 3) for x in found.lab)
    settled = any(offer.settled for _, offer in chosen)
    newest, offered = chosen[-1]
    return Picked(
        build=Build(drive=known.drive, values=tuple(found.build.tolist())),
        lab=(lightness, a, b),
        bound=found.bound,
        settled=settled,
        swatches=tuple(named(it) for it, _ in looks),
        since=max(it.pick.picked_on or it.recorded_at.date() for it, _ in chosen),
        outdated=outdated,
        astray=not settled and (offered is NO_OFFER or newest.pick.sure <= _NONE_OF_THEM),
        torn=_torn(looks, model) if len(found.findings) == len(looks) else None,
        findings=tuple(
            finding.model_copy(update={"message": f"{colour} on {known.pair}: {finding.message}"})
            for finding in found.findings
        ),
    )


def _chosen(known: PickedPair, colour: str) -> list[tuple[KeptPick, Offer]]:
    """Return the picks of a colour that say something, each with what there was to choose from."""
    decided = known.decided.get(colour)
    counting = [
        kept
        for kept in known.picks
        if kept.pick.colour == colour and kept.pick.swatch is not None and _counts(known, kept)
    ]
    # A build that someone picked twice on one sheet, its twin perhaps, is one pick: the newest.
    offers = [(it, _offer(known, it)) for it in {_what(it): it for it in counting}.values()]
    offers = [
        (
            judged,
            replace(offer, settled=True, doubt=offer.spacing)
            if named(judged) == decided
            else offer,
        )
        for judged, offer in offers
    ]
    settled = [it for it, offer in offers if offer.settled]
    if not settled:
        # The newest says where to go on; one among swatches of other colours says least.
        return ([one for one in offers if one[1] is not NO_OFFER] or offers)[-1:]
    # What was picked on the way there is done with. A second look, among swatches laid round a
    # pick that is settled, counts wherever it fell.
    builds = {_what(it)[2] for it in settled}
    return [
        (judged, offer)
        for judged, offer in offers
        if offer.settled or (offer is not NO_OFFER and builds & _offered(judged))
    ]


def named(kept: KeptPick) -> SwatchName:
    """Return the name of the swatch that was picked."""
    assert kept.pick.swatch is not None  # noqa: S101 -- others are looked at apart
    return SwatchName(kept.sheet.id, kept.pick.swatch)


def _counts(known: PickedPair, kept: KeptPick) -> bool:
    """Tell whether a pick counts: where a person has said which swatch is the thing, it alone.

    On a pair that nobody has read, what was picked there is all that is known of it.
    """
    decided = known.decided.get(kept.pick.colour)
    if decided is None or named(kept) == decided:
        return True
    return not known.is_read and decided.sheet not in {it.sheet.id for it in known.picks}


def _torn(looks: Sequence[tuple[KeptPick, Look]], model: Predictor) -> Torn | None:
    if len(looks) < 2:
        return None
    labs = [look_lab(model, look)[0] for _, look in looks]
    pairs = list(combinations(range(len(looks)), 2))
    apart = [float(delta_e_2000(labs[one], labs[other])) for one, other in pairs]
    one, other = pairs[int(np.argmax(apart))]
    return Torn(one=named(looks[one][0]), other=named(looks[other][0]), apart=max(apart))


def offered_before(known: PickedPair, colour: str, builds: Iterable[Build]) -> bool:
    """Tell whether a pick was made among these very swatches: once more, they would say the same.

    That is so where a pair has come to the end of what it can print.
    """
    wanted = set(builds)
    return any(wanted <= _offered(it) for it in known.picks if it.pick.colour == colour)


def _what(kept: KeptPick) -> tuple[str, str, Build | None, Build | None]:
    """Return what picks that say the same share: the sheet, who picked, and the builds."""
    one, other = (
        None if name is None else kept.sheet.swatch(name)
        for name in (kept.pick.swatch, kept.pick.between)
    )
    first, second = (None if it is None else it.build for it in (one, other))
    return (kept.sheet.id, kept.pick.by, first, second)


def _offered(kept: KeptPick) -> set[Build | None]:
    """Return the builds that there were to choose from for the colour of a pick."""
    return {it.build for it in kept.sheet.swatches if it.colour == kept.pick.colour}


def _offer(known: PickedPair, kept: KeptPick) -> Offer:
    """Return what there was to choose from for the colour, on the sheet of a pick."""
    swatch = kept.sheet.swatch(kept.pick.swatch or "")
    group = [it for it in kept.sheet.swatches if it.colour == kept.pick.colour]
    if swatch is None or swatch not in group:
        return NO_OFFER
    builds = np.array([it.build.values for it in group])
    return judge_offer(known.model, builds, group.index(swatch))


def _look(kept: KeptPick, doubt: float) -> Look | None:
    pick, sheet = kept.pick, kept.sheet
    swatch = sheet.swatch(pick.swatch or "")
    if swatch is None:
        return None
    second = sheet.swatch(pick.between) if pick.between else None
    return Look(
        build=swatch.build.values,
        between=second.build.values if second else None,
        direction=_direction(pick.nudge),
        sure=pick.sure,
        doubt=doubt,
    )


def _direction(nudge: Nudge | None) -> Direction | None:
    """Return the direction of a nudge; None for one along the hue, which picks don't weigh yet."""
    known = nudge is not None and nudge.value in {it.value for it in Direction}
    return Direction(nudge.value) if nudge is not None and known else None
