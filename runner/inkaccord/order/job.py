"""Who prints what, with what, on what: worked out once, and carried from there."""

from dataclasses import dataclass

from inkaccord.colour.pairs import Pair
from inkaccord.order.pieces import Piece
from inkaccord.order.stocks import Stock
from inkaccord.order.vendors import Device, Vendor
from inkaccord.pdf.boxes import PageBoxes
from inkaccord.pdf.cuts import CutPlace, PageCut, page_cut, with_cuts
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

    def cut(self, boxes: PageBoxes) -> PageCut:
        """Return where a page of the piece's artwork is cut."""
        return page_cut(boxes, *self._cutting)

    def with_cuts(self, artwork: bytes) -> bytes:
        """Return the piece's artwork with TrimBox and BleedBox as its pages are understood.

        The same bytes where nothing is to be added. Raises FileError when it can't be read.
        """
        return with_cuts(artwork, *self._cutting) or artwork

    @property
    def _cutting(self) -> tuple[Size, float, CutPlace | None]:
        told = self.piece.boxes
        return self.piece.trim, self.bleed_pt, None if told is None else told.place
