"""Front and back of a sheet: where each trim lies once the sheet is turned over.

Turning about an upright axis takes (x, y) to (W − x, y), about a level axis to (x, H − y);
each undoes itself, and both together are a half turn. Common practice of the trade: sheetwise
and work-and-turn keep the gripper edge, work-and-tumble changes it to the opposite edge.
"""

from inkaccord.diagnostics import Diagnostic, error
from inkaccord.errors import OrderError
from inkaccord.layout.model import (
    Axis,
    BackUp,
    Duplex,
    Edge,
    Item,
    Placement,
    Rotation,
    SheetLayout,
    SheetStock,
)
from inkaccord.sizes import Box, Size

TOLERANCE_PT = 0.01
"""How exactly front and back trims must lie on each other."""

_ROTATIONS: dict[int, Rotation] = {0: 0, 90: 90, 180: 180, 270: 270}


def turning_axis(sheet: SheetStock, duplex: Duplex) -> Axis:
    """Return the axis about which a sheet is turned over for its second side.

    A press turns about the axis square to its gripper edge (the lower edge where none is
    named), or along it for work-and-tumble. A device turns about its long or short edge; a
    square sheet is taken as standing.
    """
    standing = sheet.size.height_pt >= sheet.size.width_pt
    if duplex is Duplex.LONG_EDGE:
        return Axis.UPRIGHT if standing else Axis.LEVEL
    if duplex is Duplex.SHORT_EDGE:
        return Axis.LEVEL if standing else Axis.UPRIGHT
    edge = sheet.gripper.edge if sheet.gripper else Edge.BOTTOM
    keeps = Axis.UPRIGHT if edge in {Edge.BOTTOM, Edge.TOP} else Axis.LEVEL
    return keeps.across if duplex is Duplex.WORK_AND_TUMBLE else keeps


def turned_over(box: Box, size: Size, axis: Axis) -> Box:
    """Return where a box of the front lies, seen from the back."""
    if axis is Axis.UPRIGHT:
        return Box(size.width_pt - box.right, box.bottom, size.width_pt - box.left, box.top)
    return Box(box.left, size.height_pt - box.top, box.right, size.height_pt - box.bottom)


def backed(front: Placement, item: Item, size: Size, axis: Axis) -> Placement:
    """Return where a piece's back must be printed, seen from the back.

    A piece that lies at angle t on the front lies at −t on the back of a sheet turned about an
    upright axis, at 180° − t about a level one; head-to-foot adds a half turn.
    """
    box = turned_over(front.trim, size, axis)
    angle = -front.rotation if axis is Axis.UPRIGHT else 180 - front.rotation
    if item.back_up is BackUp.HEAD_TO_FOOT:
        angle += 180
    return front.model_copy(
        update={
            "side": 2,
            "x_pt": box.left,
            "y_pt": box.bottom,
            "rotation": _ROTATIONS[angle % 360],
        }
    )


def back_of(layout: SheetLayout, items: tuple[Item, ...]) -> tuple[Placement, ...]:
    """Return what the back of a sheet shows, seen from the back.

    Pieces of one side leave their place blank. A forme that prints both sides shows itself.
    """
    if layout.duplex is Duplex.ONE_SIDED:
        return ()
    if layout.duplex.one_forme:
        return layout.placements
    axis = turning_axis(layout.sheet, layout.duplex)
    by_name = {item.name: item for item in items}
    return tuple(
        backed(placed, by_name[placed.item], layout.sheet.size, axis)
        for placed in layout.placements
        if by_name[placed.item].sides == 2
    )


def blank_backs(layout: SheetLayout, items: tuple[Item, ...]) -> tuple[Box, ...]:
    """Return where pieces of one side lie, bleed included, seen from the back."""
    one_sided = {item.name for item in items if item.sides == 1}
    axis = turning_axis(layout.sheet, layout.duplex)
    return tuple(
        turned_over(placed.bleed, layout.sheet.size, axis)
        for placed in layout.placements
        if placed.item in one_sided
    )


def register_error_pt(layout: SheetLayout, back: tuple[Placement, ...]) -> float:
    """Return how far the worst back trim lies from the trim of its own front.

    Every back is turned over and compared with the nearest front of the same piece; a back
    without such a front counts as infinitely far.
    """
    axis = turning_axis(layout.sheet, layout.duplex)
    fronts: dict[str, list[Box]] = {}
    for placed in layout.placements:
        if placed.side == 1:
            fronts.setdefault(placed.item, []).append(placed.trim)
    worst = 0.0
    for placed in back:
        if placed.side != 2:
            continue
        through = turned_over(placed.trim, layout.sheet.size, axis)
        worst = max(
            worst,
            min(
                (
                    max(abs(a - b) for a, b in zip(through, front, strict=True))
                    for front in fronts.get(placed.item, [])
                ),
                default=float("inf"),
            ),
        )
    return worst


def both_sides(sheet: SheetStock, duplex: Duplex) -> Box:
    """Return the part of a sheet that can be printed on its front and on its back."""
    box = sheet.printable
    if duplex is Duplex.ONE_SIDED:
        return box
    return box.common(turned_over(box, sheet.size, turning_axis(sheet, duplex)))


def check_turning(sheet: SheetStock, duplex: Duplex) -> None:
    """Raise OrderError if tumbling would put pieces into the gripper's strip."""
    box = both_sides(sheet, duplex)
    if box.width <= 0 or box.height <= 0:
        raise OrderError(_no_room(sheet, duplex))


def _no_room(sheet: SheetStock, duplex: Duplex) -> Diagnostic:
    return error(
        "no-room-on-both-sides",
        f"margins and gripper leave nothing of {sheet.name} for {duplex}",
        hint="give the device a larger size in 'sheets', and a stock that is as large; or another "
        "'turning'",
    )
