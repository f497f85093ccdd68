"""What was found out of a thing on other pairs, as far as that tells where it lies on one.

The thing is the same wherever it is held against a sheet. What each pair says of it is off by what
the eye errs and by what the pair's model has wrong, and so is what that means on another pair.
"""

from collections.abc import Sequence

import numpy as np

from inkaccord.colour.arrays import Array
from inkaccord.colour.belief import Told
from inkaccord.colour.builds import Drive
from inkaccord.colour.matching.match import match
from inkaccord.colour.picks import Fused, fuse_picked
from inkaccord.colour.uncertainty import BOUND
from inkaccord.knowledge.aims import resolve_aim
from inkaccord.knowledge.pairs import PairKnowledge
from inkaccord.knowledge.picking import Picked
from inkaccord.knowledge.sources import Sources
from inkaccord.order.model import Order

UNREAD_OFF = {Drive.CMYK: 5.0, Drive.RGB: 10.0}
"""Root mean square ΔE00 by which a model that rests on the paper alone misplaces a colour, rounded.
``tests/benchmarks/many_pairs.py`` measures it on Debian's three CMYK profiles: 3.0 as they are and
on bright white, 3.8 on cream, 8.2 on kraft; 6 to 8 behind drivers in RGB that aim at a screen, 13
to 14 behind those that mix their own way."""


def picked_here(order: Order, known: PairKnowledge, colour: str, bench: Sources) -> Picked | None:
    """Return what was picked for a colour on a pair, in the light of what other pairs tell of it.

    None where nobody has picked it there. What the others tell is each pair's own looks alone, so
    that nothing that was seen counts twice.
    """
    if known.picked(colour) is None:
        return None
    return known.picked(colour, told_elsewhere(order, known, colour, bench))


def told_elsewhere(order: Order, known: PairKnowledge, colour: str, bench: Sources) -> Told | None:
    """Return where a colour lies on a pair by all that is known of it elsewhere, or None."""
    if order.colours[colour].aim.by_eye is None:
        aim = resolve_aim(order, colour, bench)
        return None if aim.lab is None else told_by(np.array(aim.lab), aim.bound, known)
    pairs = (bench.pair(pair) for pair in order.pairs_needed() if pair != known.pair)
    seen = [(it, picked) for it in pairs if (picked := it.picked(colour)) is not None]
    return told_from(seen, known) if seen else None


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


def _bound(known: PairKnowledge, picked: Picked) -> float:
    """Return the 95 % bound of what was picked on a pair, with what its model misplaces."""
    return float(np.hypot(picked.bound, BOUND * _off(known, known.bound_of(picked.build) / BOUND)))


def _off(known: PairKnowledge, stated: float) -> float:
    return stated if known.is_read else min(stated, UNREAD_OFF[known.drive])
