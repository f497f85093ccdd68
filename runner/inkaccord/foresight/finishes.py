"""Which finishes a piece carries, and whether who prints it does them."""

from collections.abc import Iterator

from inkaccord.diagnostics import Diagnostic, error, note, warning
from inkaccord.order.finishes import FinishKind
from inkaccord.order.model import Order
from inkaccord.run.bench import Bench
from inkaccord.run.collected import PieceArtwork
from inkaccord.words import joined

NOT_TAKEN = "its vendor is not known to do a finish that it carries"


def white_and_stock(order: Order, artwork: PieceArtwork, bench: Bench) -> Iterator[Diagnostic]:
    """Say where white and the stock don't go together: each alone tells of another pair."""
    job, held = order.jobs[artwork.piece], set(artwork.finishes)
    whites = [it for it in artwork.finishes if order.finishes[it].finish is FinishKind.WHITE]
    place = bench.place("pieces", artwork.piece, "stock")
    if job.stock.under is not None and job.stock.under not in held:
        yield warning(
            "no-white-under",
            f"{artwork.piece} is printed on {job.pair.stock}, that is on white, and its artwork "
            f"has none of '{job.stock.under}'",
            place=place,
            hint="draw the white in the artwork, or name the bare stock",
        )
    elif whites and job.stock.under is None:
        yield note(
            "white-beside-ink",
            f"{artwork.piece} carries the white '{whites[0]}', and its colours are set for bare "
            f"{job.pair.stock}: where they lie on the white, they come out otherwise",
            place=place,
            hint=f"give the stock with its white another name, stocks: {job.pair.stock}-on-white: "
            f"{{under: {whites[0]}, …}}, which has readings of its own",
        )


def not_taken(order: Order, artwork: PieceArtwork, bench: Bench) -> Iterator[Diagnostic]:
    """Yield every kind of finish that a piece carries and its vendor's profile does not list."""
    job = order.jobs[artwork.piece]
    kinds: dict[FinishKind, list[str]] = {}
    for name in artwork.finishes:
        kind = order.finishes[name].finish
        if kind not in job.vendor.finishes:
            kinds.setdefault(kind, []).append(name)
    for kind, names in kinds.items():
        does = joined([str(it) for it in job.vendor.finishes]) or "no finish"
        yield error(
            "finish-not-taken",
            f"{artwork.piece} carries the {kind} {joined([repr(it) for it in names])}, and "
            f"{job.vendor_name} lists {does}",
            place=bench.place("pieces", artwork.piece, "device"),
            hint=f"ask {job.vendor_name}, and list it: vendors.{job.vendor_name}.finishes: "
            f"{{{kind}: as-drawn}}; or have the piece made elsewhere; or, if another hand adds it, "
            "waive this on the piece, with the reason",
        )
