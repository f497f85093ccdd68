"""Colours that some pair can't reach: what it costs to keep the pieces alike."""

from collections.abc import Mapping
from itertools import combinations

import numpy as np

from inkaccord.colour.agreement.common_aim import CommonAim, common_aim, trade_curve
from inkaccord.colour.lab import as_lab
from inkaccord.colour.pairs import Pair
from inkaccord.knowledge.black import policy_for
from inkaccord.knowledge.matched import from_match
from inkaccord.knowledge.sources import Sources
from inkaccord.knowledge.values import Evidence, ResolvedAim, Trade, Translation
from inkaccord.order.colours import Prefer
from inkaccord.order.model import Order

LIMITS = (1.0, 2.0, 4.0)
"""Distances between pieces, ΔE00, at which the cost is worked out."""

Found = dict[tuple[str, Pair], Translation]


def weigh(
    order: Order,
    colour: str,
    resolved: ResolvedAim,
    carrying: Mapping[str, Translation],
    bench: Sources,
) -> tuple[Found, list[Trade]]:
    """Return the translations that the order's choice changes, and the curve to choose from.

    Only pieces that are known by readings take part; what was picked by eye stays picked.
    """
    pieces = {
        name: translation
        for name, translation in carrying.items()
        if translation.evidence is Evidence.READ and translation.aim_lab is not None
    }
    if len(pieces) < 2:
        return {}, []
    known = [bench.pair(it.pair) for it in pieces.values()]
    models = [it.model for it in known]
    policies = [policy_for(order, colour, it, bench) for it in known]
    aim = np.array(next(iter(pieces.values())).aim_lab)
    curve = bench.recall(trade_curve, models, aim, policies, LIMITS)
    names = tuple(pieces)
    if order.prefers(colour) is Prefer.EACH_CLOSEST:
        return {}, [_trade(colour, names, it, chosen=it is curve[-1]) for it in curve]
    limit = order.tolerances.alike_within or _between(order, colour, tuple(pieces)) / 2
    chosen = bench.recall(common_aim, models, aim, policies, limit)
    changed: Found = {}
    for name, match in zip(names, chosen.matches, strict=True):
        before = pieces[name]
        changed[colour, before.pair] = from_match(
            colour, resolved, bench.pair(before.pair), match[0], instead_of=before
        )
    points = [_trade(colour, names, it, chosen=False) for it in curve]
    return changed, [*points, _trade(colour, names, chosen, chosen=True)]


def _between(order: Order, colour: str, pieces: tuple[str, ...]) -> float:
    """Return the narrowest limit between two of the pieces."""
    return min(order.limit_between(colour, *two) for two in combinations(pieces, 2))


def _trade(colour: str, names: tuple[str, ...], point: CommonAim, *, chosen: bool) -> Trade:
    return Trade(
        colour=colour,
        apart=round(point.apart, 2),
        mean_to_aim=round(point.mean, 2),
        to_aim={name: round(float(x), 2) for name, x in zip(names, point.to_aim, strict=True)},
        labs={name: as_lab(lab) for name, lab in zip(names, point.labs, strict=True)},
        chosen=chosen,
    )
