"""How a suite is packed: what goes into which envelope, round the others, or beside them."""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

from inkaccord.order.going import Goes
from inkaccord.order.model import Order
from inkaccord.order.pieces import FoldLine, Piece
from inkaccord.order.stocks import StockKind
from inkaccord.sizes import Size
from inkaccord.units import inches

CLEARANCE = inches(1 / 4)
"""How much smaller an insert is than its envelope, both ways (common practice, no source)."""

FILLS = 0.5
"""How much of an envelope's face its own card takes at least: ours, no source."""
BAND_OVERLAP = inches(1 / 8), inches(2)
"""By how much the ends of a band lie over each other (an inch or less is common practice, no
source; longer ones are folded in)."""
SLENDER = 3.0
"""How many times as long as wide a band is at least: ours, no source."""


@dataclass(frozen=True)
class Packed:
    """How a piece is packed.

    Attributes
    ----------
    goes
        Within the suite, with another piece, round what lies within, or beside it.
    other
        The piece that it goes with.
    fits
        Whether it goes into its envelope: the one that it goes with, or the outer one. None where
        there is none, and for what goes round or is an envelope round all.
    """

    goes: Goes
    other: str | None = None
    fits: bool | None = None


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


def packing_of(order: Order) -> dict[str, Packed]:
    """Return how every piece of a suite is packed, the largest first: as the order says, or usual.

    Usual is (common practice, no source, but for the bounds above): what fits the outer envelope
    goes within; an envelope inside has the largest card that fits it and fills it by half, such as
    a reply card; a slender strip as long as the largest piece is round lies round all of them; what
    does not fit lies beside.
    """
    sizes = suite_sizes(order)
    outer = outer_envelope(order, sizes)
    packed = {
        name: Packed(Goes.WITHIN) if name == outer else _told(order, name, sizes, outer)
        for name in sizes
    }
    usual = {name: size for name, size in sizes.items() if packed[name] is None}
    for name, size in usual.items():
        fits = None if outer is None else goes_into(size, sizes[outer])
        packed[name] = Packed(Goes.BESIDE if fits is False else Goes.WITHIN, fits=fits)
    found = {name: it for name, it in packed.items() if it is not None}
    found |= _bands(order, usual, sizes, found)
    return found | _cards(order, list(usual), sizes, found)


def _told(order: Order, name: str, sizes: Mapping[str, Size], outer: str | None) -> Packed | None:
    """Return how the order says that a piece is packed; None where it doesn't."""
    going = order.pieces[name].goes
    if going is None:
        return None
    other = going.other
    into = other if other and is_envelope(order, other) else outer
    judged = into in sizes and going.how in {Goes.WITHIN, Goes.WITH}
    fits = goes_into(sizes[name], sizes[into]) if into and judged else None
    return Packed(going.how, other, fits)


def _bands(
    order: Order,
    usual: Mapping[str, Size],
    sizes: Mapping[str, Size],
    packed: Mapping[str, Packed],
) -> dict[str, Packed]:
    """Return the pieces that are bands: they go round the largest piece that lies within."""
    within = [
        name
        for name, how in packed.items()
        if how.goes is Goes.WITHIN and not is_envelope(order, name)
    ]
    found = {}
    for name, size in usual.items():
        core = next((sizes[other] for other in within if other != name), None)
        if core is not None and not is_envelope(order, name) and goes_round(size, core):
            found[name] = Packed(Goes.ROUND)
    return found


def goes_round(strip: Size, core: Size) -> bool:
    """Tell whether a strip is a band round a piece: slender, and as long as the piece is round."""
    width, length = sorted((strip.width_pt, strip.height_pt))
    least, most = BAND_OVERLAP
    return length >= SLENDER * width and any(
        2 * across + least <= length <= 2 * across + most and width < along
        for across, along in (
            (core.width_pt, core.height_pt),
            (core.height_pt, core.width_pt),
        )
    )


def _cards(
    order: Order, usual: list[str], sizes: Mapping[str, Size], packed: Mapping[str, Packed]
) -> dict[str, Packed]:
    """Return the cards that go with an envelope of their own, each the largest that fits it."""
    outer = outer_envelope(order, sizes)
    taken = {it.other for it in packed.values()}
    found: dict[str, Packed] = {}
    for inner in reversed(list(sizes)):  # the smallest envelope first
        if inner == outer or inner in taken or not is_envelope(order, inner):
            continue
        for name in usual:
            fills = _area(sizes[name]) >= FILLS * _area(sizes[inner])
            free = name not in found and packed[name].goes is Goes.WITHIN
            card = free and fills and not is_envelope(order, name)
            if card and goes_into(sizes[name], sizes[inner]):
                found[name] = Packed(Goes.WITH, inner, fits=True)
                break
    return found


def is_envelope(order: Order, name: str) -> bool:
    """Tell whether a piece is printed on an envelope."""
    stock = order.stocks.get(order.pieces[name].stock)
    return stock is not None and stock.kind is StockKind.ENVELOPE


def _area(size: Size) -> float:
    return size.width_pt * size.height_pt
