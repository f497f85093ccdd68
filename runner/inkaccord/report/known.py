"""What order sheets, lists and the report ask for besides the record."""

from typing import TYPE_CHECKING, Protocol

from inkaccord.colour.pairs import Pair
from inkaccord.colour.predictor import Array

if TYPE_CHECKING:
    from inkaccord.stages.knowledge import PairKnowledge


class Model(Protocol):
    """What a pair prints. ``colour.model.PressModel`` is one."""

    @property
    def paper_lab(self) -> Array:
        """(3,) CIELAB of the bare stock."""
        ...

    def predict_lab(self, builds: Array) -> Array:
        """Return (n, 3) CIELAB of builds in device units."""
        ...


class Known(Protocol):
    """The artwork and the pairs of an order. ``stages.bench.Bench`` is one."""

    def artwork(self, piece: str) -> bytes:
        """Return the bytes of a piece's artwork."""
        ...

    def pair(self, pair: Pair) -> "PairKnowledge":
        """Return what is known of a pair."""
        ...
