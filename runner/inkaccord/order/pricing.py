"""What is to be paid, line by line: from the prices that an order states, and never a guess."""

from collections.abc import Iterable, Iterator, Sequence
from decimal import ROUND_HALF_UP, Context, Decimal
from enum import StrEnum

from inkaccord.models import Frozen
from inkaccord.order.model import Order
from inkaccord.order.prices import Prices, PriceTable, minor_units
from inkaccord.words import joined

NO_PRICE = "no price is stated"
EXACT = Context(prec=100)
"""For sums: more figures than any of them has, where the usual 28 might be too few."""
PAST_TABLE = "past the table's last line, whose price is taken"


class ChargeKind(StrEnum):
    """What is paid for."""

    PRINT = "print"
    SETUP = "set-up"
    DELIVERY = "delivery"


class Charge(Frozen):
    """One thing to pay.

    Attributes
    ----------
    of
        The pieces that it is for, or the sample sheets; nothing for the delivery of pieces.
    number
        How many: pieces, sheets, pages, set-ups or parcels. None where that is not known yet.
    each, sum
        In the currency; None where they are not known. The sum is rounded to the currency's
        smallest unit, half away from zero.
    currency
        Code of ISO 4217; None where the vendor states no prices.
    note
        Why something is not known, or what is out of the ordinary.
    """

    vendor: str
    what: ChargeKind
    samples: bool = False
    of: tuple[str, ...] = ()
    number: int | None
    each: Decimal | None
    sum: Decimal | None
    currency: str | None
    note: str = ""

    @property
    def is_known(self) -> bool:
        """Whether there is a sum."""
        return self.sum is not None

    @property
    def what_for(self) -> str:
        """What is paid for: ``print``, or ``samples: print``."""
        return f"samples: {self.what}" if self.samples else str(self.what)


class Work(Frozen):
    """Something that a vendor prints.

    Attributes
    ----------
    of
        What the line names: the pieces, or the sample sheets.
    number
        How many pieces, sheets or pages are paid; None where that is not known yet.
    """

    of: tuple[str, ...]
    pieces: tuple[str, ...] = ()
    stock: str
    number: int | None
    why_unknown: str = ""


def rounded(amount: Decimal, currency: str) -> Decimal:
    """Return an amount in whole smallest units of its currency, half away from zero."""
    unit = Decimal(1).scaleb(-(minor_units(currency) or 0))
    return amount.quantize(unit, ROUND_HALF_UP, EXACT)


def bare(amount: Decimal, currency: str) -> str:
    """Return ``1,234.50``; more decimals where the amount has them."""
    decimals = max(minor_units(currency) or 0, -int(amount.normalize().as_tuple().exponent))
    return f"{amount:,.{decimals}f}"


def money(amount: Decimal, currency: str) -> str:
    """Return ``1,234.50 EUR``."""
    return f"{bare(amount, currency)} {currency}"


def states_prices(order: Order) -> bool:
    """Tell whether any vendor's prices are stated."""
    return any(it.prices is not None for it in order.vendors.values())


def charges_for(
    order: Order, vendor: str, works: Sequence[Work], *, samples: bool = False
) -> Iterator[Charge]:
    """Yield what a vendor asks for what it prints, with set-up and delivery.

    Nothing where it prints nothing, or the order states no prices at all; and no line for what the
    vendor says that it doesn't ask (0). Where it states no prices, only the printing is named.
    """
    if states_prices(order):
        prices = order.vendors[vendor].prices
        currency = None if prices is None else prices.currency or order.currency
        yield from charges_by(vendor, prices, currency, works, samples=samples)


def charges_by(
    vendor: str,
    prices: Prices | None,
    currency: str | None,
    works: Sequence[Work],
    *,
    samples: bool = False,
) -> Iterator[Charge]:
    """Yield what is asked by some prices: likewise."""
    for what, of, number, each, note in _asked(prices, works, samples=samples):
        total = _sum(number, each, currency)
        if each != 0 or what is ChargeKind.PRINT:
            yield Charge(
                vendor=vendor,
                what=what,
                samples=samples,
                of=of,
                number=number,
                each=each,
                sum=total,
                currency=currency,
                note=note or ("" if total is not None else NO_PRICE),
            )


def sum_of(prices: Prices, currency: str | None, work: Work) -> Decimal | None:
    """Return what a work comes to by some prices, delivery too; None where some is not known."""
    whole = Decimal(0)
    for _, _, number, each, _ in _asked(prices, [work], samples=False):
        part = _sum(number, each, currency)
        if part is None:
            return None
        whole = EXACT.add(whole, part)
    return whole


def _sum(number: int | None, each: Decimal | None, currency: str | None) -> Decimal | None:
    if number is None or each is None or currency is None:
        return None
    return rounded(EXACT.multiply(each, number), currency)


_Asked = tuple[ChargeKind, tuple[str, ...], int | None, Decimal | None, str]


def _asked(prices: Prices | None, works: Sequence[Work], *, samples: bool) -> Iterator[_Asked]:
    """Yield what is paid, for what, how many, at how much each, and what is to be said of it."""
    if prices is None:
        yield from ((ChargeKind.PRINT, it.of, it.number, None, it.why_unknown) for it in works)
        return
    own = prices.samples if samples else None
    for work in works:
        tables = [own] if own is not None else [*prices.tables_for(work.pieces, work.stock)]
        yield _printing(work, next((it for it in tables if it.table), None))
        setup = next((it.setup for it in tables if it.setup is not None), None)
        yield ChargeKind.SETUP, work.of, 1, setup, ""
    if works:
        parcels = 1 if samples else prices.parcels
        each = prices.delivery if own is None else own.delivery
        yield ChargeKind.DELIVERY, (), parcels, each, ""


def _printing(work: Work, table: PriceTable | None) -> _Asked:
    if table is None or work.number is None:
        return ChargeKind.PRINT, work.of, work.number, None, work.why_unknown
    line, past = table.line_for(work.number)
    return ChargeKind.PRINT, work.of, work.number, line.each, PAST_TABLE if past else ""


def totals(charges: Iterable[Charge]) -> dict[str, Decimal]:
    """Return what the charges that are known come to in each currency, never converted."""
    found: dict[str, Decimal] = {}
    for one in charges:
        if one.sum is not None and one.currency is not None:
            found[one.currency] = EXACT.add(found.get(one.currency, Decimal(0)), one.sum)
    return found


def totals_in_words(charges: Sequence[Charge]) -> str:
    """Return ``412.50 EUR and 9,000 JPY``, or that nothing is known."""
    known = [money(amount, currency) for currency, amount in totals(charges).items()]
    return joined(known) or "not known"
