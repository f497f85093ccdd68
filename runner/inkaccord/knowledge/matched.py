"""A translation from a match: the build, what it looks like, and what is lost."""

import numpy as np

from inkaccord.colour.agreement.tolerances import JUST_SEEN
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.lab import as_lab
from inkaccord.colour.matching.matches import Match
from inkaccord.knowledge.pairs import PairKnowledge
from inkaccord.knowledge.values import Evidence, ResolvedAim, Translation


def from_match(
    colour: str,
    resolved: ResolvedAim,
    known: PairKnowledge,
    found: Match,
    *,
    instead_of: Translation | None = None,
) -> Translation:
    """Return the translation that a match on a pair with readings makes, without tints.

    Where pieces are to stay alike, the match has gone for another colour than the aim, and stands
    ``instead_of`` the plain one, which tells what is out of reach. The distance is to the aim.
    """
    lab = as_lab(np.array(found.predicted_lab))
    distance = float(delta_e_2000(np.array(found.predicted_lab), np.array(resolved.lab)))
    if instead_of is None:
        reachable = distance < JUST_SEEN
        perhaps = not reachable and distance <= float(np.hypot(found.bound, resolved.bound))
        lost = "" if reachable else lost_words(found)
    else:
        reachable, perhaps = instead_of.reachable, instead_of.perhaps_reachable
        lost = instead_of.lost
    by_eye = ["aim matched by eye"] if resolved.by_eye else []
    alike = ["kept alike with the other pieces"] if instead_of is not None else []
    return Translation(
        colour=colour,
        **known.pair.parts,
        build=found.build,
        evidence=Evidence.READ,
        aim_lab=resolved.lab,
        predicted_lab=lab,
        delta_e_00=round(distance, 3),
        uncertainty=round(found.bound, 3),
        aim_uncertainty=round(resolved.bound, 3),
        aim_by_eye=resolved.by_eye,
        reachable=reachable,
        perhaps_reachable=perhaps,
        lost=lost,
        sheets=known.read_sheets,
        known_since=known.last_read,
        note=", ".join(by_eye + alike),
    )


def lost_words(found: Match) -> str:
    """Say in words what a colour out of reach gives up."""
    parts = []
    for number, more, less in (
        (found.lost_lightness, "lighter", "darker"),
        (found.lost_chroma, "stronger", "weaker"),
    ):
        if abs(number) >= 0.5:
            parts.append(f"{abs(number):.0f} {more if number > 0 else less}")
    if abs(found.lost_hue) >= 0.5:
        parts.append(f"hue off by {abs(found.lost_hue):.0f}")
    return ", ".join(parts)
