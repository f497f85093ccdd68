"""How far apart each shared colour lies on the pieces, before money is spent."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations

import numpy as np

from inkaccord.colour.agreement.differences import AgreementTable, Differences, Papers, agreement
from inkaccord.colour.agreement.verdicts import Verdict
from inkaccord.colour.arrays import Array
from inkaccord.colour.builds import Build
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.metamerism import metamerism_index
from inkaccord.colour.pairs import Pair
from inkaccord.knowledge.values import Evidence, ResolvedAim, Translation, Translations
from inkaccord.order.model import Order, Release
from inkaccord.planning.accepting import acceptances, passes, with_acceptances
from inkaccord.run.agreement import Agreement, Distance
from inkaccord.run.bench import Bench
from inkaccord.run.collected import Collected

STATED_PAPER_BOUND = 3.0
"""95 % bound, ΔE00, on a stock's colour that the order states and no one has read on the pair: what
ISO 12647-7:2016 allows a proof's paper to be off (from memory)."""

Carrying = list[tuple[str, Translation]]
"""The pieces that carry a colour, each with its translation."""


def agree(
    order: Order, collected: Collected, translations: Translations, bench: Bench
) -> Agreement:
    """Compare every two pieces in every colour that they share, and each with the aim."""
    distances: list[Distance] = []
    carried = {it.piece: it.brand_colours for it in collected.artworks}
    for colour in order.colours:
        carrying = [
            (name, translation)
            for name, job in order.jobs.items()
            if colour in carried[name]
            and name not in collected.inks_unknown
            and (translation := translations.of(colour, job.pair)) is not None
        ]
        if carrying:
            distances += _distances(order, carrying, translations.aims[colour], bench)
    accepted = acceptances(order, distances, bench.accepted_before)
    judged = with_acceptances(distances, accepted)
    return Agreement(
        distances=judged,
        accepted=accepted,
        held=dict(_held(order, carried, translations, judged, bench)),
    )


def _distances(
    order: Order, carrying: Carrying, aim: ResolvedAim, bench: Bench
) -> Iterator[Distance]:
    table = _table(order, carrying, aim, bench)
    elsewhere = _under_another_light(order, carrying, bench)
    if table.to_aim is not None:
        for at, (name, translation) in enumerate(carrying):
            yield Distance(
                colour=translation.colour,
                piece=name,
                other=None,
                delta_e_00=round(float(table.to_aim.delta_e_00[at]), 3),
                uncertainty=round(float(table.to_aim.uncertainty[at]), 3),
                tolerance=float(table.to_aim.tolerance[at]),
                verdict=table.to_aim.verdicts[at],
                by_eye=translation.evidence is Evidence.PICKED or translation.aim_by_eye,
                aim_uncertainty=round(aim.bound, 3) if aim.by_eye else 0.0,
                **_against_paper(table.to_aim_relative, at),
            )
    for (at, (name, translation)), (to, (other, its)) in combinations(enumerate(carrying), 2):
        there, index = elsewhere.get((at, to), (None, None))
        yield Distance(
            colour=translation.colour,
            piece=name,
            other=other,
            delta_e_00=round(float(table.between.delta_e_00[at, to]), 3),
            uncertainty=round(float(table.between.uncertainty[at, to]), 3),
            tolerance=float(table.between.tolerance[at, to]),
            verdict=table.between.verdicts[at, to],
            by_eye=Evidence.PICKED in {translation.evidence, its.evidence},
            other_light=there,
            metamerism=index,
            **_against_paper(table.between_relative, (at, to)),
        )


def _against_paper(relative: Differences | None, at: int | tuple[int, int]) -> dict[str, float]:
    """Return the fields of a distance against the papers, where these are known."""
    if relative is None or np.isnan(relative.delta_e_00[at]):
        return {}
    return {
        "paper_relative": round(float(relative.delta_e_00[at]), 3),
        "paper_uncertainty": round(float(relative.uncertainty[at]), 3),
    }


def _table(order: Order, carrying: Carrying, aim: ResolvedAim, bench: Bench) -> AgreementTable:
    colour, names = carrying[0][1].colour, [name for name, _ in carrying]
    stated = order.colours[colour].aim
    printed = order.pair(stated.on) if stated.build is not None and stated.on is not None else None
    return agreement(
        np.array([it.predicted_lab for _, it in carrying]),
        np.array([it.uncertainty for _, it in carrying]),
        between_tolerance=[
            [order.limit_between(colour, one, other) for other in names] for one in names
        ],
        aim_tolerance=[order.limit_to_aim(colour, name) for name in names],
        aim_lab=None if aim.lab is None else np.array(aim.lab),
        # The eye's own doubt is the same for all pieces, and none of the verdict's business, once
        # the eye has come to an end.
        aim_bound=aim.seen_bound if aim.settled else aim.bound,
        is_aim=[aim.settled and (it.pair, it.build) in aim.prints for _, it in carrying],
        papers=_papers(order, [it.pair for _, it in carrying], bench),
        aim_paper=None if printed is None else _papers(order, [printed], bench),
        same=[it.pair for _, it in carrying],
    )


def _papers(order: Order, pairs: list[Pair], bench: Bench) -> Papers:
    """Return the stocks of pairs: as read there, else as the order states them, else unknown."""
    known = {pair: _paper(order, pair, bench) for pair in dict.fromkeys(pairs)}
    labs, bounds = zip(*(known[pair] for pair in pairs), strict=True)
    return Papers(np.array(labs), np.array(bounds))


def _paper(order: Order, pair: Pair, bench: Bench) -> tuple[Array, float]:
    """Return (3,) CIELAB of a pair's stock, NaN where it is not known, and its bound."""
    known = bench.pair(pair)
    if known.is_read:
        return known.model.paper_lab, known.bound_of(Build.bare(known.drive))
    stock = order.stocks.get(pair.stock)
    stated = None if stock is None else stock.ground
    return np.array(stated or (np.nan,) * 3), STATED_PAPER_BOUND


def _under_another_light(
    order: Order, carrying: Carrying, bench: Bench
) -> dict[tuple[int, int], tuple[float, float]]:
    """Return ΔE00 and metamerism index under the order's other light, where spectra were read."""
    if order.light is None:
        return {}
    seen: dict[int, tuple[np.ndarray, np.ndarray]] = {}
    for at, (_, translation) in enumerate(carrying):
        known = bench.pair(translation.pair)
        model = known.model_under(order.light)
        if model is not None:
            there = model.predict_lab(np.array([translation.build.values]))[0]
            seen[at] = known.lab_of(translation.build), there
    return {
        (at, to): (
            round(float(delta_e_2000(seen[at][1], seen[to][1])), 3),
            round(float(metamerism_index(*zip(seen[at], seen[to], strict=True))), 3),
        )
        for at, to in combinations(seen, 2)
    }


def _held(
    order: Order,
    carried: Mapping[str, Sequence[str]],
    translations: Translations,
    distances: Sequence[Distance],
    bench: Bench,
) -> Iterator[tuple[str, str]]:
    """Yield every piece that may not be released, and why: what can't be known doesn't pass."""
    if order.release is not Release.WHEN_AGREED:
        return
    failing: dict[str | None, list[Distance]] = defaultdict(list)
    for distance in distances:
        if not passes(order, distance):
            failing[distance.piece].append(distance)
            failing[distance.other].append(distance)
    waiting = _waiting(order, carried, translations)
    for name in order.pieces:
        outside = [it for it in failing[name] if it.verdict is Verdict.OUTSIDE]
        waits = [
            f"{colour} is not known on {other} yet"
            for colour in carried[name]
            for other in waiting[colour]
            if other != name
        ]
        if outside:
            yield name, _words("does not agree", outside[0], name)
        elif failing[name]:
            yield name, _words("is too uncertain to compare", failing[name][0], name)
        elif waits:
            yield name, waits[0]
        elif carried[name] and (aged := bench.pair(order.jobs[name].pair).aged):
            yield name, f"its controls come first: the pair was {aged}"


def _waiting(
    order: Order, carried: Mapping[str, Sequence[str]], translations: Translations
) -> dict[str, list[str]]:
    """Return by colour the pieces on which it is not known yet, and not accepted either."""
    unknown = {(it.colour, it.pair) for it in translations.unknown}
    waiting: dict[str, list[str]] = {colour: [] for colour in order.colours}
    for name, job in order.jobs.items():
        for colour in carried[name]:
            if (colour, job.pair) in unknown and not order.accepts(colour, name):
                waiting[colour].append(name)
    return waiting


def _words(what: str, distance: Distance, name: str) -> str:
    other = distance.other if distance.piece == name else distance.piece
    whom = f"with {other}" if other else "with the aim"
    numbers = (
        f"{distance.delta_e_00:.1f} ±{distance.uncertainty:.1f}, limit {distance.tolerance:.1f}"
    )
    return f"{distance.colour} {what} {whom} ({numbers})"
