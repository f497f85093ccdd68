"""Quotes: what a piece costs at each vendor that could print it, and where another gets cheaper."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal

from inkaccord.order.job import Job
from inkaccord.order.model import Order
from inkaccord.order.prices import Prices
from inkaccord.order.pricing import PAST_TABLE, Charge, Work, charges_by, sum_of
from inkaccord.order.vendors import Delivers, Overs

LOOKED_AHEAD = 4
"""How many times the number of now it is looked for one at which another vendor gets cheaper."""
MOST_LOOKED_AT = 5000


@dataclass(frozen=True)
class Offer:
    """What one vendor asks for a piece.

    Attributes
    ----------
    prints_it
        Whether the order has it print the piece.
    charges
        Line by line; delivery counts whole, also where the vendor delivers other pieces anyway.
    total
        None where something of it is not known.
    cheaper_from, cheaper_to
        The nearest higher and lower number of pieces, without overs, at which it asks less than the
        cheapest of now; None where there is none near by, where it is the cheapest, or where the
        two can't be compared.
    """

    vendor: str
    prints_it: bool
    charges: tuple[Charge, ...]
    total: Decimal | None
    currency: str | None
    cheaper_from: int | None = None
    cheaper_to: int | None = None

    @property
    def past_table(self) -> bool:
        """Whether the number lies past the table's last line."""
        return any(it.note == PAST_TABLE for it in self.charges)


@dataclass(frozen=True)
class _Maker:
    """A vendor that could print a piece, at a price by the piece."""

    vendor: str
    prices: Prices
    overs: Overs
    currency: str | None
    job: Job

    def work(self, quantity: int) -> Work:
        """Return what it would print of so many, and be paid for."""
        more = not self.job.piece.records and self.prices.overs == "charged"
        return Work(
            of=(self.job.name,),
            pieces=(self.job.name,),
            stock=self.job.pair.stock,
            number=quantity + (self.overs.on(quantity) if more else 0),
        )

    def total(self, quantity: int) -> Decimal | None:
        """Return what so many cost; None where something of it is not known."""
        return sum_of(self.prices, self.currency, self.work(quantity))

    def offer(self, cheapest: "_Maker | None") -> Offer:
        """Return what it asks, held against the one that asks the least now."""
        quantity = self.job.quantity
        above = below = None
        if cheapest is not None and cheapest is not self and cheapest.currency == self.currency:
            last = min(LOOKED_AHEAD * quantity, quantity + MOST_LOOKED_AT)
            above = _first_cheaper(self, cheapest, range(quantity + 1, last + 1))
            first = max(1, quantity - MOST_LOOKED_AT)
            below = _first_cheaper(self, cheapest, range(quantity - 1, first - 1, -1))
        return Offer(
            vendor=self.vendor,
            prints_it=self.vendor == self.job.vendor_name,
            charges=tuple(
                charges_by(self.vendor, self.prices, self.currency, [self.work(quantity)])
            ),
            total=self.total(quantity),
            currency=self.currency,
            cheaper_from=above,
            cheaper_to=below,
        )


def _first_cheaper(one: _Maker, other: _Maker, numbers: Iterable[int]) -> int | None:
    for number in numbers:
        here, there = one.total(number), other.total(number)
        if here is None or there is None:
            return None
        if here < there:
            return number
    return None


def offers(order: Order) -> dict[str, tuple[Offer, ...]]:
    """Return, by piece, what each vendor asks that could print it; pieces with more than one alone.

    Compared are vendors that are paid by the piece: those of the order that take its stock, and its
    ``quotes``. The cheapest of those in its currency stands first, what is not known last.
    """
    found = {}
    for name, job in order.jobs.items():
        makers = [*_makers(order, job)]
        if len(makers) > 1:
            found[name] = _compared(makers, job.quantity)
    return found


def _compared(makers: list[_Maker], quantity: int) -> tuple[Offer, ...]:
    known = [(total, it) for it in makers if (total := it.total(quantity)) is not None]
    cheapest: dict[str | None, _Maker] = {}
    for _, maker in sorted(known, key=lambda one: one[0]):
        cheapest.setdefault(maker.currency, maker)
    made = [it.offer(cheapest.get(it.currency)) for it in makers]
    return tuple(
        sorted(made, key=lambda it: (it.total is None, it.currency or "", it.total or Decimal(0)))
    )


def _makers(order: Order, job: Job) -> Iterator[_Maker]:
    for name, vendor in order.vendors.items():
        takes = any(not it.stocks or job.pair.stock in it.stocks for it in vendor.devices.values())
        prices = vendor.prices
        if prices is None or vendor.delivers is not Delivers.PIECES or not takes:
            continue
        if name == job.vendor_name or _covers(prices, job):
            yield _Maker(name, prices, vendor.overs, prices.currency or order.currency, job)
    for name, quote in order.quotes.items():
        if job.name in quote.pieces or (not quote.pieces and _covers(quote.prices, job)):
            prices = quote.prices
            yield _Maker(name, prices, quote.overs, prices.currency or order.currency, job)


def _covers(prices: Prices, job: Job) -> bool:
    return any(it.table for it in prices.tables_for((job.name,), job.pair.stock))
