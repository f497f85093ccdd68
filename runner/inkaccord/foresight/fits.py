"""What goes together in size and what does not: pieces, sheets, stocks, envelopes."""

from collections.abc import Iterator, Mapping

from inkaccord.diagnostics import Diagnostic, note, warning
from inkaccord.errors import OrderError
from inkaccord.foresight.checking import Fault
from inkaccord.layout.packing import misfit
from inkaccord.order.enclosing import (
    CLEARANCE,
    clearance_pt,
    outer_envelope,
    packing_of,
    suite_sizes,
)
from inkaccord.order.going import Goes
from inkaccord.order.loading import LoadedOrder
from inkaccord.order.vendors import Delivers
from inkaccord.pdf.boxes import TRIM_TOLERANCE_PT
from inkaccord.prepress.laying import item_of, layout_rules, sheets_of
from inkaccord.sizes import Size, envelope_of
from inkaccord.units import inch, inches, mm
from inkaccord.words import joined

BESIDE_PT = inches(1 / 2)
"""A piece that is larger than its envelope by more than this is meant to lie beside it."""


def check_sheets(loaded: LoadedOrder, pages: Mapping[str, int]) -> Iterator[Fault]:
    """Find pieces that fit none of the sheets that their device takes."""
    for name, job in loaded.order.jobs.items():
        if job.vendor.delivers is not Delivers.SHEETS or job.fed_singly:
            continue
        place = loaded.source.place(("pieces", name, "trim"))
        sides = pages.get(name, job.piece.sides or 1)
        try:
            finding = misfit(
                item_of(job, sides),
                sheets_of(job),
                layout_rules(job, sides),
            )
        except OrderError as problem:
            found = problem.findings
        else:
            found = () if finding is None else (finding,)
        for finding in found:
            yield Fault(finding.model_copy(update={"place": place}), (name,), "it fits on no sheet")


def check_stock_sheets(loaded: LoadedOrder) -> Iterator[Diagnostic]:
    """Find stocks out of whose sheets none can be cut that their device is said to take."""
    order = loaded.order
    for pair in order.pairs_needed():
        printing = order.on(pair)
        if printing.takes_its_sheet:
            continue
        size, taken = printing.stock.size, joined([str(it) for it in printing.device.sheets])
        yield warning(
            "stock-not-a-sheet",
            f"the stock '{pair.stock}' comes in {size}, out of which none of the sheets can be cut "
            f"that {pair.device} is said to take ({taken}): all is laid on {size}",
            place=loaded.source.place(("stocks", pair.stock, "size")),
            hint=f"ask whether {pair.device} takes {size}, and add that to its 'sheets'; or set "
            f"stocks.{pair.stock}.size to the sheets that the stock is bought in",
        )


def check_fed_stocks(loaded: LoadedOrder) -> Iterator[Diagnostic]:
    """Find envelopes and cards of another size than the piece that is printed on them."""
    for name, job in loaded.order.jobs.items():
        piece, stock = job.piece, job.stock
        if not job.fed_singly or any(
            size.same_as(piece.trim, TRIM_TOLERANCE_PT) for size in (stock.size, stock.size.turned)
        ):
            continue
        ratio = _area(stock.size) / _area(piece.trim)
        usual = envelope_of(piece.trim, TRIM_TOLERANCE_PT)
        much = "far larger than" if ratio > 2 else "another size than"
        yield warning(
            "trim-not-stock",
            f"the {stock.kind} '{piece.stock}' is {stock.size}, {much} the piece that is printed "
            f"on it, {piece.trim}",
            place=loaded.source.place(("stocks", piece.stock, "size")),
            hint=f"did you mean {usual}?"
            if usual is not None
            else f"set stocks.{piece.stock}.size or pieces.{name}.trim: they are the same thing",
        )


def _area(size: Size) -> float:
    return size.width_pt * size.height_pt


def check_envelope(loaded: LoadedOrder) -> Iterator[Diagnostic]:
    """Find pieces of the suite that do not go into their envelope."""
    order = loaded.order
    sizes = suite_sizes(order)
    outer = outer_envelope(order, sizes)
    for name, packed in packing_of(order).items():
        told = order.pieces[name].goes is not None
        envelope = packed.other if packed.goes is Goes.WITH else outer
        if packed.fits is None or envelope is None:
            continue
        size = sizes[name]
        spare = clearance_pt(size, sizes[envelope])
        if spare >= CLEARANCE - 0.01:
            continue
        folded = "folded " if order.pieces[name].fold else ""
        place = loaded.source.place(("pieces", name, "goes" if told else "trim"))
        if spare < -BESIDE_PT and not told:
            yield note(
                "beside-envelope",
                f"{name}, {folded}{size}, does not go into {envelope}, {sizes[envelope]}: it is "
                "packed beside it",
                place=place,
                hint=f"if it is a band, say so: pieces.{name}.goes: round",
            )
            continue
        fault = (
            f"does not go into {envelope}, {sizes[envelope]}"
            if spare < 0
            else f"is only {_like(size, spare)} smaller than {envelope}, {sizes[envelope]}"
        )
        yield warning(
            "tight-envelope",
            f"{name}, {folded}{size}, {fault}",
            place=place,
            hint=f"an insert is about {_like(size, CLEARANCE)} smaller than its envelope both "
            "ways (common practice); take the next envelope, or a smaller trim",
        )


def _like(size: Size, length_pt: float) -> str:
    """Return a length in the unit that a size is shown in."""
    return f"{mm(length_pt):.1f} mm" if size.is_metric else f"{inch(length_pt):.2f} in"
