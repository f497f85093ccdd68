"""Which pages a pair's sample sheets may be printed on, and how large things are on them."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from inkaccord.colour.pairs import Pair
from inkaccord.errors import OrderError
from inkaccord.layout.model import Edge
from inkaccord.order.job import Printing
from inkaccord.order.keeping import Keep, Samples
from inkaccord.order.model import Order
from inkaccord.sheets.keeping import punched, with_tab
from inkaccord.sheets.model import SampleSheet
from inkaccord.sheets.planning.blocks import block_pages, is_cut_out
from inkaccord.sheets.settings import SheetFormat, SheetSettings
from inkaccord.sizes import Sides, Size
from inkaccord.units import PT_PER_MM

if TYPE_CHECKING:
    from inkaccord.knowledge.pairs import PairKnowledge
    from inkaccord.sheets.drawing.drawn import DrawnSheet

_USUAL = SheetFormat(size=Size.parse("a4"), unprintable=Sides.even(4.2 * PT_PER_MM))
"""What a device takes of which nobody says more."""


def sample_pages(order: Order, pair: Pair) -> tuple[SheetFormat, ...]:
    """Return the pages to choose from, the one wanted most first.

    Cards and envelopes are printed on themselves, since nothing can be cut out of them. Raises
    OrderError ``sample-size`` when the device's ``sample_size`` fits on none of its sheets, and
    ``too-short-to-punch`` when none of the pages has room for the binder's holes.
    """
    printing = order.on(pair)
    pages = small_pages(printing, device_sheets(printing), printing.device.sample_size)
    return _kept(order.samples, pages)


def _kept(samples: Samples, pages: Sequence[SheetFormat]) -> tuple[SheetFormat, ...]:
    """Return the pages that can be kept as the order says, with the room that this takes."""
    if samples.keep is Keep.LOOSE:
        return tuple(pages)
    if samples.keep is Keep.CARDS:
        return tuple(with_tab(page) for page in pages)
    found: list[SheetFormat] = []
    problems: list[OrderError] = []
    for page in pages:
        try:
            found.append(punched(page, samples.holes))
        except OrderError as problem:
            problems.append(problem)
    if not found:
        raise problems[-1]
    return tuple(found)


def device_sheets(printing: Printing) -> tuple[SheetFormat, ...]:
    """Return the sheets that a pair's device takes of the stock: a card or envelope as it is."""
    vendor, device, sizes = printing.vendor, printing.device, printing.sheets
    if vendor.sample_bleed:
        return tuple(SheetFormat(size=size, bleed_pt=vendor.bleed) for size in sizes)
    edges = {edge: max(device.margin, 0.0) for edge in Edge}
    if device.gripper is not None:
        edges[device.gripper] = max(edges[device.gripper], device.gripper_margin)
    unprintable = Sides(
        left=edges[Edge.LEFT],
        bottom=edges[Edge.BOTTOM],
        right=edges[Edge.RIGHT],
        top=edges[Edge.TOP],
    )
    return tuple(SheetFormat(size=size, unprintable=unprintable) for size in sizes)


def told_sheets(
    printing: Printing | None,
    *,
    size: Size | None,
    margin_pt: float | None,
    bleed_pt: float | None,
) -> tuple[SheetFormat, ...]:
    """Return the sheets that a pair's device takes: as its order says, if any, and a person tells.

    What nobody says is usual: A4, with a rim of 4.2 mm that isn't printed, and no bleed.
    """
    sheets = device_sheets(printing) if printing else (_USUAL,)
    told = {
        "size": size,
        "unprintable": None if margin_pt is None else Sides.even(margin_pt),
        "bleed_pt": bleed_pt,
    }
    changes = {name: value for name, value in told.items() if value is not None}
    several = sheets[:1] if size else sheets
    return tuple(sheet.model_copy(update=changes) for sheet in several)


def small_pages(
    printing: Printing | None, sheets: Sequence[SheetFormat], asked: Size | None = None
) -> tuple[SheetFormat, ...]:
    """Return the pages that a sheet on what a device takes may have, the smallest first."""
    if printing is not None and printing.fed_singly:
        return tuple(sheets)
    return block_pages(sheets, asked)


def is_laid(order: Order, sheet: SampleSheet) -> bool:
    """Tell whether the sheet is laid on a larger one, out of which it is cut."""
    printing = order.on(sheet.pair)
    return not printing.vendor.sample_bleed and is_cut_out(sheet.size, device_sheets(printing))


def laid_file(
    order: Order, drawn: Sequence["DrawnSheet"], every: Sequence["DrawnSheet"] = ()
) -> bytes:
    """Return the PDF of sheets of one pair, as they were drawn, laid on what the device takes.

    ``every`` are all that are cut out of larger sheets now: where the vendor wants its devices to
    share their paper, places are left free for those of its other devices on the same stock.
    """
    from inkaccord.sheets.drawing.laid import lay_blocks  # noqa: PLC0415 - only when sheets wait

    printing = order.on(drawn[0].sheet.pair)
    title = f"{printing.vendor_title}, {printing.pair}"
    beside = [it for it in every if _shares(order, it.sheet, printing)]
    on = _common_sheets([printing, *(order.on(it.sheet.pair) for it in beside)])
    if not on:  # devices that take no size of sheet in common
        beside, on = [], device_sheets(printing)
    return lay_blocks(drawn, on, title=title, beside=beside)


def _shares(order: Order, sheet: SampleSheet, printing: Printing) -> bool:
    """Tell whether a sheet is for another device that the same paper goes through."""
    other = order.on(sheet.pair)
    return (
        printing.vendor.samples_share
        and other.vendor_name == printing.vendor_name
        and other.pair.stock == printing.pair.stock
        and other.pair != printing.pair
    )


def _common_sheets(printings: Sequence[Printing]) -> tuple[SheetFormat, ...]:
    """Return the sheets that several devices take, with what each of them leaves blank."""
    first, *others = (device_sheets(printing) for printing in printings)
    common = []
    for sheet in first:
        alike = [sheet, *(it for takes in others for it in takes if it.size.same_as(sheet.size))]
        if all(any(it.size.same_as(sheet.size) for it in takes) for takes in others):
            edges = [it.unprintable for it in alike]
            blank = Sides(
                left=max(edge.left for edge in edges),
                bottom=max(edge.bottom for edge in edges),
                right=max(edge.right for edge in edges),
                top=max(edge.top for edge in edges),
            )
            common.append(sheet.model_copy(update={"unprintable": blank}))
    return tuple(common)


def sample_settings(order: Order, known: "PairKnowledge") -> SheetSettings:
    """Return the sizes on the sheet, for the order's instrument and the pair's paper."""
    usual = SheetSettings.suiting(order.aperture, known.paper_lightness)
    return usual.model_copy(update={"white_under": order.white_under(known.pair.stock)})
