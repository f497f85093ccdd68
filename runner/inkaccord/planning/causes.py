"""Which pair it is that prints a colour apart from the others."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from inkaccord.colour.pairs import Pair
from inkaccord.knowledge.values import Translation, Translations
from inkaccord.order.model import Order
from inkaccord.planning.doubts import Doubt


@dataclass(frozen=True)
class Cause:
    """A pair that prints a colour apart from the others, and the distances that come of it."""

    colour: str
    pair: Pair
    pieces: tuple[str, ...]
    """The pieces on that pair, in the order of the file."""
    doubts: tuple[Doubt, ...]
    own: Translation | None
    """The colour as the pair prints it."""

    @property
    def worst(self) -> Doubt:
        """The distance that says most: a sure one, to the aim if that is one, the largest."""
        return max(
            self.doubts,
            key=lambda doubt: (doubt.sure, doubt.distance.other is None, doubt.distance.delta_e_00),
        )

    @property
    def chance(self) -> float:
        """The probability that the least certain of the distances is within its limit."""
        return min(doubt.chance for doubt in self.doubts)

    @property
    def out_of_reach(self) -> bool:
        """Whether the pair can't print the colour, as far as is known."""
        return self.own is not None and not self.own.reachable

    def other_of(self, doubt: Doubt) -> str | None:
        """Return the piece that one of the cause's pieces lies apart from; None for the aim."""
        return doubt.distance.other if doubt.distance.piece in self.pieces else doubt.distance.piece


def causes_of(
    order: Order, translations: Translations, doubts: Sequence[Doubt]
) -> dict[Pair, list[Cause]]:
    """Find which pairs the distances come from, and return the causes pair by pair.

    Colour by colour, the pair that lies apart from most others is taken out first, of two the one
    that lies farther from the aim; then what is left.
    """
    found: dict[Pair, list[Cause]] = {}
    for colour in dict.fromkeys(doubt.distance.colour for doubt in doubts):
        for cause in _of_colour(order, translations, colour, doubts):
            found.setdefault(cause.pair, []).append(cause)
    return found


def _of_colour(
    order: Order, translations: Translations, colour: str, doubts: Sequence[Doubt]
) -> Iterator[Cause]:
    left = [doubt for doubt in doubts if doubt.distance.colour == colour]
    while left:
        own = {pair: translations.of(colour, pair) for pair in _pairs(order, left)}
        pair = max(own, key=lambda it: _guilt(order, it, own[it], left))
        mine = [doubt for doubt in left if pair in _pairs(order, [doubt])]
        left = [doubt for doubt in left if doubt not in mine]
        named = {piece for doubt in mine for piece in (doubt.distance.piece, doubt.distance.other)}
        pieces = tuple(job.name for job in order.jobs_on(pair) if job.name in named)
        yield Cause(colour, pair, pieces, tuple(mine), own[pair])


def _pairs(order: Order, doubts: Sequence[Doubt]) -> tuple[Pair, ...]:
    named = (
        piece for doubt in doubts for piece in (doubt.distance.piece, doubt.distance.other) if piece
    )
    return tuple(dict.fromkeys(order.jobs[piece].pair for piece in named))


def _guilt(
    order: Order, pair: Pair, own: Translation | None, doubts: Sequence[Doubt]
) -> tuple[int, float, float]:
    """Return what orders pairs: how many others they are apart from, how far from the aim."""
    mine = [doubt for doubt in doubts if pair in _pairs(order, [doubt])]
    others = {doubt.distance.other and frozenset(_pairs(order, [doubt])) for doubt in mine}
    if own is None:
        return len(others), 0.0, 0.0
    return len(others), own.delta_e_00 or 0.0, own.uncertainty
