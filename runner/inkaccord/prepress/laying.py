"""What an order says of pieces, stocks and devices, in the terms of imposition."""

from inkaccord.colour.builds import Drive
from inkaccord.errors import OrderError
from inkaccord.layout.feeding import Feeding, Flap
from inkaccord.layout.marks import ColourPatch, MarkInk, MarkRules
from inkaccord.layout.model import (
    Axis,
    Duplex,
    Edge,
    Fold,
    FoldKind,
    Gripper,
    Gutter,
    Item,
    LayoutRules,
    RecordOrder,
    SheetStock,
)
from inkaccord.order.job import Job, Printing
from inkaccord.order.model import Order
from inkaccord.order.pieces import FoldLine, Piece, Records
from inkaccord.order.stocks import Grain, Stock, StockKind
from inkaccord.order.vendors import Delivers
from inkaccord.sheets.controls import FEWEST_CONTROLS, control_builds
from inkaccord.sheets.settings import SheetSettings
from inkaccord.sizes import Sides, Size
from inkaccord.units import write_length

_AXES = {FoldLine.VERTICAL: Axis.UPRIGHT, FoldLine.HORIZONTAL: Axis.LEVEL}
_RECORDS = {
    Records.CUT_AND_STACK: RecordOrder.STACKS,
    Records.SHEET_BY_SHEET: RecordOrder.ACROSS,
}


def item_of(job: Job, sides: int) -> Item:
    """Return a piece as something to lay on a sheet, overs included."""
    return Item(
        name=job.name,
        trim=job.piece.trim,
        bleed_pt=job.bleed_pt,
        quantity=job.quantity + job.overs,
        sides=2 if sides == 2 else 1,
        folds=folds_of(job.piece),
        grain=grain_of(job.piece),
        may_turn=not job.stock.directional,
        back_up=job.piece.back_up,
        records=_RECORDS[job.piece.records or Records.CUT_AND_STACK],
    )


def folds_of(piece: Piece) -> tuple[Fold, ...]:
    """Return the folds of a piece; in the middle where the order gives no place."""
    if piece.fold is None:
        return ()
    kind = FoldKind.SCORE if piece.fold.score else FoldKind.FOLD
    return tuple(
        Fold(runs=_AXES[piece.fold.line], at_pt=at, kind=kind)
        for at in piece.fold.places(piece.trim)
    )


def grain_of(piece: Piece) -> Axis | None:
    """Return which way the grain must run in a piece: as it says, else parallel to its folds."""
    if piece.grain is not None:
        return _AXES[piece.grain]
    return None if piece.fold is None else _AXES[piece.fold.line]


def sheets_of(printing: Printing) -> tuple[SheetStock, ...]:
    """Return the sheets that a device takes of a stock, with what it can't print of them."""
    device, stock = printing.device, printing.stock
    gripper = None
    if device.gripper is not None and device.gripper_margin > 0:
        gripper = Gripper(edge=device.gripper, depth_pt=device.gripper_margin)
    margins = Sides.even(device.margin)
    for size in printing.sheets:
        if min(size.width_pt, size.height_pt) <= 2 * device.margin + device.gripper_margin:
            raise OrderError.of(
                "no-room-on-sheet",
                f"the margins of {write_length(device.margin)} leave nothing of a sheet of {size}",
                hint="correct the device's 'margin', 'gripper_margin' or 'sheets'",
            )
    return tuple(
        SheetStock(
            name=str(size),
            size=size,
            margins=margins,
            gripper=gripper,
            side_lay=device.side_lay,
            grain=_grain(stock, size),
        )
        for size in printing.sheets
    )


def _grain(stock: Stock, size: Size) -> Axis | None:
    if stock.grain is None:
        return None
    upright_is_long = size.height_pt >= size.width_pt
    along_long = stock.grain is Grain.LONG
    return Axis.UPRIGHT if upright_is_long == along_long else Axis.LEVEL


def layout_rules(printing: Printing, sides: int) -> LayoutRules:
    """Return how pieces may be laid."""
    vendor, device = printing.vendor, printing.device
    return LayoutRules(
        gutter=Gutter.SHARE if vendor.shared_bleed else Gutter.TOUCH,
        between_pt=0.0 if vendor.shared_bleed else vendor.gutter,
        frame=Sides.even(vendor.frame or 0.0),
        duplex=Duplex(device.turning.value) if sides == 2 else Duplex.ONE_SIDED,
        max_layouts=vendor.max_layouts,
        costs=vendor.costs,
    )


def mark_rules(order: Order, printing: Printing, slug: str) -> MarkRules | None:
    """Return the marks that a vendor wants, with control swatches on sheets of our own.

    The swatches are those of every sample sheet, so that any printed sheet tells of drift. What is
    fed singly has no room for marks, and no cut to mark.
    """
    vendor, device = printing.vendor, printing.device
    if not vendor.marks or printing.fed_singly:
        return None
    builds = control_builds(device.drive) if vendor.delivers is Delivers.SHEETS else ()
    return MarkRules(
        slug=slug,
        swatches=tuple(
            ColourPatch(label=f"X{number}", build=build)
            for number, build in enumerate(builds, start=1)
        ),
        swatch_pt=SheetSettings.through(order.aperture).smallest_side_pt,
        fewest_swatches=FEWEST_CONTROLS,
        ink=MarkInk(vendor.mark_ink),
        drive=device.drive,
        register_marks=device.drive is Drive.CMYK and device.gripper is not None,
    )


def feeding_of(printing: Printing) -> Feeding:
    """Return how a device takes an envelope or a card."""
    device, stock = printing.device, printing.stock
    flap = Flap.NONE
    if stock.kind is StockKind.ENVELOPE:
        flap = Flap.UP if device.flap == "up" else Flap.DOWN
    level = stock.size.width_pt >= stock.size.height_pt
    short_first = device.feeds == "short-edge"
    return Feeding(
        leading=Edge.LEFT if level == short_first else Edge.TOP,
        flap=flap,
        margins=Sides.even(device.margin),
    )
