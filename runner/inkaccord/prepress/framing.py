"""How much room marks get round the pieces, so that they cost no paper."""

from collections.abc import Sequence

from inkaccord.diagnostics import Diagnostic, note
from inkaccord.layout.marks import MarkRules
from inkaccord.layout.model import Imposition, Item, LayoutRules, SheetStock
from inkaccord.layout.packing import judged, lay_out, misfit
from inkaccord.layout.settling import settled
from inkaccord.recall.recall import Recall
from inkaccord.sizes import Sides

ROOMY_PT = 16.0
"""Room round the pieces for whole crop marks at both ends of each trim line."""


def lay_with_marks(
    recall: Recall,
    items: Sequence[Item],
    sheets: Sequence[SheetStock],
    rules: LayoutRules,
    marks: MarkRules,
) -> tuple[Imposition, int]:
    """Return the fewest sheets that leave room for marks, and how many sheets the marks cost.

    Whole marks all round are drawn where they cost no sheet. Else shorter ones are, or at one end
    of each trim line: the room is made narrower until the marks cost the least. ``rules`` say
    nothing of a frame.
    """
    bare = recall(lay_out, items, sheets, rules)
    choice: tuple[Imposition, bool] | None = None
    least = marks.least_room_pt
    for room in (ROOMY_PT, least, least / 2, 0.0):
        framed = rules.model_copy(update={"frame": Sides.even(room)})
        if room and any(misfit(item, sheets, framed) for item in items):
            continue
        laid = recall(lay_out, items, sheets, framed) if room else bare
        if choice is not None and _paper(laid) >= _paper(choice[0]):
            continue
        laid, all_marked = recall(_with_settled, laid, rules, marks)
        if all_marked:
            choice = laid, True
            if _paper(laid) <= _paper(bare):
                break
    imposition = choice[0] if choice else recall(_with_settled, bare, rules, marks)[0]
    proved = {"lower_bound": bare.lower_bound, "method": bare.method}
    return (
        judged(imposition.model_copy(update=proved), rules),
        imposition.sheets - bare.sheets,
    )


def settle_marks(imposition: Imposition, rules: LayoutRules, marks: MarkRules) -> Imposition:
    """Return an imposition whose sheets were moved to where most marks find room."""
    return _with_settled(imposition, rules, marks)[0]


def _paper(imposition: Imposition) -> tuple[int, float]:
    """Return what is to be small: sheets, then their area."""
    area = sum(
        layout.run * layout.sheet.size.width_pt * layout.sheet.size.height_pt
        for layout in imposition.layouts
    )
    return imposition.sheets, round(area, 1)


def _with_settled(
    imposition: Imposition, rules: LayoutRules, marks: MarkRules
) -> tuple[Imposition, bool]:
    """Return the imposition settled, and whether each trim line that reaches a rim has a mark."""
    done = [settled(layout, imposition.items, rules, marks) for layout in imposition.layouts]
    layouts = tuple(layout for layout, _ in done)
    all_marked = not any(missing.trims for _, missing in done)
    return imposition.model_copy(update={"layouts": layouts}), all_marked


def marks_cost(sheets: int, of: int, vendor: str) -> Diagnostic:
    """Say that marks cost sheets, and how to save them."""
    return note(
        "marks-cost-paper",
        f"room for crop marks takes {of} sheets where {of - sheets} would hold the pieces",
        hint=f"to save the paper set vendors.{vendor}.frame: 0; lines without a mark are then cut "
        "by the measures of the cut plan",
    )
