"""What is in doubt between pieces, and what the doubt hangs on."""

from dataclasses import dataclass

from inkaccord.colour.agreement.differences import differences
from inkaccord.colour.agreement.tolerances import JUST_SEEN
from inkaccord.colour.agreement.verdicts import Verdict
from inkaccord.colour.pairs import Pair
from inkaccord.knowledge.values import Evidence, Translation, Translations
from inkaccord.order.model import Order
from inkaccord.planning.accepting import passes
from inkaccord.run.agreement import Agreement, Distance


@dataclass(frozen=True)
class Doubt:
    """A distance that holds its pieces, because it is too large or too uncertain.

    Attributes
    ----------
    distance
        Of two pieces, or of one from the aim.
    sides
        The translations that it is between: of the two pieces, or of one, beside the aim's own
        where that is a print.
    """

    distance: Distance
    sides: tuple[Translation, ...]

    @property
    def sure(self) -> bool:
        """Whether it is surely too large: readings would change nothing."""
        return self.distance.verdict is Verdict.OUTSIDE

    @property
    def pairs(self) -> tuple[Pair, ...]:
        """The pairs that it is between."""
        return tuple(side.pair for side in self.sides)

    @property
    def picked(self) -> tuple[Translation, ...]:
        """The sides that are known by eye alone."""
        return tuple(side for side in self.sides if side.evidence is Evidence.PICKED)

    @property
    def by_nature(self) -> float:
        """ΔE00 that stays however well the pairs are known: of a colour that misses its aim."""
        missed = max((side.delta_e_00 or 0.0 for side in self.sides), default=0.0)
        return self.distance.delta_e_00 if missed >= JUST_SEEN else 0.0

    @property
    def chance(self) -> float:
        """The probability that the prints are within the limit, by what is known now."""
        distance = self.distance
        return float(
            differences(distance.delta_e_00, distance.uncertainty, distance.tolerance).within
        )

    def between(self) -> str:
        """Say between what it is: 'card and tag', 'tag and its aim'."""
        return f"{self.distance.piece} and {self.distance.other or 'the aim'}"


def doubts_of(order: Order, translations: Translations, agreement: Agreement) -> tuple[Doubt, ...]:
    """Return the distances that hold pieces, each with what it hangs on."""
    return tuple(
        Doubt(distance, _sides(order, translations, distance))
        for distance in agreement.distances
        if not passes(order, distance)
    )


def _sides(order: Order, translations: Translations, distance: Distance) -> tuple[Translation, ...]:
    pairs = [
        order.jobs[piece].pair for piece in (distance.piece, distance.other) if piece is not None
    ]
    aim = order.colours[distance.colour].aim
    if distance.other is None and aim.on is not None:
        pairs.append(order.pair(aim.on))
    found = (translations.of(distance.colour, pair) for pair in dict.fromkeys(pairs))
    return tuple(side for side in found if side is not None)
