"""Stage 2: every brand colour as a build on every pair that carries it."""

import numpy as np

from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.ink_policy import Black
from inkaccord.colour.match import Match, match
from inkaccord.colour.pairs import Pair
from inkaccord.colour.tone_value import tint_lab
from inkaccord.diagnostics import Diagnostic, warning
from inkaccord.hooks import hookimpl
from inkaccord.order.colours import Lab
from inkaccord.order.model import Order
from inkaccord.order.vendors import Tints
from inkaccord.stages.aims import ResolvedAim, resolve_aim
from inkaccord.stages.bench import Bench
from inkaccord.stages.knowledge import PairKnowledge
from inkaccord.stages.picking import Picked
from inkaccord.stages.results import (
    Collected,
    Evidence,
    TintBuild,
    Translation,
    Translations,
    Unknown,
)

TINT_STEPS = tuple(float(tint) for tint in range(10, 100, 10))
"""Tints, in percent, that every colour gets a build for; gradients run through them."""


@hookimpl
def inkaccord_translate(order: Order, collected: Collected, bench: Bench) -> Translations:
    """Find the builds, pair by pair."""
    known: list[Translation] = []
    unknown: list[Unknown] = []
    findings: list[Diagnostic] = []
    for pair, colours in colours_on_pairs(order, collected).items():
        bench.progress(f"matching colours on {pair}")
        for colour in colours:
            it = _translate(order, colour, bench.pair(pair), bench)
            if isinstance(it, Unknown):
                unknown.append(it)
            else:
                known.append(it)
                findings += _remarks(it, bench)
        if bench.pair(pair).stale:
            findings.append(
                warning(
                    "stale-readings",
                    f"the readings of {pair} are old: {bench.pair(pair).stale}",
                    place=bench.place("vendors", order.vendor_of(pair.device)),
                    hint="print and read a sheet again; its controls tell whether it has drifted",
                )
            )
    return Translations(known=tuple(known), unknown=tuple(unknown), findings=tuple(findings))


def colours_on_pairs(order: Order, collected: Collected) -> dict[Pair, tuple[str, ...]]:
    """Return the brand colours that each pair has to print, in the order of the file."""
    needed: dict[Pair, set[str]] = {pair: set() for pair in order.pairs()}
    for name in order.pieces:
        needed[order.pair_of(name)].update(collected.of(name).brand_colours)
    return {
        pair: tuple(colour for colour in order.colours if colour in colours)
        for pair, colours in needed.items()
    }


def _translate(
    order: Order, colour: str, known: PairKnowledge, bench: Bench
) -> Translation | Unknown:
    aim = order.colours[colour].aim
    if aim.build is not None and aim.on is not None and order.pair(aim.on) == known.pair:
        return _aim_itself(colour, aim.build, known)
    resolved = resolve_aim(order, colour, bench)
    picked = known.picked(colour)
    if picked is not None and (resolved.lab is None or resolved.by_eye or not known.is_read):
        return _as_picked(order, colour, picked, resolved, known)
    if resolved.lab is None:
        return Unknown(colour=colour, pair=known.pair, why=resolved.why)
    if not known.is_read:
        return Unknown(
            colour=colour, pair=known.pair, why="no sample sheet of this pair has been read"
        )
    return _by_readings(order, colour, resolved, known)


def _aim_itself(colour: str, build: Build, known: PairKnowledge) -> Translation:
    """Translate a colour on the pair that its aim is defined on: the build is the aim."""
    lab = _lab(known.lab_of(build))
    return Translation(
        colour=colour,
        pair=known.pair,
        build=build,
        evidence=Evidence.READ if known.is_read else Evidence.ESTIMATED,
        aim_lab=lab if known.is_read else None,
        predicted_lab=lab,
        delta_e_00=0.0,
        uncertainty=round(known.bound_of(build), 3) if known.is_read else 0.0,
        sheets=known.read_sheets,
        known_since=known.last_read,
        note="the aim is this build on this pair",
    )


def _as_picked(
    order: Order, colour: str, picked: Picked, resolved: ResolvedAim, known: PairKnowledge
) -> Translation:
    return Translation(
        colour=colour,
        pair=known.pair,
        build=picked.build,
        evidence=Evidence.PICKED,
        aim_lab=resolved.lab,
        predicted_lab=picked.lab,
        delta_e_00=None,
        uncertainty=round(picked.bound, 3),
        tints=_tints(order, picked.build, picked.lab, known),
        sheets=picked.sheets,
        known_since=max((it.pick.picked_on or it.recorded_at.date()) for it in known.picks),
        note="picked by eye",
    )


def _by_readings(
    order: Order, colour: str, resolved: ResolvedAim, known: PairKnowledge
) -> Translation:
    found = match(known.model, np.array([resolved.lab]), known.policy)[0]
    lab = _lab(np.array(found.predicted_lab))
    return Translation(
        colour=colour,
        pair=known.pair,
        build=found.build,
        evidence=Evidence.READ,
        aim_lab=resolved.lab,
        predicted_lab=lab,
        delta_e_00=round(found.delta_e_00, 3),
        uncertainty=round(float(np.hypot(found.bound, resolved.bound)), 3),
        reachable=found.in_reach,
        lost="" if found.in_reach else _lost(found),
        tints=_tints(order, found.build, lab, known),
        sheets=known.read_sheets,
        known_since=known.last_read,
        note="aim matched by eye" if resolved.by_eye else "",
    )


def _tints(order: Order, build: Build, solid: Lab, known: PairKnowledge) -> tuple[TintBuild, ...]:
    """Return the builds of a colour's tints on a pair.

    A tint's aim is the tint of that tone value (ISO 20654) between the pair's own paper and its
    own print of the solid. Without readings, or where the vendor asks for it, it is the scaled
    build.
    """
    vendor = order.vendors[order.vendor_of(known.pair.device)]
    shares = np.array(TINT_STEPS) / 100.0
    white = 0.0 if known.drive is Drive.CMYK else 255.0
    scaled = white + shares[:, None] * (np.array(build.values) - white)
    if vendor.tints is Tints.MATCHED and known.is_read:
        aims = tint_lab(known.model.paper_lab, np.array(solid), shares)
        policy = known.policy.model_copy(update={"black": Black.NEAR, "black_free_above": None})
        builds = match(known.model, aims, policy, near=scaled).builds
    else:
        builds = np.round(scaled, 1)
    return tuple(
        TintBuild(tint=tint, build=Build(drive=known.drive, values=tuple(row.tolist())))
        for tint, row in zip(TINT_STEPS, builds, strict=True)
    )


def _lost(found: Match) -> str:
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


def _remarks(it: Translation, bench: Bench) -> list[Diagnostic]:
    if it.reachable:
        return []
    return [
        warning(
            "out-of-reach",
            f"{it.colour} is out of reach on {it.pair}: the nearest is {it.delta_e_00:.1f} ΔE00 "
            f"from the aim ({it.lost})",
            place=bench.place("colours", it.colour),
            hint="accept it with a wider tolerance, choose another stock, or let the pieces stay "
            "alike with 'prefer: alike'",
        )
    ]


def _lab(values: np.ndarray) -> Lab:
    lightness, a, b = (round(float(value), 3) for value in values)
    return (lightness, a, b)
