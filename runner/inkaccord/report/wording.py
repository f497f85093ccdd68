"""Numbers, dates and names as people read them, the same on paper and on the screen."""

from collections import Counter
from collections.abc import Sequence

from inkaccord.diagnostics import Severity
from inkaccord.order.model import Order
from inkaccord.order.pieces import Folding, FoldLine
from inkaccord.order.pricing import totals, totals_in_words
from inkaccord.run.record import PieceStatus, RecordedPiece, RecordedSheet, Run
from inkaccord.run.sampling import Sampling
from inkaccord.sizes import Size
from inkaccord.units import inch, mm
from inkaccord.words import counted, day, joined, thousands


def some(names: Sequence[str]) -> str:
    """Return all names where they are few, else the first one and how many more there are."""
    if len(names) <= 3:
        return joined(names)
    return f"{names[0]} and {thousands(len(names) - 1)} more"


def how_pieces_stand(run: Run) -> dict[PieceStatus, int]:
    """Return how many pieces of an order stand how, of those that there are any of."""
    found = Counter(piece.status for piece in run.pieces)
    return {status: found[status] for status in PieceStatus if found[status]}


def to_mend(run: Run) -> list[str]:
    """Return the pieces that can't go as they are: they failed, or their artwork has errors."""
    at = {it.place.field for it in run.findings if it.severity is Severity.ERROR}
    return [
        piece.name
        for piece in run.pieces
        if piece.status is PieceStatus.FAILED or f"pieces.{piece.name}.artwork" in at
    ]


def first_step(run: Run) -> str:
    """Return what an order waits for first, in one sentence."""
    if run.next:
        return run.next[0].text
    if failed := to_mend(run):
        return f"Mend {some(failed)}"
    return "See what was not delivered" if run.exit_code else "Nothing more is asked"


def vendor_title(order: Order, vendor: str) -> str:
    """Return the name that a vendor goes by; also of one that the order left."""
    return vendor if vendor not in order.vendors else order.vendors[vendor].title or vendor


def stock_title(order: Order, name: str) -> str:
    """Return a stock with its weight, colour in words and kind, as far as the order says."""
    stock = order.stocks.get(name)
    if stock is None:
        return name
    parts = [name, stock.weight or "", stock.description]
    return ", ".join(part for part in parts if part)


def trim_size(order: Order, piece: str) -> str:
    """Return ``5.5 × 4.25 in (139.7 × 107.95 mm)``."""
    trim = order.pieces[piece].trim
    metric = "{:g} × {:g} mm".format(*(round(side, 2) for side in trim.in_mm))
    own = str(trim)
    return own if own.endswith("mm") else f"{own} ({metric})"


def length(length_mm: float, *, inches: bool) -> str:
    """Return ``0.125 in (3.18 mm)``, or the millimetres alone; of nothing ``none``."""
    if not length_mm:
        return "none"
    metric = f"{length_mm:.4g} mm"
    return f"{length_mm / 25.4:.3g} in ({metric})" if inches else metric


def sides(number: int) -> str:
    """Return how many sides are printed, in words."""
    return {1: "one side", 2: "both sides"}.get(number, f"{number} pages")


def folding(fold: Folding, trim: Size) -> str:
    """Return where a piece is folded: ``folded once, upright, in the middle``."""
    upright = fold.line is FoldLine.VERTICAL
    along = "upright" if upright else "level"
    places, metric = fold.places(trim), trim.is_metric
    measures = [f"{round(mm(it), 2):g} mm" if metric else f"{inch(it):g} in" for it in places]
    edge = "the left" if upright else "the bottom"
    times = {1: "once", 2: "twice"}.get(len(places), f"{len(places)} times")
    scored = "scored and folded" if fold.score else "folded"
    style = f" ({fold.style} fold)" if fold.style else ""
    return f"{scored} {times}{style}, {along}, {joined(measures)} from {edge}"


def printed(run: Run, piece: RecordedPiece) -> int:
    """Return how many of a piece are printed: what its sheets give, else quantity and overs."""
    if piece.records is not None:
        return piece.quantity  # what is laid besides stays blank
    laid = sum(sheet.run * sheet.pieces.get(piece.name, 0) for sheet in run.sheets)
    return laid or piece.quantity + piece.overs


def more_than_ordered(run: Run, piece: RecordedPiece) -> int:
    """Return how many more the sheets give than quantity and overs."""
    return printed(run, piece) - piece.quantity - piece.overs


def quantity_in_words(run: Run, piece: RecordedPiece) -> str:
    """Return how the number that is printed comes about: ``60 + 3 overs + 2 that fill sheets``."""
    parts = [thousands(piece.quantity)]
    if piece.records is not None:
        return f"{parts[0]}, every copy another: each page once"
    if piece.overs:
        parts.append(counted(piece.overs, "over"))
    more = more_than_ordered(run, piece)
    if more:
        parts.append(f"{thousands(more)} more, as the sheets hold them")
    return " + ".join(parts)


def inks_unknown(pieces: Sequence[str]) -> str:
    """Say that no distance can be told of some pieces, and why."""
    said = "prints: its page is" if len(pieces) == 1 else "print: their pages are"
    return (
        f"Not known in which inks {some(pieces)} {said} converted to another kind of colour "
        "before, so no distance is told."
    )


def sampling_cost(order: Order, sampling: Sampling) -> str:
    """Return what a vendor's sample sheets take: paper, ink, and money where it is paid."""
    vendor = order.vendors.get(sampling.vendor)  # the order may have left it since
    parts = [
        f"{counted(sampling.prints, 'printed page')}",
        sampling.cost.ink_in_words,
    ]
    if totals(sampling.charges):
        missing = [it.what for it in sampling.charges if not it.is_known]
        without = f" without {joined([*dict.fromkeys(missing)])}" if missing else ""
        parts.append(f"{totals_in_words(sampling.charges)} by its prices{without}")
    elif sampling.charges and (vendor is None or vendor.is_paid):
        parts.append("at a price that is not stated")
    return ", ".join(parts)


def are_late(pieces: Sequence[str]) -> str:
    """Return what is late: ``card is late``, ``card and tag are late``."""
    return f"{some(pieces)} {'is' if len(pieces) == 1 else 'are'} late"


def sampling_dates(sampling: Sampling) -> str:
    """Return by when they go out and are back, and what is late else; empty without a due date."""
    dates = sampling.dates
    if dates is None:
        return ""
    late = are_late(dates.pieces)
    if dates.send_by == dates.back_by:
        return f"needed by {day(dates.back_by, weekday=True)}, or {late}"
    return (
        f"to be sent by {day(dates.send_by, weekday=True)} and back by "
        f"{day(dates.back_by, weekday=True)}, or {late}"
    )


def away(sheet: RecordedSheet) -> str:
    """Say to whom a sheet was sent to be printed, and by when it is needed back; else nothing."""
    if sheet.away is None:
        return ""
    to = f" to {sheet.away.to}" if sheet.away.to else ""
    said = f"Sent{to} on {day(sheet.away.since)}, and not back yet"
    if sheet.dates is None:
        return f"{said}."
    by = day(sheet.dates.back_by, weekday=True)
    return f"{said}; needed by {by}, or {are_late(sheet.dates.pieces)}."
