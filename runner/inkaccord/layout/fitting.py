"""The room that a sheet gives, and why a piece fits on none of them."""

from collections.abc import Sequence

from inkaccord.diagnostics import Diagnostic, Place, error
from inkaccord.layout.duplex import both_sides, turning_axis
from inkaccord.layout.model import Axis, Duplex, Item, LayoutRules, SheetStock
from inkaccord.sizes import Box, Sides, Size
from inkaccord.units import inch, mm, spoken_length

_TOLERANCE_PT = 0.01


def usable(sheet: SheetStock, rules: LayoutRules) -> Box:
    """Return where bleeds may lie: printable on every side that is printed, less the frame."""
    box = both_sides(sheet, rules.duplex)
    frame = rules.frame
    left, right = frame.left, frame.right
    bottom, top = frame.bottom, frame.top
    if rules.duplex is not Duplex.ONE_SIDED:
        # What the frame keeps free on the front must be free on the back too.
        if turning_axis(sheet, rules.duplex) is Axis.UPRIGHT:
            left = right = max(left, right)
        else:
            bottom = top = max(bottom, top)
    return Box(box.left + left, box.bottom + bottom, box.right - right, box.top - top)


def too_large(item: Item, sheets: Sequence[SheetStock], rules: LayoutRules) -> Diagnostic:
    """Say what keeps a piece from every sheet.

    Bleed, margins, grain and the direction of the stock's look are told apart, each with the field
    of the order that changes it.
    """
    rooms = [_forme(sheet, rules) for sheet in sheets]
    at = max(range(len(sheets)), key=lambda n: rooms[n].width * rooms[n].height)
    sheet, room = sheets[at], rooms[at]
    others = ", the roomiest of its sheets," if len(sheets) > 1 else ""
    bleed = spoken_length(item.bleed_pt, metric=item.trim.is_metric)
    bled = f", with {bleed} of bleed all round" if item.bleed_pt else ""
    cause, hint = _cause(item, sheet, room, rules)
    inside = _in_units_of(item.trim, room)
    half = " on each half of it" if rules.duplex.one_forme else ""
    return error(
        "piece-too-large",
        f"{item.name} fits on no sheet: it is {item.trim}{bled}, and {sheet.name}{others} leaves "
        f"{inside}{half} inside its margins; {cause}",
        place=Place(field=f"pieces.{item.name}"),
        hint=hint,
    )


def _forme(sheet: SheetStock, rules: LayoutRules) -> Box:
    """Return the room of one forme: half the sheet where it prints both sides."""
    room = usable(sheet, rules)
    if not rules.duplex.one_forme:
        return room
    if turning_axis(sheet, rules.duplex) is Axis.UPRIGHT:
        return room._replace(right=sheet.size.width_pt / 2)
    return room._replace(top=sheet.size.height_pt / 2)


def _goes(item: Item, sheet: SheetStock, room: Box, bleed_pt: float | None = None) -> bool:
    return any(_in(way, room) for way in _ways(item, sheet, bleed_pt))


def _ways(item: Item, sheet: SheetStock, bleed_pt: float | None) -> list[Size]:
    """Return the piece with its bleed, in every way that the grain allows."""
    bleed = 2 * (item.bleed_pt if bleed_pt is None else bleed_pt)
    whole = Size(width_pt=item.trim.width_pt + bleed, height_pt=item.trim.height_pt + bleed)
    open_grain = item.grain is None or sheet.grain is None
    ways = [whole] if open_grain or item.grain is sheet.grain else []
    if item.may_turn and (open_grain or item.grain is not sheet.grain):
        ways.append(whole.turned)
    return ways


def _in(size: Size, room: Box) -> bool:
    return (
        size.width_pt <= room.width + _TOLERANCE_PT
        and size.height_pt <= room.height + _TOLERANCE_PT
    )


def _cause(item: Item, sheet: SheetStock, room: Box, rules: LayoutRules) -> tuple[str, str]:
    """Return what is in the way on the roomiest sheet, and the field to set."""
    larger = "give the device a larger size in 'sheets', and a stock that is as large"
    whole = Box(0.0, 0.0, sheet.size.width_pt, sheet.size.height_pt)
    two_formes = rules.model_copy(update={"duplex": Duplex.SHEETWISE})
    if rules.duplex.one_forme and _goes(item, sheet, _forme(sheet, two_formes)):
        return (
            f"it would go with two formes: {rules.duplex.value} lays fronts on one half, backs on "
            "the other",
            "set the device's 'turning: sheetwise', if the vendor prints so, which takes a second "
            "set of plates on a press",
        )
    if _goes(item.model_copy(update={"grain": None}), sheet, room):
        return (
            "it would go the other way round, but then "
            + ("its fold ran across the grain" if item.folds else "its grain ran the wrong way"),
            "leave 'grain' out of the stock, if a fold across it is good enough, or take a stock "
            "whose grain runs the other way"
            if item.folds
            else "leave 'grain' out of the piece, or take a stock whose grain runs the other way",
        )
    if _goes(item.model_copy(update={"may_turn": True}), sheet, room):
        return (
            "it would go turned, but the stock's look has a direction",
            "leave 'directional' out of the stock, if the piece may lie across its lines, or take "
            "one that has them the other way",
        )
    if _goes(item, sheet, room, bleed_pt=0.0):
        return (
            "it would fit without the bleed",
            f"{larger}; or set 'bleed: 0' on the piece if nothing runs to its cut",
        )
    if _goes(item, sheet, _forme(sheet, rules.model_copy(update={"frame": Sides()}))):
        return (
            "the room kept free round the pieces is in the way",
            f"{larger}; or make the vendor's 'frame' smaller",
        )
    if _goes(item, sheet, whole):
        return (
            "the margins that the device can't print are in the way",
            f"{larger}; or correct the device's 'margin' and 'gripper_margin'",
        )
    bleed = "with its bleed " if _goes(item, sheet, whole, bleed_pt=0.0) else ""
    return f"{bleed}it is larger than the sheet itself", f"{larger}, or correct the piece's 'trim'"


def _in_units_of(trim: Size, room: Box) -> str:
    """Return a room in the unit that the piece's own size is shown in."""
    unit, measure, digits = ("mm", mm, 1) if trim.is_metric else ("in", inch, 2)
    sides = max(0.0, measure(room.width)), max(0.0, measure(room.height))
    return " × ".join(f"{round(side, digits):g}" for side in sides) + f" {unit}"
