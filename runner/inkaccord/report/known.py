"""What order sheets, lists and the report ask for besides the record."""

from typing import Protocol

from inkaccord.colour.arrays import Array
from inkaccord.colour.paints import Paint
from inkaccord.colour.pairs import Pair
from inkaccord.knowledge.pairs import PairKnowledge


class Model(Protocol):
    """What a pair prints. ``colour.press.model.PressModel`` is one."""

    @property
    def paper_lab(self) -> Array:
        """(3,) CIELAB of the bare stock."""
        ...

    def predict_lab(self, builds: Array) -> Array:
        """Return (n, 3) CIELAB of builds in device units."""
        ...


class Known(Protocol):
    """The artwork and the pairs of an order. ``run.bench.Bench`` is one."""

    def artwork(self, piece: str) -> bytes:
        """Return the bytes of a piece's artwork."""
        ...

    def alternates(self, piece: str) -> dict[str, Paint]:
        """Return the spots of a piece's artwork with their alternate colours, read once."""
        ...

    def pair(self, pair: Pair) -> PairKnowledge:
        """Return what is known of a pair."""
        ...
