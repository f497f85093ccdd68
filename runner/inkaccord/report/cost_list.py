"""What an order costs as a list: for the screen, the page and the books."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from inkaccord.order.model import Order
from inkaccord.order.pricing import PAST_TABLE, Charge, ChargeKind, bare, money, totals_in_words
from inkaccord.prepress.offers import Offer
from inkaccord.report import wording
from inkaccord.report.spreadsheet import csv_bytes
from inkaccord.words import counted, joined, thousands

COLUMNS = (
    "order", "date", "vendor", "vendor_title", "piece", "what", "number", "each", "sum",
    "currency", "note",
)  # fmt: skip


@dataclass(frozen=True)
class CostLine:
    """One thing to pay, as it is read; a dash stands for what is not known."""

    vendor: str
    of: str
    what: str
    number: str
    each: str
    sum: str
    currency: str


@dataclass(frozen=True)
class CostList:
    """All that is to be paid.

    Attributes
    ----------
    total
        In each currency by itself, or that nothing is known.
    without
        What the total lacks.
    notes
        What is out of the ordinary about what is in it.
    """

    lines: tuple[CostLine, ...]
    total: str
    without: tuple[str, ...]
    notes: tuple[str, ...]


def cost_list(charges: Sequence[Charge]) -> CostList:
    """Return charges in words."""
    return CostList(
        lines=tuple(map(_line, charges)),
        total=totals_in_words(charges),
        without=tuple(_without(charges)),
        notes=tuple(
            f"{one.vendor}, {one.what_for} of {joined(one.of)}: {one.note}"
            for one in charges
            if one.is_known and one.note
        ),
    )


def _line(one: Charge) -> CostLine:
    currency = one.currency or ""
    return CostLine(
        vendor=one.vendor,
        of=", ".join(one.of),
        what=one.what_for,
        number="–" if one.number is None else thousands(one.number),
        each="–" if one.each is None else bare(one.each, currency),
        sum="–" if one.sum is None else bare(one.sum, currency),
        currency=currency,
    )


def cost_csv(order: Order, charges: Sequence[Charge]) -> bytes:
    """Return one line for each thing to pay; what is not known has no sum."""
    rows = (
        (
            order.order,
            order.date.isoformat(),
            one.vendor,
            wording.vendor_title(order, one.vendor) if one.vendor in order.vendors else "",
            "; ".join(one.of),
            one.what_for,
            one.number,
            None if one.each is None else f"{one.each:f}",
            None if one.sum is None else f"{one.sum:f}",
            one.currency,
            one.note,
        )
        for one in charges
    )
    return csv_bytes(COLUMNS, rows)


def _without(charges: Sequence[Charge]) -> Iterator[str]:
    """Yield what a total lacks, a line for each vendor and reason."""
    found: dict[tuple[str, str], list[str]] = {}
    for one in charges:
        if not one.is_known:
            of = f" of {joined(one.of)}" if one.of else ""
            found.setdefault((one.vendor, one.note), []).append(f"{one.what_for}{of}")
    for (vendor, note), what in found.items():
        yield f"{vendor}: {joined([*dict.fromkeys(what)])} ({note})"


@dataclass(frozen=True)
class QuoteLine:
    """What one vendor asks for a piece, as it is read."""

    vendor: str
    number: str
    each: str
    setup: str
    delivery: str
    total: str
    notes: tuple[str, ...]
    """What is to be said of it."""


def quote_lines(offers: Sequence[Offer]) -> tuple[QuoteLine, ...]:
    """Return offers for one piece in words."""
    return tuple(map(_quote_line, offers))


def _quote_line(offer: Offer) -> QuoteLine:
    of = {it.what: it for it in offer.charges}
    currency = offer.currency or ""

    def part(what: ChargeKind) -> str:
        one = of.get(what)
        if one is None:
            return "none"
        return "–" if one.sum is None else bare(one.sum, currency)

    print_ = of[ChargeKind.PRINT]
    if print_.number is None:
        number = "–"
    elif offer.on_a_sheet is None:
        number = thousands(print_.number)
    else:
        number = counted(print_.number, "sheet")
    return QuoteLine(
        vendor=offer.vendor + (" (prints it)" if offer.prints_it else ""),
        number=number,
        each="–" if print_.each is None else bare(print_.each, currency),
        setup=part(ChargeKind.SETUP),
        delivery=part(ChargeKind.DELIVERY),
        total="not known" if offer.total is None else money(offer.total, currency),
        notes=tuple(_said_of(offer)),
    )


def _said_of(offer: Offer) -> Iterator[str]:
    if offer.on_a_sheet is not None:
        each = thousands(offer.on_a_sheet)
        yield f"{offer.vendor} is paid by the sheet: {each} on each, with nothing else on it"
    yield from (
        f"{offer.vendor}: {one.note}" for one in offer.charges if one.number is None and one.note
    )
    if offer.past_table:
        yield f"{offer.vendor}: the number lies {PAST_TABLE}"
    if offer.cheaper_from is not None:
        yield f"{offer.vendor} gets cheaper at {thousands(offer.cheaper_from)} pieces"
    if offer.cheaper_to is not None:
        yield f"{offer.vendor} is the cheaper at {thousands(offer.cheaper_to)} pieces"
