"""What each brand colour should look like, as CIELAB, as far as that is known."""

from collections.abc import Iterable
from itertools import combinations

import numpy as np

from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.lab import as_lab
from inkaccord.colour.paints import PaintKind
from inkaccord.colour.picks import SETTLED, fuse_picked
from inkaccord.diagnostics import Place, warning
from inkaccord.knowledge.pairs import PairKnowledge
from inkaccord.knowledge.picking import Picked
from inkaccord.knowledge.sources import Sources
from inkaccord.knowledge.values import ResolvedAim, Torn
from inkaccord.order.model import Order


def resolve_aim(order: Order, colour: str, bench: Sources) -> ResolvedAim:
    """Return the aim of a colour.

    An aim given as a build on a pair is what that pair prints, by its readings. An aim matched by
    eye is what was picked on all pairs whose sheets have been read, weighed together.
    """
    aim = order.colours[colour].aim
    if aim.lab is not None:
        return ResolvedAim(lab=aim.lab)
    if aim.build is not None and aim.on is not None:
        pair = order.pair(aim.on)
        known = bench.pair(pair)
        if not known.is_read:
            return ResolvedAim(lab=None, why=f"its aim is a build on {pair}, which is not read yet")
        bound = known.bound_of(aim.build)
        return ResolvedAim(
            lab=as_lab(known.lab_of(aim.build)),
            bound=bound,
            seen_bound=bound,
            prints=frozenset({(pair, aim.build)}),
        )
    return _picked_aim(order, colour, bench)


def _picked_aim(order: Order, colour: str, bench: Sources) -> ResolvedAim:
    """Return the aim that was picked on all pairs that are read, weighed together."""
    known = [bench.pair(pair) for pair in order.pairs_needed()]
    return picked_aim(colour, known, place=bench.place("colours", colour))


def picked_aim(colour: str, pairs: Iterable[PairKnowledge], *, place: Place) -> ResolvedAim:
    """Return what was picked for a colour on all pairs that are read, weighed together.

    ``place`` is where the colour is named, for what is odd about its picks.
    """
    seen = [
        (known, picked)
        for known in pairs
        if known.is_read and (picked := known.picked(colour)) is not None
    ]
    if not seen:
        return ResolvedAim(lab=None, by_eye=True, why="no one has picked it by eye yet")
    read = [known.bound_of(picked.build) for known, picked in seen]
    fused = fuse_picked(
        [picked.lab for _, picked in seen],
        # The eye's error, and that of the model which says what was seen.
        [
            float(np.hypot(picked.bound, bound))
            for (_, picked), bound in zip(seen, read, strict=True)
        ],
    )
    torn = _torn(seen) if len(fused.contradicting) == len(seen) else None
    torn = torn or next((picked.torn for _, picked in seen if picked.torn is not None), None)
    return ResolvedAim(
        lab=as_lab(fused.lab),
        bound=fused.bound,
        seen_bound=float(np.sqrt(np.mean(np.square(read)) / len(read))),
        by_eye=True,
        settled=torn is None
        and (fused.bound <= SETTLED or any(picked.settled for _, picked in seen)),
        torn=torn,
        prints=frozenset(
            {(known.pair, picked.build) for known, picked in seen} if len(seen) == 1 else ()
        ),
        findings=tuple(
            warning(
                "picks-disagree",
                f"{colour}: what was picked on {seen[at][0].pair} lies "
                f"{float(delta_e_2000(seen[at][1].lab, fused.lab)):.1f} ΔE00 from the picks of all "
                "pairs taken together, farther than the eye errs",
                place=place,
                hint="look again under a good, even light, and record the pick once more",
            )
            for at in fused.contradicting
        ),
    )


def _torn(seen: list[tuple[PairKnowledge, Picked]]) -> Torn | None:
    """Return the two pairs' picks that lie farthest apart; None for one pair's alone."""
    apart = {
        (one.swatches[-1], other.swatches[-1]): float(delta_e_2000(one.lab, other.lab))
        for (_, one), (_, other) in combinations(seen, 2)
    }
    if not apart:
        return None
    (one, other), farthest = max(apart.items(), key=lambda it: it[1])
    return Torn(one=one, other=other, apart=farthest)


def artwork_look(order: Order, colour: str, bench: Sources) -> Build | None:
    """Return a build that the artwork gives for a colour: as written, or a spot's alternate."""
    for paint in order.colours[colour].in_artwork:
        if paint.kind in {PaintKind.CMYK, PaintKind.RGB}:
            return Build(drive=Drive(paint.kind.value), values=paint.values)
    names = {it.name for it in order.colours[colour].in_artwork if it.kind is PaintKind.SPOT}
    for piece in order.pieces:
        for name, paint in bench.alternates(piece).items():
            if name in names and paint.kind in {PaintKind.CMYK, PaintKind.RGB}:
                return Build(drive=Drive(paint.kind.value), values=paint.values)
    return None
