"""Which pages a pair's sample sheets may be printed on, and how large things are on them."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from inkaccord.colour.pairs import Pair
from inkaccord.order.model import Order
from inkaccord.order.stocks import StockKind
from inkaccord.order.vendors import Edge
from inkaccord.sheets.model import SampleSheet
from inkaccord.sheets.planning.blocks import block_pages, is_cut_out
from inkaccord.sheets.settings import Edges, SheetFormat, SheetSettings

if TYPE_CHECKING:
    from inkaccord.knowledge.pairs import PairKnowledge


def sample_pages(order: Order, known: "PairKnowledge") -> tuple[SheetFormat, ...]:
    """Return the pages to choose from, the one wanted most first.

    Cards and envelopes are printed on themselves, since nothing can be cut out of them. Raises
    OrderError ``sample-size`` when the device's ``sample_size`` fits on none of its sheets.
    """
    sheets = device_sheets(order, known.pair)
    if order.stocks[known.pair.stock].kind is not StockKind.SHEET:
        return sheets
    return block_pages(sheets, order.device(known.pair.device).sample_size)


def device_sheets(order: Order, pair: Pair) -> tuple[SheetFormat, ...]:
    """Return the sheets that a pair's device takes of the stock: a card or envelope as it is."""
    device, stock = order.device(pair.device), order.stocks[pair.stock]
    vendor = order.vendors[order.vendor_of(pair.device)]
    sizes = device.sheets if stock.kind is StockKind.SHEET and device.sheets else (stock.size,)
    if vendor.sample_bleed:
        return tuple(SheetFormat(size=size, bleed_pt=vendor.bleed) for size in sizes)
    edges = {edge: max(device.margin, 0.0) for edge in Edge}
    if device.gripper is not None:
        edges[device.gripper] = max(edges[device.gripper], device.gripper_margin)
    unprintable = Edges(
        left=edges[Edge.LEFT],
        bottom=edges[Edge.BOTTOM],
        right=edges[Edge.RIGHT],
        top=edges[Edge.TOP],
    )
    return tuple(SheetFormat(size=size, unprintable=unprintable) for size in sizes)


def laid_path(order: Order, sheet: SampleSheet) -> str:
    """Return where the sheet is laid on the larger one that it is cut out of; "" for nowhere.

    The file is called after the vendor and the stock, and after the device where several of the
    vendor's print on that stock.
    """
    pair, name = sheet.pair, order.vendor_of(sheet.pair.device)
    if order.vendors[name].sample_bleed or not is_cut_out(sheet.size, device_sheets(order, pair)):
        return ""
    devices = {it.device for it in order.pairs_needed() if it.stock == pair.stock}
    several = len(devices & set(order.vendors[name].devices)) > 1
    device = (pair.device,) if several else ()
    return f"samples/{'-'.join((name, *device, pair.stock))}.pdf"


def laid_file(order: Order, drawn: Sequence[tuple[SampleSheet, bytes]]) -> bytes:
    """Return the PDF of sheets of one pair, as they were drawn, laid on what the device takes."""
    from inkaccord.sheets.drawing.laid import lay_blocks  # noqa: PLC0415 - only when sheets wait

    pair = drawn[0][0].pair
    name = order.vendor_of(pair.device)
    title = f"{order.vendors[name].title or name}, {pair}"
    return lay_blocks(drawn, device_sheets(order, pair), title=title)


def sample_settings(order: Order, known: "PairKnowledge") -> SheetSettings:
    """Return the sizes on the sheet, for the order's instrument and the pair's paper."""
    return SheetSettings.suiting(order.aperture, known.paper_lightness)
