"""What a designer asks of a colour's black, and what that costs in match."""

import numpy as np

from inkaccord.colour.black_wish import BlackWish
from inkaccord.colour.builds import Drive
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.matching.matches import Match
from inkaccord.knowledge.aims import artwork_look
from inkaccord.knowledge.pairs import PairKnowledge
from inkaccord.knowledge.sources import Sources
from inkaccord.order.model import Order

_FREE = 0.05
"""ΔE00 below which a wish costs nothing."""
_GRANTED = {
    BlackWish.KEEP: "the artwork's black is kept",
    BlackWish.LEAST: "as little black as the colour allows",
    BlackWish.MOST: "as much black as the colour allows",
}


def policy_for(order: Order, colour: str, known: PairKnowledge, bench: Sources) -> InkPolicy:
    """Return how a pair's inks are to be used for a colour; the pair's own where nothing is asked.

    A driver in RGB mixes the black itself, and black that the artwork does not give in CMYK can't
    be kept: there a wish changes nothing.
    """
    wish = order.colours[colour].black
    if wish is None or known.drive is not Drive.CMYK:
        return known.policy
    if wish is not BlackWish.KEEP:
        return known.policy.wishing(wish, np.zeros(4))
    designed = artwork_look(order, colour, bench)
    if designed is None or designed.drive is not Drive.CMYK:
        return known.policy
    return known.policy.wishing(wish, designed.values)


def black_words(
    wish: BlackWish | None, known: PairKnowledge, policy: InkPolicy, found: Match, plain: Match
) -> str:
    """Say what came of a wish: what its match costs against the plain one; empty without a wish."""
    if wish is None:
        return ""
    if known.drive is not Drive.CMYK:
        return "driven in RGB, the device mixes the black itself"
    if wish is BlackWish.KEEP and policy == known.policy:
        return "the artwork has no CMYK for this colour whose black could be kept"
    granted, cost = _GRANTED[wish], found.delta_e_00 - plain.delta_e_00
    if cost < _FREE:
        return f"{granted}, at no cost in match"
    return f"{granted}: {found.delta_e_00:.1f} ΔE00 from the aim instead of {plain.delta_e_00:.1f}"
