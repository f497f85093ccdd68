"""Which piece is the suite's envelope, and what goes into it."""

from collections.abc import Mapping
from itertools import pairwise

from inkaccord.order.model import Order
from inkaccord.order.pieces import FoldLine, Piece
from inkaccord.order.stocks import StockKind
from inkaccord.sizes import Size
from inkaccord.units import inches

CLEARANCE = inches(1 / 4)
"""How much smaller an insert is than its envelope, both ways (common practice, no source)."""


def folded_size(piece: Piece) -> Size:
    """Return a piece's size once it is folded: its largest panel."""
    trim = piece.trim
    if piece.fold is None:
        return trim
    upright = piece.fold.line is FoldLine.VERTICAL
    length_pt = trim.width_pt if upright else trim.height_pt
    edges = [0.0, *sorted(piece.fold.places(trim)), length_pt]
    panel_pt = max(b - a for a, b in pairwise(edges))
    if upright:
        return Size(width_pt=panel_pt, height_pt=trim.height_pt)
    return Size(width_pt=trim.width_pt, height_pt=panel_pt)


def suite_sizes(order: Order) -> dict[str, Size]:
    """Return the pieces of a suite as they are packed, the largest first."""
    sizes = {name: folded_size(it) for name, it in order.pieces.items() if it.per_suite > 0}
    by_size = sorted(sizes, key=lambda name: -sizes[name].width_pt * sizes[name].height_pt)
    return {name: sizes[name] for name in by_size}


def outer_envelope(order: Order, sizes: Mapping[str, Size]) -> str | None:
    """Return the largest envelope of a suite's pieces, which come the largest first."""
    stocks = {name: order.stocks.get(order.pieces[name].stock) for name in sizes}
    return next((n for n, it in stocks.items() if it and it.kind is StockKind.ENVELOPE), None)


def goes_into(piece: Size, envelope: Size) -> bool:
    """Tell whether a piece goes into an envelope, turned or not, if only just."""
    return clearance_pt(piece, envelope) >= -0.01


def clearance_pt(piece: Size, envelope: Size) -> float:
    """Return by how much a piece is smaller than its envelope, the tighter way of the better turn.

    Below 0 it does not go in.
    """
    return max(
        min(envelope.width_pt - way.width_pt, envelope.height_pt - way.height_pt)
        for way in (piece, piece.turned)
    )
