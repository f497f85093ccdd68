"""What the decisions about a pair may ask."""

from typing import TYPE_CHECKING, Protocol

from inkaccord.colour.paints import Paint
from inkaccord.colour.pairs import Pair
from inkaccord.diagnostics import Place
from inkaccord.recall.recall import Recall

if TYPE_CHECKING:  # the press model behind it is heavy, and 'check' needs none
    from inkaccord.knowledge.pairs import PairKnowledge


class Sources(Protocol):
    """The pairs of an order, its artwork's colours, and the places of its fields."""

    @property
    def recall(self) -> Recall:
        """For what takes long and follows from its arguments alone.

        ``recall(match, model, aims, policy)`` computes it, or recalls what an earlier run computed.
        """
        ...

    def pair(self, pair: Pair) -> "PairKnowledge":
        """Return what is known of a pair, found out once."""
        ...

    def alternates(self, piece: str) -> dict[str, Paint]:
        """Return the spots of a piece's artwork with their alternate colours, read once."""
        ...

    def place(self, *path: str | int) -> Place:
        """Return where a field of the order stands in its file."""
        ...
