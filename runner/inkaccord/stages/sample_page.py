"""Which page a pair's sample sheets are printed on, and how large things are on it."""

from inkaccord.order.model import Order
from inkaccord.order.stocks import StockKind
from inkaccord.order.vendors import Edge
from inkaccord.sheets.settings import Edges, SheetFormat, SheetSettings
from inkaccord.stages.knowledge import PairKnowledge


def sample_page(order: Order, known: PairKnowledge) -> SheetFormat:
    """Return the page: the smallest sheet that the device takes, or the card or envelope itself."""
    pair = known.pair
    device = order.device(pair.device)
    stock = order.stocks[pair.stock]
    vendor = order.vendors[order.vendor_of(pair.device)]
    size = stock.size
    if stock.kind is StockKind.SHEET and device.sheets:
        size = min(device.sheets, key=lambda it: it.width_pt * it.height_pt)
    if vendor.sample_bleed:
        return SheetFormat(size=size, bleed_pt=vendor.bleed)
    edges = {edge: max(device.margin, 0.0) for edge in Edge}
    if device.gripper is not None:
        edges[device.gripper] = max(edges[device.gripper], device.gripper_margin)
    return SheetFormat(
        size=size,
        unprintable=Edges(
            left=edges[Edge.LEFT],
            bottom=edges[Edge.BOTTOM],
            right=edges[Edge.RIGHT],
            top=edges[Edge.TOP],
        ),
    )


def sample_settings(known: PairKnowledge) -> SheetSettings:
    """Return the sizes on the sheet, with larger type for dark paper."""
    return SheetSettings().for_paper(known.paper_lightness)
