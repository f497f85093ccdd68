"""Who prints what, with what, on what: worked out once, and carried from there."""

from dataclasses import dataclass

from inkaccord.colour.pairs import Pair
from inkaccord.order.pieces import Piece
from inkaccord.order.stocks import Stock
from inkaccord.order.vendors import Device, Vendor


@dataclass(frozen=True)
class Printing:
    """A pair, with all that the order says of who prints on it."""

    pair: Pair
    vendor_name: str
    vendor: Vendor
    device: Device
    stock: Stock

    @property
    def vendor_title(self) -> str:
        """The vendor as a person reads it: its title, or else its name."""
        return self.vendor.title or self.vendor_name


@dataclass(frozen=True)
class Job(Printing):
    """A piece, with all that the order says of how it is printed."""

    name: str
    piece: Piece
    quantity: int
    """How many the suites need, with the extra ones, without overs."""

    @property
    def overs(self) -> int:
        """How many the vendor prints besides. A record has no double."""
        return 0 if self.piece.records else self.vendor.overs.on(self.quantity)

    @property
    def bleed_pt(self) -> float:
        """The piece's own bleed, or the vendor's."""
        return self.vendor.bleed if self.piece.bleed is None else self.piece.bleed
