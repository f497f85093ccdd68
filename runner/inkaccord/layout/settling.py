"""Move what a sheet holds to where most of its marks find room.

In the middle, both rims are narrow. Moved to one side, the other takes the slug line and whole
crop marks, and one mark at each trim line is enough to cut by.
"""

from collections.abc import Sequence

from inkaccord.layout.duplex import turning_axis
from inkaccord.layout.fitting import usable
from inkaccord.layout.marks import MarkRules, Missing
from inkaccord.layout.model import Axis, Block, Item, LayoutRules, SheetLayout
from inkaccord.layout.sides import sides_of


def missing_marks(layout: SheetLayout, items: Sequence[Item], marks: MarkRules) -> Missing:
    """Return which marks find no room on a layout, both of its sides together."""
    each = [side.marks(items, marks).missing for side in sides_of(layout, items)]
    return Missing(*map(sum, zip(*each, strict=True)))


def settled(
    layout: SheetLayout, items: Sequence[Item], rules: LayoutRules, marks: MarkRules
) -> tuple[SheetLayout, Missing]:
    """Return a layout moved to where the fewest marks are missing, and which still are.

    In the middle is best where no other place is better. One forme for both sides stays on the
    axis about which the sheet is turned.
    """
    best, least = layout, missing_marks(layout, items, marks)
    for axis in (Axis.LEVEL, Axis.UPRIGHT):
        middle = best
        for distance in _ways_along(axis, middle, rules, marks):
            if not any(least):
                return best, least
            dx, dy = (distance, 0.0) if axis is Axis.LEVEL else (0.0, distance)
            tried = moved(middle, dx, dy)
            missing = missing_marks(tried, items, marks)
            if missing < least:
                best, least = tried, missing
    return best, least


def _ways_along(
    axis: Axis, layout: SheetLayout, rules: LayoutRules, marks: MarkRules
) -> tuple[float, ...]:
    """Return the distances worth trying: to either end, or with the least rim left there."""
    if rules.duplex.one_forme and axis is not turning_axis(layout.sheet, rules.duplex):
        return ()
    room, used = usable(layout.sheet, rules), layout.used
    back, ahead = (
        (room.left - used.left, room.right - used.right)
        if axis is Axis.LEVEL
        else (room.bottom - used.bottom, room.top - used.top)
    )
    least = marks.least_room_pt
    ways = (back + least, ahead - least, back, ahead)
    return tuple(way for way in ways if back - 1e-9 <= way <= ahead + 1e-9 and abs(way) > 0.01)


def moved(layout: SheetLayout, dx_pt: float, dy_pt: float) -> SheetLayout:
    """Return a layout with all that it holds moved on the sheet."""
    placements = tuple(
        placed.model_copy(update={"x_pt": placed.x_pt + dx_pt, "y_pt": placed.y_pt + dy_pt})
        for placed in layout.placements
    )
    return layout.model_copy(
        update={"placements": placements, "tree": _moved(layout.tree, dx_pt, dy_pt)}
    )


def _moved(block: Block, dx_pt: float, dy_pt: float) -> Block:
    parts = tuple(_moved(part, dx_pt, dy_pt) for part in block.parts)
    return block.model_copy(update={"box": block.box.moved(dx_pt, dy_pt), "parts": parts})
