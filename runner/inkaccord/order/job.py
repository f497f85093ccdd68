"""Who prints what, with what, on what: worked out once, and carried from there."""

from dataclasses import dataclass

from inkaccord.colour.pairs import Pair
from inkaccord.order.pieces import Piece
from inkaccord.order.stocks import Stock, StockKind
from inkaccord.order.vendors import Device, Vendor
from inkaccord.sizes import Size


@dataclass(frozen=True)
class Printing:
    """A pair, with all that the order says of who prints on it."""

    pair: Pair
    vendor_name: str
    vendor: Vendor
    device: Device
    stock: Stock

    @property
    def fed_singly(self) -> bool:
        """Whether it is printed as it is, a card or an envelope: nothing is cut any more."""
        return self.stock.kind is not StockKind.SHEET

    @property
    def sheets(self) -> tuple[Size, ...]:
        """The sheets that it is printed on: those of the device that the stock can be cut to.

        A card or an envelope is printed as it is, and so is a stock that is too small for each of
        the device's sheets (:attr:`takes_its_sheet` tells): nothing is laid on more than there is.
        """
        stock = self.stock.size
        if self.fed_singly:
            return (stock,)
        cut = (it for it in self.device.sheets if it.fits_in(stock) or it.turned.fits_in(stock))
        return tuple(cut) or (stock,)

    @property
    def takes_its_sheet(self) -> bool:
        """Whether the device is said to take what it is printed on; nobody says that of cards."""
        return self.fed_singly or not self.device.sheets or self.sheets[0] in self.device.sheets

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
        """How many the vendor prints besides."""
        return self._overs_on(self.quantity)

    def paid(self, quantity: int) -> int:
        """Return how many of so many are paid, where pieces are: overs too, unless free."""
        prices = self.vendor.prices
        free = prices is not None and prices.overs == "free"
        return quantity if free else quantity + self._overs_on(quantity)

    def _overs_on(self, quantity: int) -> int:
        return 0 if self.piece.records else self.vendor.overs.on(quantity)  # it has no double

    @property
    def bleed_pt(self) -> float:
        """The piece's own bleed, or the vendor's; none of what is fed singly."""
        if self.fed_singly:
            return 0.0
        return self.vendor.bleed if self.piece.bleed is None else self.piece.bleed
