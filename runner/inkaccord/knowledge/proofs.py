"""What a proof swatch says once it has been read: the build is confirmed, or corrected."""

from dataclasses import dataclass, replace

import numpy as np

from inkaccord.colour.builds import Build
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.lab import Lab
from inkaccord.colour.matching.matches import Match, lost_from
from inkaccord.knowledge.pairs import PairKnowledge
from inkaccord.sheets.model import Purpose

AS_GOOD = 0.5
"""ΔE00 that a proof may lie farther from the aim than the best build is predicted to: within what
a reading repeats to, no change of build is worth another proof."""


@dataclass(frozen=True)
class Proof:
    """The newest proof swatch of a colour that was read: what was printed, and its colour."""

    sheet: str
    build: Build
    lab: Lab


def proof_of(known: PairKnowledge, colour: str, order: str) -> Proof | None:
    """Return the newest proof of an order's colour in the pair's present state."""
    found: Proof | None = None
    for kept in known.course.now:
        if kept.sheet.purpose is not Purpose.PROOF or kept.sheet.order != order:
            continue
        read = {one.swatch: one.lab for one in kept.readings.readings}
        for swatch in kept.sheet.swatches:
            if swatch.colour == colour and swatch.id in read:
                found = Proof(kept.sheet.id, swatch.build, read[swatch.id])
    return found


def settled(found: Match, proof: Proof | None, known: PairKnowledge) -> tuple[Match, str]:
    """Return the match that stands after the proof, and what to say of it.

    A proof that reads as near to the aim as the best build is predicted to be confirms its own
    build, which is then kept, whatever last digit the model would change. Else the model, which
    has learned from it, corrects the build; unless the other readings speak so clearly against
    the proof that the model does not believe it. Then the bound is as wide as the two differ.
    """
    if proof is None:
        return found, ""
    aim, read = np.array(found.aim_lab), np.array(proof.lab)
    apart = float(delta_e_2000(read, aim))
    where = f"{apart:.1f} ΔE00 from the aim on sheet {proof.sheet}"
    if apart > found.delta_e_00 + AS_GOOD:
        gap = float(delta_e_2000(read, known.lab_of(proof.build)))
        if gap > known.bound_of(proof.build):
            doubtful = replace(found, bound=max(found.bound, gap))
            return doubtful, f"its proof swatch, {where}, contradicts the other readings"
        if proof.build != found.build:
            return found, f"corrected by its proof swatch: {proof.build} read {where}"
    said = f"confirmed by its proof swatch: {where}"
    return (found if proof.build == found.build else with_build(found, proof.build, known)), said


def with_build(found: Match, build: Build, known: PairKnowledge) -> Match:
    """Return a match with another build."""
    aim, lab = np.array(found.aim_lab), known.lab_of(build)
    lost = lost_from(lab[None], aim[None])[0].tolist()
    lightness, a, b = lab.tolist()
    return replace(
        found,
        build=build,
        predicted_lab=(lightness, a, b),
        delta_e_00=float(delta_e_2000(lab, aim)),
        bound=known.bound_of(build),
        lost_lightness=lost[0],
        lost_chroma=lost[1],
        lost_hue=lost[2],
    )
