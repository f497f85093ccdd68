"""How much room marks get round the pieces, so that they cost no paper."""

from collections.abc import Sequence

from inkaccord.colour.pairs import Pair
from inkaccord.diagnostics import Diagnostic, note
from inkaccord.layout.marks import MarkRules
from inkaccord.layout.model import Imposition, Item, LayoutRules, SheetStock
from inkaccord.layout.packing import judged, lay_out, least_sheets, misfit
from inkaccord.layout.settling import settled
from inkaccord.order.job import Printing
from inkaccord.prepress.laying import layout_rules, sheets_of
from inkaccord.recall.recall import Recall
from inkaccord.sizes import Sides
from inkaccord.words import counted

ROOMY_PT = 16.0
"""Room round the pieces for whole crop marks at both ends of each trim line."""


def lay_pieces(
    recall: Recall,
    printing: Printing,
    items: Sequence[Item],
    sides: int,
    marks: MarkRules | None,
) -> tuple[Imposition, tuple[Diagnostic, ...]]:
    """Return the pieces on the sheets of their device, and what marks cost."""
    stocks, rules = sheets_of(printing), layout_rules(printing, sides)
    if marks is not None and printing.vendor.frame is None:
        imposition, cost = lay_with_marks(recall, items, stocks, rules, marks)
        vendor = printing.vendor_name
        return imposition, (_marks_cost(cost, imposition.sheets, vendor),) if cost else ()
    imposition = recall(lay_out, items, stocks, rules)
    if marks is not None:
        imposition, _ = recall(_with_settled, imposition, rules, marks)
    return imposition, ()


def lay_with_marks(
    recall: Recall,
    items: Sequence[Item],
    sheets: Sequence[SheetStock],
    rules: LayoutRules,
    marks: MarkRules,
) -> tuple[Imposition, int]:
    """Return the fewest sheets that leave room for marks, and how many sheets the marks cost.

    Whole marks all round are drawn where they cost no sheet. Else they go where the fewest sheets
    leave room, shorter or at one end of a trim line; where a line would have none, room is kept
    for short marks at both ends, or at one. ``rules`` say nothing of a frame.
    """
    bare = recall(lay_out, items, sheets, rules)
    least = marks.least_room_pt
    marked: Imposition | None = None
    for room in (ROOMY_PT, 0.0, least, least / 2):
        framed = rules.model_copy(update={"frame": Sides.even(room)})
        if room and any(misfit(item, sheets, framed) for item in items):
            continue
        if room == ROOMY_PT and takes_more(recall, items, sheets, framed, bare):
            continue
        laid = recall(lay_out, items, sheets, framed) if room else bare
        if marked is not None and _expense(laid, rules) >= _expense(marked, rules):
            continue
        laid, all_marked = recall(_with_settled, laid, rules, marks)
        marked = laid if all_marked else marked
        if marked is not None and _expense(marked, rules) <= _expense(bare, rules):
            break
    imposition = marked or recall(_with_settled, bare, rules, marks)[0]
    proved = {"lower_bound": bare.lower_bound, "method": bare.method}
    return (
        judged(imposition.model_copy(update=proved), rules),
        max(0, imposition.sheets - bare.sheets),
    )


def takes_more(
    recall: Recall,
    items: Sequence[Item],
    sheets: Sequence[SheetStock],
    rules: LayoutRules,
    bare: Imposition,
) -> bool:
    """Tell whether it is plain without laying them that pieces take more sheets than these."""
    return rules.costs is None and recall(least_sheets, items, sheets, rules) > bare.sheets


def _expense(imposition: Imposition, rules: LayoutRules) -> tuple[float, ...]:
    """Return what is to be small: the stated costs, or sheets, their paper and layouts."""
    if rules.costs is not None:
        return (next(way.cost for way in imposition.ways if way.chosen),)
    area = sum(
        layout.run * layout.sheet.size.width_pt * layout.sheet.size.height_pt
        for layout in imposition.layouts
    )
    return imposition.sheets, round(area, 1), len(imposition.layouts)


def _with_settled(
    imposition: Imposition, rules: LayoutRules, marks: MarkRules
) -> tuple[Imposition, bool]:
    """Return the imposition settled, and whether each trim line that reaches a rim has a mark."""
    done = [settled(layout, imposition.items, rules, marks) for layout in imposition.layouts]
    layouts = tuple(layout for layout, _ in done)
    all_marked = not any(missing.trims for _, missing in done)
    return imposition.model_copy(update={"layouts": layouts}), all_marked


def _marks_cost(sheets: int, of: int, vendor: str) -> Diagnostic:
    """Say that marks cost sheets, and how to save them."""
    return note(
        "marks-cost-paper",
        f"room for crop marks takes {of} sheets where {of - sheets} would hold the pieces",
        hint=f"to save the paper set vendors.{vendor}.frame: 0; lines without a mark are then cut "
        "by the measures of the cut plan",
    )


def bound_in_words(pair: Pair, imposition: Imposition) -> str:
    """Say how many sheets there are, and how near to the fewest possible."""
    best = "the fewest" if imposition.gap == 0 else f"at most {imposition.gap} more than the fewest"
    return (
        f"{pair}: {counted(imposition.sheets, 'sheet')}, {best} that straight cuts from edge to "
        f"edge allow with these bleeds and gutters. {imposition.method}"
    )
