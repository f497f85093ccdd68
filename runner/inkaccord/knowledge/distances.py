"""How far apart colours lie that were asked for: on several pairs, or several of them."""

from collections.abc import Sequence
from itertools import combinations

import numpy as np

from inkaccord.colour.agreement.differences import agreement
from inkaccord.colour.lab import Lab
from inkaccord.colour.pairs import Pair
from inkaccord.errors import OrderError
from inkaccord.knowledge.asking import AskedColour, PairAnswer
from inkaccord.models import Frozen
from inkaccord.order.wanted import Wanted


class Apart(Frozen):
    """How far apart two colours lie."""

    one: str
    other: str
    delta_e_00: float
    uncertainty: float
    """95 % bound, ΔE00, on the error of that."""


def apart_on_pairs(answers: Sequence[PairAnswer]) -> tuple[Apart, ...]:
    """Return how far apart a colour comes out on every two of some pairs."""
    return _apart(
        [str(one.pair) for one in answers],
        [one.predicted_lab for one in answers],
        [one.uncertainty for one in answers],
    )


def on_one_pair(wanted: Sequence[Wanted], pairs: Sequence[Pair]) -> list[Wanted]:
    """Return several colours, those that are builds without a pair on the one that is given.

    Raises OrderError ``several-pairs``.
    """
    if len(pairs) > 1:
        raise OrderError.of(
            "several-pairs",
            "several colours are compared on one pair at most",
            hint="name one pair, or ask for one colour",
        )
    if not pairs:
        return list(wanted)
    return [
        colour.model_copy(update={"on": pairs[0], "said": f"{colour.build} on {pairs[0]}"})
        if colour.build is not None and colour.on is None
        else colour
        for colour in wanted
    ]


def apart_as_asked(colours: Sequence[AskedColour]) -> tuple[Apart, ...]:
    """Return how far apart every two of some colours lie.

    Raises OrderError ``no-pair`` for a build that names no pair.
    """
    for colour in colours:
        if colour.lab is None:
            raise OrderError.of(
                "no-pair",
                f"{colour.said} is another colour on each pair, so nothing is as far from it",
                hint=f"say on which: '{colour.said} on device@stock'",
            )
    # Two builds on one pair are seen by one model, whose doubts they share; taken apart, the bound
    # is too wide rather than too narrow.
    return _apart(
        [colour.said for colour in colours],
        [colour.lab for colour in colours if colour.lab is not None],
        [colour.bound for colour in colours],
    )


def _apart(names: Sequence[str], labs: Sequence[Lab], bounds: Sequence[float]) -> tuple[Apart, ...]:
    if len(names) < 2:
        return ()
    table = agreement(labs, bounds, between_tolerance=np.inf, aim_tolerance=np.inf).between
    return tuple(
        Apart(
            one=names[one],
            other=names[other],
            delta_e_00=round(float(table.delta_e_00[one, other]), 3),
            uncertainty=round(float(table.uncertainty[one, other]), 3),
        )
        for one, other in combinations(range(len(names)), 2)
    )
