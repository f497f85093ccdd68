"""Stage 3: how far apart each shared colour lies on the pieces, before money is spent."""

from collections.abc import Iterator
from itertools import combinations

import numpy as np

from inkaccord.colour.agreement.differences import AgreementTable, agreement
from inkaccord.colour.agreement.verdicts import Verdict
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.hooks import hookimpl
from inkaccord.order.model import Order, Release
from inkaccord.stages.bench import Bench
from inkaccord.stages.results import (
    Agreement,
    Collected,
    Distance,
    Evidence,
    Translation,
    Translations,
)

EYE_DECIDES_WITHIN = 6.0
"""Bound, ΔE00, up to which a judgement by eye is taken for one: two eyes that err by 1.5 to 3 each.
Beyond, the swatches to choose from lay too far apart."""

Carrying = list[tuple[str, Translation]]
"""The pieces that carry a colour, each with its translation."""


@hookimpl
def inkaccord_agree(
    order: Order, collected: Collected, translations: Translations, bench: Bench
) -> Agreement:
    """Compare every two pieces in every colour that they share, and each with the aim."""
    distances: list[Distance] = []
    for colour in order.colours:
        carrying = [
            (name, it)
            for name in order.pieces
            if colour in collected.of(name).brand_colours
            and (it := translations.of(colour, order.pair_of(name))) is not None
        ]
        if carrying:
            distances += _distances(order, carrying, bench)
    return Agreement(
        distances=tuple(distances),
        held=dict(_held(order, collected, translations, distances)),
    )


def _distances(order: Order, carrying: Carrying, bench: Bench) -> Iterator[Distance]:
    table = _table(order, carrying, bench)
    elsewhere = _under_another_light(order, carrying, bench)
    if table.to_aim is not None:
        for at, (name, it) in enumerate(carrying):
            yield Distance(
                colour=it.colour,
                piece=name,
                other=None,
                delta_e_00=round(float(table.to_aim.delta_e_00[at]), 3),
                uncertainty=round(float(table.to_aim.uncertainty[at]), 3),
                tolerance=table.to_aim.tolerance,
                verdict=table.to_aim.verdicts[at],
                by_eye=it.evidence is Evidence.PICKED or it.aim_by_eye,
            )
    for (at, (name, it)), (to, (other, its)) in combinations(enumerate(carrying), 2):
        relative = table.between_relative
        yield Distance(
            colour=it.colour,
            piece=name,
            other=other,
            delta_e_00=round(float(table.between.delta_e_00[at, to]), 3),
            paper_relative=round(float(relative.delta_e_00[at, to]), 3) if relative else None,
            uncertainty=round(float(table.between.uncertainty[at, to]), 3),
            tolerance=table.between.tolerance,
            verdict=table.between.verdicts[at, to],
            by_eye=Evidence.PICKED in {it.evidence, its.evidence},
            other_light=elsewhere.get((at, to)),
        )


def _table(order: Order, carrying: Carrying, bench: Bench) -> AgreementTable:
    known = [bench.pair(it.pair) for _, it in carrying]
    aims = [it for _, it in carrying if it.aim_lab is not None]
    return agreement(
        np.array([it.predicted_lab for _, it in carrying]),
        np.array([it.uncertainty for _, it in carrying]),
        between_tolerance=order.tolerances.between_pieces,
        aim_tolerance=order.tolerances.to_aim,
        aim_lab=np.array(aims[0].aim_lab) if aims else None,
        aim_bound=max((it.aim_uncertainty for it in aims), default=0.0),
        papers_lab=np.array([it.model.paper_lab for it in known])
        if all(it.is_read for it in known)
        else None,
        same=[it.pair for _, it in carrying],
    )


def _under_another_light(
    order: Order, carrying: Carrying, bench: Bench
) -> dict[tuple[int, int], float]:
    """Return ΔE00 under the order's other light, for pieces whose pairs have spectra."""
    if order.light is None:
        return {}
    seen: dict[int, np.ndarray] = {}
    for at, (_, it) in enumerate(carrying):
        model = bench.pair(it.pair).model_under(order.light)
        if model is not None:
            seen[at] = model.predict_lab(np.array([it.build.values]))[0]
    return {
        (at, to): round(float(delta_e_2000(seen[at], seen[to])), 3)
        for at, to in combinations(seen, 2)
    }


def _held(
    order: Order,
    collected: Collected,
    translations: Translations,
    distances: list[Distance],
) -> Iterator[tuple[str, str]]:
    """Yield every piece that may not be released, and why: what can't be known doesn't pass."""
    if order.release is not Release.WHEN_AGREED:
        return
    unknown = {(it.colour, it.pair) for it in translations.unknown}
    for name in order.pieces:
        mine = [it for it in distances if name in {it.piece, it.other}]
        outside = [it for it in mine if it.verdict is Verdict.OUTSIDE]
        unsure = [it for it in mine if it.verdict is Verdict.UNCERTAIN and not trusted(order, it)]
        waits = [
            f"{colour} is not known on {other} yet"
            for colour in collected.of(name).brand_colours
            for other in order.pieces
            if other != name
            and colour in collected.of(other).brand_colours
            and (colour, order.pair_of(other)) in unknown
        ]
        if outside:
            yield name, _words("does not agree", outside[0], name)
        elif unsure:
            yield name, _words("is too uncertain to compare", unsure[0], name)
        elif waits:
            yield name, waits[0]


def trusted(order: Order, it: Distance) -> bool:
    """Tell whether the order lets the eye decide on a distance, and the eye could see enough."""
    return it.by_eye and order.accept_by_eye and it.uncertainty <= EYE_DECIDES_WITHIN


def _words(what: str, it: Distance, name: str) -> str:
    other = it.other if it.piece == name else it.piece
    whom = f"with {other}" if other else "with the aim"
    numbers = f"{it.delta_e_00:.1f} ±{it.uncertainty:.1f}, limit {it.tolerance:.1f}"
    return f"{it.colour} {what} {whom} ({numbers})"
