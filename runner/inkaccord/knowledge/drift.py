"""What the controls of a pair's sheets say of it: steady, drifted, or too old to be sure."""

from collections.abc import Iterable, Iterator

import numpy as np

from inkaccord.colour.agreement.tolerances import JUST_SEEN
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.press.model import PressModel
from inkaccord.diagnostics import Diagnostic, note, warning
from inkaccord.knowledge.pairs import PairKnowledge
from inkaccord.knowledge.sources import Sources
from inkaccord.knowledge.values import (
    ControlsCompared,
    DriftState,
    Evidence,
    Steadiness,
    Translation,
)
from inkaccord.order.model import Order

_WIDER = 0.1
"""ΔE00 by which a bound must grow to be explained."""


def steadiness(order: Order, known: PairKnowledge) -> Steadiness | None:
    """Return how a pair has kept to itself; None until its controls were read twice."""
    if not known.course.compared:
        return None
    return Steadiness(
        **known.pair.parts,
        state=_state(known),
        tolerance=order.device(known.pair.device).drift_tolerance,
        compared=tuple(
            ControlsCompared(
                sheet=seen.sheet,
                read_on=seen.day,
                since_sheet=seen.since_sheet,
                since=seen.since,
                delta_e_00=round(seen.apart.typical, 2),
                largest=round(seen.apart.largest, 2),
                swatches=seen.apart.swatches,
                beyond=seen.beyond,
            )
            for seen in known.course.compared
        ),
    )


def _state(known: PairKnowledge) -> DriftState:
    if known.waits_for_new_sheet:
        return DriftState.TO_BE_READ
    if known.drift:
        return DriftState.RE_ANCHORED
    # A device that went and came back is steady again.
    return DriftState.READ_ANEW if known.course.left_behind else DriftState.STEADY


def drift_findings(order: Order, known: PairKnowledge, bench: Sources) -> Iterator[Diagnostic]:
    """Yield what a person should know of a pair's drift and age."""
    printing = order.on(known.pair)
    place = bench.place("vendors", printing.vendor_name)
    if known.drift:
        said = (
            f"{known.pair} has drifted: {known.drift} (limit {printing.device.drift_tolerance:g})"
        )
        if known.waits_for_new_sheet:
            yield warning(
                "drifted",
                f"{said}; it counts as unread until a new sheet is read",
                place=place,
                hint="print and read the sheet below, or let the controls re-anchor the pair with "
                "'when_drifted: re-anchor'",
            )
        else:
            yield warning(
                "drifted",
                f"{said}; what was read before was moved by what the controls tell, and all its "
                "bounds contain the doubt about that",
                place=place,
                hint="where that is not sure enough, more swatches are asked for; "
                "'when_drifted: new-sheet' asks for a whole sheet instead",
            )
    elif known.course.left_behind and (seen := known.course.event) is not None:
        yield note(
            "read-anew",
            f"{known.pair} drifted by {seen.apart.typical:.1f} ΔE00 before {seen.day}, and has "
            "been read anew since",
            place=place,
        )
    if known.model_before is not None:
        yield from _moved_aims(order, known, known.model_before, bench)
    if known.aged:
        yield warning(
            "stale-readings",
            f"the readings of {known.pair} are old: {known.aged}",
            place=place,
            hint="print the controls and read them: they tell whether it has drifted",
        )
    if known.looks_aged:
        sheet = known.last_looked_at
        yield warning(
            "stale-looks",
            f"what the eye picked on {known.pair} is old: {known.looks_aged}",
            place=place,
            hint=f"'inkaccord shelf draw {sheet}' draws its sheet once more: print that, hold the "
            f"thing against it, and answer 'inkaccord look {sheet}' anew; nobody knows whether the "
            "device prints as it did then",
        )


def wider_findings(known: PairKnowledge, found: Iterable[Translation]) -> Iterator[Diagnostic]:
    """Explain bounds that the newest print made wider: it shows how far the device varies."""
    earlier = known.model_without_newest
    if earlier is None:
        return
    wider = []
    for translation in found:
        was, now = (
            float(earlier.bound(np.array([translation.build.values]))[0]),
            known.bound_of(translation.build),
        )
        if translation.evidence is Evidence.READ and now > was + _WIDER:
            wider.append(f"{translation.colour} ±{now:.1f}, before ±{was:.1f}")
    if wider:
        seen = known.course.compared[-1]
        yield note(
            "less-sure",
            f"{known.pair}: sheet {seen.sheet} came out {seen.apart.typical:.1f} ΔE00 from sheet "
            f"{seen.since_sheet} in the {seen.apart.swatches} swatches that both carry; this "
            f"device varies by that much, so less is sure than before ({'; '.join(wider)})",
        )


def _moved_aims(
    order: Order, known: PairKnowledge, earlier: PressModel, bench: Sources
) -> Iterator[Diagnostic]:
    """Name the colours whose aim is a build on a pair that has drifted: the aim went with it."""
    for colour in order.colours:
        build = order.aim_on(colour, known.pair)
        if build is None:
            continue
        was, now = earlier.predict_lab(np.array([build.values]))[0], known.lab_of(build)
        apart = float(delta_e_2000(was, now))
        if apart < JUST_SEEN:
            continue
        lightness, a, b = (f"{value:.1f}" for value in was)
        yield warning(
            "aim-moved",
            f"the aim of {colour} is what {known.pair} prints, and went with it by {apart:.1f} "
            "ΔE00",
            place=bench.place("colours", colour),
            hint=f"to hold it as it was, write aim: {{lab: [{lightness}, {a}, {b}]}}",
        )
