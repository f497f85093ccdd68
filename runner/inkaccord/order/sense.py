"""What an order says that can't be meant, though every field of it can be read."""

import re
from collections.abc import Collection, Iterable, Iterator

from inkaccord.diagnostics import Diagnostic, error
from inkaccord.order.mistakes import suggest
from inkaccord.order.model import Order
from inkaccord.order.pieces import FoldLine
from inkaccord.order.prices import Prices
from inkaccord.order.source import Path_, Source
from inkaccord.order.stocks import StockKind
from inkaccord.order.vendors import Delivers
from inkaccord.sizes import named_sizes
from inkaccord.units import write_length

_ISO_A = re.compile(r"^\s*(?:din\s+)?(a\d+)\s*$", re.I)


def check_sense(order: Order, source: Source) -> list[Diagnostic]:
    """Return every mistake that shows only when two fields are read together."""
    return [
        *_dates(order, source),
        *_envelopes(order, source),
        *_folds(order, source),
        *_prices(order, source),
    ]


def _dates(order: Order, source: Source) -> Iterator[Diagnostic]:
    if order.due is not None and order.due < order.date:
        yield error(
            "due-before-date",
            f"the order is due on {order.due}, before its own date, {order.date}",
            place=source.place(("due",)),
            hint="set 'due' to the day when everything must be there, 'date' to today",
        )


def _envelopes(order: Order, source: Source) -> Iterator[Diagnostic]:
    for name, stock in order.stocks.items():
        written = source.data["stocks"][name].get("size")
        short = _ISO_A.match(written) if isinstance(written, str) else None
        envelope = f"{short[1].lower()}-envelope" if short else ""
        if stock.kind is StockKind.ENVELOPE and short and envelope in named_sizes():
            width, height = stock.size.in_mm
            yield error(
                "sheet-for-envelope",
                f"'{short[1]}' is the ISO sheet of {width:g} × {height:g} mm, and this stock is an "
                f"envelope: did you mean {envelope}, {named_sizes()[envelope]}?",
                place=source.place(("stocks", name, "size")),
                hint=f"write size: {envelope}, or the envelope's width x height",
            )


def _folds(order: Order, source: Source) -> Iterator[Diagnostic]:
    for name, piece in order.pieces.items():
        if piece.fold is None:
            continue
        upright = piece.fold.line is FoldLine.VERTICAL
        side, span = ("width", piece.trim.width_pt) if upright else ("height", piece.trim.height_pt)
        try:
            piece.fold.places(piece.trim)
        except ValueError as problem:
            yield error(
                "panels-too-narrow",
                f"{problem}: the piece's {side} is {write_length(span)}",
                place=source.place(("pieces", name, "fold")),
                hint="fold less often, or tuck less: 'panels', 'tuck'",
            )
        for at in piece.fold.at:
            if not 0 < at < span:
                yield error(
                    "fold-outside",
                    f"the fold at {write_length(at)} lies outside the piece, whose {side} is "
                    f"{write_length(span)}",
                    place=source.place(("pieces", name, "fold", "at")),
                    hint=f"a {piece.fold.line} fold is measured from the "
                    f"{'left' if upright else 'bottom'} edge of the flat piece; "
                    f"'fold: {'horizontal' if upright else 'vertical'}' runs the other way",
                )


def _prices(order: Order, source: Source) -> Iterator[Diagnostic]:
    for name, vendor in order.vendors.items():
        if vendor.prices is None:
            continue
        at = ("vendors", name, "prices")
        yield from _priced(order, source, vendor.prices, at)
        if vendor.delivers is Delivers.SHEETS:
            yield from _no_free_overs(source, vendor.prices, at, "write 'delivers: pieces'")
    for name, quote in order.quotes.items():
        at = ("quotes", name, "prices")
        yield from _priced(order, source, quote.prices, at)
        if quote.sheets:
            yield from _no_free_overs(source, quote.prices, at, "leave out 'sheets'")
        if name in order.vendors:
            yield error(
                "quote-of-vendor",
                f"'{name}' is a vendor of this order",
                place=source.place(("quotes", name)),
                hint="write its prices there: they are compared as well",
            )
        yield from _known(source, "piece", quote.pieces, order.pieces, ("quotes", name, "pieces"))


def _priced(order: Order, source: Source, prices: Prices, at: Path_) -> Iterator[Diagnostic]:
    if prices.currency is None and order.currency is None:
        yield error(
            "no-currency",
            "these prices are in no currency",
            place=source.place(at),
            hint="add 'currency: EUR' (or your own code) to the order, or to these prices",
        )
    yield from _known(source, "piece", prices.by_piece, order.pieces, (*at, "by_piece"))
    yield from _known(source, "stock", prices.by_stock, order.stocks, (*at, "by_stock"))


def _no_free_overs(
    source: Source, prices: Prices, at: Path_, by_the_piece: str
) -> Iterator[Diagnostic]:
    if prices.overs == "free":
        yield error(
            "overs-on-sheets",
            "overs can be free where pieces are paid: this vendor is paid by the sheet",
            place=source.place((*at, "overs")),
            hint=f"take 'overs' out, or {by_the_piece}",
        )


def _known(
    source: Source, what: str, named: Iterable[str], known: Collection[str], at: Path_
) -> Iterator[Diagnostic]:
    for one in named:
        if one not in known:
            yield error(
                f"unknown-{what}",
                f"there is no {what} '{one}'",
                place=source.place((*at, one)),
                hint=suggest(one, known),
            )
