"""A translation from a match: the build, what it looks like, its tints, and what is lost."""

import numpy as np

from inkaccord.colour.agreement.tolerances import JUST_SEEN
from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.ink_policy import Black, InkPolicy
from inkaccord.colour.lab import Lab, as_lab
from inkaccord.colour.matching.match import Match, match
from inkaccord.colour.tone_value import tint_lab
from inkaccord.knowledge.pairs import PairKnowledge
from inkaccord.knowledge.values import Evidence, ResolvedAim, TintBuild, Translation
from inkaccord.order.model import Order
from inkaccord.order.vendors import Tints

TINT_STEPS = tuple(float(tint) for tint in range(10, 100, 10))
"""Tints, in percent, that every colour gets a build for; gradients run through them."""


def from_match(
    order: Order,
    colour: str,
    resolved: ResolvedAim,
    known: PairKnowledge,
    found: Match,
    policy: InkPolicy,
    *,
    instead_of: Translation | None = None,
) -> Translation:
    """Return the translation that a match on a pair with readings makes, under a policy.

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
        tints=tint_builds(order, found.build, lab, known, policy),
        sheets=known.read_sheets,
        known_since=known.last_read,
        note=", ".join(by_eye + alike),
    )


def tint_builds(
    order: Order, build: Build, solid: Lab, known: PairKnowledge, policy: InkPolicy
) -> tuple[TintBuild, ...]:
    """Return the builds of a colour's tints on a pair.

    A tint's aim is the tint of that tone value (ISO 20654) between the pair's own paper and its
    own print of the solid. Without readings, or where the vendor asks for it, it is the scaled
    build.
    """
    shares = np.array(TINT_STEPS) / 100.0
    white = 0.0 if known.drive is Drive.CMYK else 255.0
    scaled = white + shares[:, None] * (np.array(build.values) - white)
    if order.on(known.pair).vendor.tints is Tints.MATCHED and known.is_read:
        aims = tint_lab(known.model.paper_lab, np.array(solid), np.array(TINT_STEPS))
        near = policy.model_copy(
            update={"black": Black.NEAR, "black_free_above": None, "channel_floors": (0.0,) * 4}
        )
        builds = known.recall(match, known.model, aims, near, near=scaled).builds
    else:
        builds = np.round(scaled, 1)
    return tuple(
        TintBuild(tint=tint, build=Build(drive=known.drive, values=tuple(row.tolist())))
        for tint, row in zip(TINT_STEPS, builds, strict=True)
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
