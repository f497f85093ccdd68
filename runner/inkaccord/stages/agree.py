"""Stage 3: how far apart each shared colour lies on the pieces, before money is spent."""

from collections.abc import Iterator
from itertools import combinations

import numpy as np

from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.hooks import hookimpl
from inkaccord.order.model import Order, Release
from inkaccord.stages.results import (
    Agreement,
    Collected,
    Distance,
    Evidence,
    Translation,
    Translations,
    Verdict,
)


@hookimpl
def inkaccord_agree(order: Order, collected: Collected, translations: Translations) -> Agreement:
    """Compare every two pieces in every colour that they share, and each with the aim."""
    distances = []
    for colour in order.colours:
        carrying = [
            (name, it)
            for name in order.pieces
            if colour in collected.of(name).brand_colours
            and (it := translations.of(colour, order.pair_of(name))) is not None
        ]
        for name, it in carrying:
            if it.aim_lab is not None and it.delta_e_00 is not None:
                distances.append(_to_aim(order, name, it))
        for (name, it), (other, its) in combinations(carrying, 2):
            distances.append(_between(order, (name, it), (other, its)))
    return Agreement(
        distances=tuple(distances),
        held=dict(_held(order, collected, translations, distances)),
    )


def _to_aim(order: Order, piece: str, it: Translation) -> Distance:
    tolerance = order.tolerances.to_aim
    distance = it.delta_e_00 or 0.0
    return Distance(
        colour=it.colour,
        piece=piece,
        other=None,
        delta_e_00=distance,
        uncertainty=it.uncertainty,
        tolerance=tolerance,
        verdict=_verdict(distance, it.uncertainty, tolerance),
        by_eye=it.evidence is Evidence.PICKED,
    )


def _between(order: Order, one: tuple[str, Translation], two: tuple[str, Translation]) -> Distance:
    (name, a), (other, b) = one, two
    tolerance = order.tolerances.between_pieces
    distance = float(delta_e_2000(np.array(a.predicted_lab), np.array(b.predicted_lab)))
    same = a.pair == b.pair
    uncertainty = 0.0 if same else float(np.hypot(a.uncertainty, b.uncertainty))
    return Distance(
        colour=a.colour,
        piece=name,
        other=other,
        delta_e_00=round(distance, 3),
        uncertainty=round(uncertainty, 3),
        tolerance=tolerance,
        verdict=_verdict(distance, uncertainty, tolerance),
        by_eye=Evidence.PICKED in {a.evidence, b.evidence},
    )


def _verdict(distance: float, uncertainty: float, tolerance: float) -> Verdict:
    if distance + uncertainty <= tolerance:
        return Verdict.AGREES
    if distance - uncertainty > tolerance:
        return Verdict.DIFFERS
    return Verdict.UNSURE


def _held(
    order: Order,
    collected: Collected,
    translations: Translations,
    distances: list[Distance],
) -> Iterator[tuple[str, str]]:
    """Yield every piece that may not be released, and why."""
    unknown = {(it.colour, it.pair) for it in translations.unknown}
    for name in order.pieces:
        mine = [it for it in distances if name in {it.piece, it.other}]
        differs = [it for it in mine if it.verdict is Verdict.DIFFERS]
        unsure = [it for it in mine if it.verdict is Verdict.UNSURE]
        waits = [
            f"{colour} is not known on {other} yet"
            for colour in collected.of(name).brand_colours
            for other in order.pieces
            if other != name
            and colour in collected.of(other).brand_colours
            and (colour, order.pair_of(other)) in unknown
        ]
        if differs and order.release is Release.WHEN_AGREED:
            yield name, _words("does not agree", differs[0], name)
        elif unsure and order.release is Release.WHEN_AGREED:
            yield name, _words("is too uncertain to say", unsure[0], name)
        elif waits and order.release is Release.WHEN_AGREED:
            yield name, waits[0]


def _words(what: str, it: Distance, name: str) -> str:
    other = it.other if it.piece == name else it.piece
    whom = f"with {other}" if other else "with the aim"
    numbers = f"{it.delta_e_00:.1f} ±{it.uncertainty:.1f}, limit {it.tolerance:.1f}"
    return f"{it.colour} {what} {whom} ({numbers})"
