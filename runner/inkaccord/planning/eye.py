"""What the eye has judged, whether it has come to an end, and what would help it."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from inkaccord.colour.pairs import Pair
from inkaccord.knowledge.elsewhere import picked_here
from inkaccord.knowledge.picking import Picked, offered_before
from inkaccord.knowledge.values import Torn, Translations
from inkaccord.order.model import Order
from inkaccord.planning.doubts import Doubt
from inkaccord.planning.rounds import may_be_picked
from inkaccord.planning.sheets import ladder
from inkaccord.run.bench import Bench

NO_MATTER = 1.0 / 3.0
"""Share of a tolerance: one more sheet that would change a colour by less is not asked for."""


@dataclass
class EyeDoubts:
    """Doubts about what was judged by eye, sorted by what would help.

    Attributes
    ----------
    ladders
        Pairs and colours whose next swatches go on from a pick.
    torn
        Colours with two picks that can't both be right.
    ended
        Colours whose picks never came to lie inside what was offered, and won't.
    unread
        Doubts between pieces of which one was only ever judged by eye: an instrument would tell.
    beyond
        Those of them that stay, however the order trusts the eye: the swatches lay too far apart.
    once_trusted
        Pairs of which one more sheet is looked at once the order trusts the eye.
    paper
        The doubts that are none of the eye's.
    """

    ladders: list[tuple[Pair, str]] = field(default_factory=list)
    torn: dict[str, Torn] = field(default_factory=dict)
    ended: list[str] = field(default_factory=list)
    unread: list[Doubt] = field(default_factory=list)
    beyond: list[Doubt] = field(default_factory=list)
    once_trusted: list[Pair] = field(default_factory=list)
    paper: list[Doubt] = field(default_factory=list)

    def waits_for_eye(self, colour: str) -> bool:
        """Tell whether a colour's aim will still move."""
        return (
            colour in self.torn
            or colour in self.ended
            or any(one == colour for _, one in self.ladders)
        )


def eye_doubts(
    order: Order, doubts: Sequence[Doubt], translations: Translations, bench: Bench
) -> EyeDoubts:
    """Sort doubts by what would help the eye, if it is the eye that doubts."""
    found = EyeDoubts()
    for doubt in doubts:
        colour, aim = doubt.distance.colour, translations.aims[doubt.distance.colour]
        if doubt.distance.other is None and aim.by_eye and not aim.settled:
            if aim.torn is not None:
                found.torn[colour] = aim.torn
            else:
                _unsettled(order, colour, bench, found)
        elif doubt.picked and not doubt.sure:
            sides = _going_on(order, doubt, bench, trusted=order.accept_by_eye)
            for pair in sides:
                if (pair, colour) not in found.ladders:
                    found.ladders.append((pair, colour))
            if not sides:
                found.unread.append(doubt)
                if not doubt.distance.eye_decides:
                    more = _going_on(order, doubt, bench, trusted=True)
                    found.once_trusted += [it for it in more if it not in found.once_trusted]
                    found.beyond += [] if more else [doubt]
        else:
            found.paper.append(doubt)
    return found


def worth_beside(order: Order, pair: Pair, translations: Translations, bench: Bench) -> list[str]:
    """Return the colours that get swatches for the eye on a sheet of a pair that is printed anyway.

    Those whose aim rests on looks at one sheet, of this pair, and would still change by as much as
    matters: two sheets of one pair tell more than one of each of three.
    """
    matters = NO_MATTER * order.tolerances.to_aim
    return [
        colour
        for colour, aim in translations.aims.items()
        if aim.by_eye
        and aim.settled
        and list(_picked_where_read(order, colour, bench)) == [pair]
        and _goes_on(order, pair, colour, bench, matters=matters)
    ]


def _picked_where_read(order: Order, colour: str, bench: Bench) -> dict[Pair, Picked]:
    """Return what was picked for a colour on each pair that is read, where it was."""
    return {
        pair: picked
        for pair in order.pairs_needed()
        if (known := bench.pair(pair)).is_read and (picked := known.picked(colour)) is not None
    }


def _unsettled(order: Order, colour: str, bench: Bench, found: EyeDoubts) -> None:
    """Note where the next swatches for an aim lie, or that there will be none."""
    picked = _picked_where_read(order, colour, bench)
    newest = max(picked, key=lambda pair: picked[pair].since)
    if not _goes_on(order, newest, colour, bench):
        found.ended += [colour] if colour not in found.ended else []
    elif (newest, colour) not in found.ladders:
        found.ladders.append((newest, colour))


def _going_on(order: Order, doubt: Doubt, bench: Bench, *, trusted: bool) -> list[Pair]:
    """Return the pairs of a doubt whose picks more swatches would help.

    Where the eye is trusted, a settled pick is looked at once more while that would still matter.
    """
    return [
        side.pair
        for side in doubt.picked
        if _goes_on(
            order,
            side.pair,
            side.colour,
            bench,
            matters=NO_MATTER * doubt.distance.tolerance if trusted else np.inf,
        )
    ]


def _goes_on(
    order: Order, pair: Pair, colour: str, bench: Bench, *, matters: float = np.inf
) -> bool:
    """Tell whether more swatches would help a pick on a pair to come to an end.

    One that is settled has come to it after two sheets, or where they would change it by less than
    ``matters``, ΔE00.
    """
    known = bench.pair(pair)
    picked = picked_here(order, known, colour, bench)
    if picked is None:
        return False
    if picked.settled and (picked.change < matters or len(picked.sheets) > 1):
        return False
    if not may_be_picked(order, (bench.pair(pair) for pair in order.pairs_needed())):
        return False
    return not offered_before(known, colour, ladder(order, known, colour, bench))
