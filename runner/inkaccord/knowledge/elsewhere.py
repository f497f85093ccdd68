"""What was found out of a thing on other pairs, as far as that tells where it lies on one.

The thing is the same wherever it is held against a sheet. What each pair says of it is off by what
the eye errs and by what the pair's model has wrong, and so is what that means on another pair.
"""

from collections.abc import Iterable, Sequence

import numpy as np

from inkaccord.colour.arrays import Array
from inkaccord.colour.belief import Told
from inkaccord.colour.builds import Drive
from inkaccord.colour.matching.match import match
from inkaccord.colour.picks import ANYWHERE, Fused, fuse_picked
from inkaccord.colour.press.model import fit
from inkaccord.colour.sampling.eye_set import ladder_ways
from inkaccord.colour.uncertainty import BOUND
from inkaccord.knowledge.aims import artwork_look, resolve_aim
from inkaccord.knowledge.pairs import UNREAD_PAPER, PairKnowledge, paper_readings
from inkaccord.knowledge.picking import Picked
from inkaccord.knowledge.sources import Sources
from inkaccord.order.model import Order

UNREAD_OFF = {Drive.CMYK: 5.0, Drive.RGB: 10.0}
"""Root mean square ΔE00 by which a model that rests on the paper alone misplaces a colour, rounded.
``tests/benchmarks/many_pairs.py`` measures it on Debian's three CMYK profiles: 3.0 as they are and
on bright white, 3.8 on cream, 8.2 on kraft; 6 to 8 behind drivers in RGB that aim at a screen, 13
to 14 behind those that mix their own way."""
ANY_GREY = (50.0, 0.0, 0.0)
"""CIELAB to start from where nobody says anything of a thing."""


def picked_here(order: Order, known: PairKnowledge, colour: str, bench: Sources) -> Picked | None:
    """Return what was picked for a colour on a pair, in the light of what other pairs tell of it.

    None where nobody has picked it there. What the others tell is each pair's own looks alone, so
    that nothing that was seen counts twice.
    """
    if not any(it.pick.colour == colour for it in known.picks):
        return None
    return known.picked(colour, told_elsewhere(order, known, colour, bench))


def told_elsewhere(order: Order, known: PairKnowledge, colour: str, bench: Sources) -> Told | None:
    """Return where a colour lies on a pair by all that is known of it elsewhere, or None."""
    if order.colours[colour].aim.by_eye is None:
        aim = resolve_aim(order, colour, bench)
        return None if aim.lab is None else told_by(np.array(aim.lab), aim.bound, known)
    pairs = (bench.pair(pair) for pair in order.pairs_needed() if pair != known.pair)
    seen = _picked_on(pairs, colour)
    return told_from(seen, known) if seen else None


def thought_of(order: Order, colour: str, bench: Sources) -> Told:
    """Return where a thing is thought to lie by whatever is known of it, on any pair.

    That is what was picked so far, or else what the artwork has for it on white paper.
    """
    seen = _picked_on((bench.pair(pair) for pair in order.pairs_needed()), colour)
    if seen:
        fused = weighed(seen)
        return Told(fused.lab, fused.bound / BOUND)
    start = artwork_look(order, colour, bench)
    if start is None:
        return Told(np.array(ANY_GREY), ANYWHERE)
    white = bench.recall(fit, paper_readings(start.drive, UNREAD_PAPER))
    return Told(white.predict_lab(np.array([start.values]))[0], ANYWHERE)


def misses(known: PairKnowledge, thought: Told) -> float:
    """Return by how much a look on a pair misses a thing, root mean square ΔE00, the eye apart.

    That is how far the pair's reach ends from where the thing may lie, and what its model
    misplaces there.
    """
    ways = thought.error * ladder_ways(thought.lab)
    # Six places so far off, on all sides, stand for all that the thing may be.
    places = thought.lab + np.concatenate([ways, -ways])
    places[:, 0] = np.clip(places[:, 0], 0.0, 100.0)
    found = known.recall(match, known.model, places, known.policy)
    beyond, stated = (np.sqrt(np.mean(it**2)) for it in (found.delta_e_00, found.bound / BOUND))
    return float(np.hypot(beyond, _off(known, float(stated))))


def told_from(seen: Sequence[tuple[PairKnowledge, Picked]], known: PairKnowledge) -> Told:
    """Return where a colour lies on a pair by what was picked on others, one or more."""
    fused = weighed(seen)
    return told_by(fused.lab, fused.bound, known)


def weighed(seen: Sequence[tuple[PairKnowledge, Picked]]) -> Fused:
    """Return what was picked on pairs, one or more, as one."""
    return fuse_picked([picked.lab for _, picked in seen], [_bound(*it) for it in seen])


def told_by(lab: Array, bound: float, known: PairKnowledge) -> Told:
    """Return where CIELAB (3,), known to a 95 % bound of ΔE00, lies as a pair's model has it."""
    found = known.recall(match, known.model, lab[None], known.policy)
    off = _off(known, float(found.bound[0]) / BOUND)
    return Told(lab, float(np.hypot(bound / BOUND, off)))


def _picked_on(pairs: Iterable[PairKnowledge], colour: str) -> list[tuple[PairKnowledge, Picked]]:
    return [(it, picked) for it in pairs if (picked := it.picked(colour)) is not None]


def _bound(known: PairKnowledge, picked: Picked) -> float:
    """Return the 95 % bound of what was picked on a pair, with what its model misplaces."""
    return float(np.hypot(picked.bound, BOUND * _off(known, known.bound_of(picked.build) / BOUND)))


def _off(known: PairKnowledge, stated: float) -> float:
    return stated if known.is_read else min(stated, UNREAD_OFF[known.drive])
