"""What the order sheets of a job and of its samples have in common."""

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal

from inkaccord.cautions import HEAT, WORK
from inkaccord.order.model import Order
from inkaccord.order.pricing import PAST_TABLE, Charge, ChargeKind, bare, totals
from inkaccord.order.stocks import StockKind
from inkaccord.order.vendors import Vendor
from inkaccord.report import wording
from inkaccord.report.paper import gap, grid, marked, rule, text, together
from inkaccord.report.parts import Part
from inkaccord.run.record import Run
from inkaccord.words import day, joined, thousands

_NUMBERS_PT = 58.0


def sheet_head(order: Order, run: Run, vendor: str, what: str) -> Iterator[Part]:
    """Yield what stands at the top of an order sheet: what it is, for whom, of which order."""
    yield text(what, "label")
    yield text(wording.vendor_title(order, vendor), "title")
    yield gap(2)
    yield text(f"{run.title or run.order}: order {run.order} of {day(run.date)}")
    yield rule(1.0, before=8, after=8)


def head_facts(facts: Sequence[tuple[str, str]], widths_pt: Sequence[float]) -> Part:
    """Return the facts below it, side by side, each below its label."""
    cells = [[text(label, "label"), text(value, "fact")] for label, value in facts]
    return grid([cells], widths_pt, lines=False, pad_pt=0)


def who_orders(order: Order, width_pt: float, to: str = "Deliver to") -> Iterator[Part]:
    """Yield who orders, and the address that the goods go to, as far as the order says."""
    told = []
    contact = order.ordered_by
    if contact is not None:
        who = [contact.name, ", ".join(filter(None, (contact.telephone, contact.email)))]
        told.append([text("Ordered by", "label"), *(text(line) for line in who if line)])
    if order.deliver_to:
        lines = order.deliver_to.splitlines()
        told.append([text(to, "label"), *(text(line) for line in lines)])
    if told:
        yield gap(6)
        yield grid([told], [width_pt / len(told)] * len(told), lines=False, pad_pt=0)


def price_table(charges: Sequence[Charge], width_pt: float) -> list[Part]:
    """Return what a vendor's work comes to, a line for each work; nothing where no sum is known.

    A long one goes on over the page.
    """
    known = totals(charges)
    if not known:
        return []
    (currency,) = known
    names = ("number", "each", "printing", "set-up", "together")
    widths = [width_pt - len(names) * _NUMBERS_PT, *[_NUMBERS_PT] * len(names)]
    head = [text(f"Price in {currency}", "label"), *(text(it, "number-label") for it in names)]
    rows = [_price_row(work, currency) for work in _works(charges)]
    sum_ = marked(f"<b>{bare(known[currency], currency)}</b>", "number")
    rows.append([text("Total", "strong"), *[text("")] * (len(names) - 1), sum_])
    told = ["By the prices in the order", *_without(charges), "not an invoice."]
    table = grid([head, *rows], widths, head=True, pad_pt=1.5)
    parts: list[Part] = [
        rule(before=8, after=6),
        table,
        text("; ".join(told), "quiet"),
        gap(6),
    ]
    return parts if table.is_long else [together(parts)]


def _works(charges: Iterable[Charge]) -> list[list[Charge]]:
    """Return what is asked for each work in one: its printing, and its set-up."""
    works: list[list[Charge]] = []
    for one in charges:
        if one.what is ChargeKind.SETUP and works and works[-1][-1].of == one.of:
            works[-1].append(one)
        else:
            works.append([one])
    return works


def _price_row(work: Sequence[Charge], currency: str) -> list[Part]:
    first = work[0]
    of = {one.what: one for one in work}
    parts = [of.get(ChargeKind.PRINT), of.get(ChargeKind.SETUP)]
    return [
        text(joined(first.of) or str(first.what)),
        text("–" if first.number is None else thousands(first.number), "number"),
        text(_amount(first.each, currency), "number"),
        *(text("" if it is None else _amount(it.sum, currency), "number") for it in parts),
        text(_amount(totals(work).get(currency), currency), "number"),
    ]


def _amount(amount: Decimal | None, currency: str) -> str:
    return "–" if amount is None else bare(amount, currency)


def _without(charges: Sequence[Charge]) -> Iterator[str]:
    """Yield what a total lacks, and which of its lines are beyond what was agreed on."""
    if any(it.note == PAST_TABLE for it in charges):
        yield f"a number lies {PAST_TABLE}"
    missing = [it.what for it in charges if not it.is_known]
    if missing:
        yield f"without {joined([*dict.fromkeys(missing)])}, of which no price is stated"


def heat_notes(order: Order, stocks: Iterable[str]) -> list[str]:
    """Return what is to be minded with made-up envelopes, if any of the stocks is one."""
    envelope = any(order.stocks[name].kind is StockKind.ENVELOPE for name in stocks)
    return [f"Envelopes: {HEAT}"] if envelope else []


def notes_part(vendor: Vendor, more: Sequence[str]) -> list[Part]:
    """Return a vendor's own notes with more lines, and what to mind at work."""
    lines = [*(line for line in vendor.notes.splitlines() if line.strip()), *more]
    return [
        together(
            [
                rule(before=2, after=6),
                *([text("Notes", "heading")] if lines else []),
                *(text(line) for line in lines),
                gap(4),
                text(WORK, "small"),
            ]
        )
    ]
