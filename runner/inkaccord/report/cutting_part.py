"""How a sheet is cut, as a part of a page: its picture, and the cuts in words beside it."""

import math
import re
from collections.abc import Collection, Sequence

from inkaccord.cautions import BLADES
from inkaccord.layout.cutplan import LIES
from inkaccord.report.paper import escape, gap, grid, marked, text, together
from inkaccord.report.paper_chart import drawn
from inkaccord.report.parts import Part
from inkaccord.report.sheet_picture import sheet_chart
from inkaccord.run.imposed import SheetRun
from inkaccord.words import counted

_PICTURE = 0.38
"""Of the page's width."""
_HIGH = 0.55
"""Of the page's width, how high the picture is at most."""
_LEADING_PT, _LETTER_PT = 12.75, 4.4
"""Of the list's type: how far its lines lie apart, and how wide a letter is, roughly."""
_NUMBER_PT = 20.0
_ALONE = 4
"""Fewer lines than these are not set below the others, apart from them."""
_PAD_PT = 5.0
"""Before the words of a column that is not the first of its table."""
ON_EACH_OTHER = "Where a line names several piles, cut them side by side or on one another."
NEVER_ON_EACH_OTHER = (
    "Where a line names several piles, cut them side by side or one after another, never on one "
    "another: every copy is another."
)


def before_cutting(sheets: Sequence[SheetRun], numbered: Collection[str]) -> list[Part]:
    """Return what stands once before the cut plans of some sheets: the caution, and how they lie.

    Nothing where no sheet has a cut plan. Of ``numbered`` pieces every copy is another.
    """
    if not any(sheet.cut_plan for sheet in sheets):
        return []
    apart = any(name in numbered for sheet in sheets for name in sheet.pieces)
    piles = NEVER_ON_EACH_OTHER if apart else ON_EACH_OTHER
    return [text(BLADES, "small"), gap(3), text(f"{LIES} {piles}", "small"), gap(4)]


def cutting_part(sheet: SheetRun, width_pt: float, head: Sequence[Part] = ()) -> list[Part]:
    """Return a sheet's picture with the list of its cuts beside it, below some lines of its own.

    The list stays in its column: what is longer than the picture goes on below itself, not below
    the picture, and on the next page where it must.
    """
    chart = sheet_chart(sheet, width_pt * _PICTURE, width_pt * _HIGH, size=7)
    left = width_pt * (_PICTURE + 0.02)
    widths = [_NUMBER_PT, width_pt - left - _PAD_PT - _NUMBER_PT]
    turns = f", the pile turned {counted(sheet.turns, 'time')}" if sheet.turns else ""
    work = text(f"{counted(len(sheet.cut_plan), 'setting')}{turns}", "strong")
    rows = [_row(line) for line in sheet.cut_plan]
    room, beside = chart.height / _LEADING_PT, 0
    for line in sheet.cut_plan:
        room -= math.ceil(_LETTER_PT * len(line) / widths[1])
        beside += room >= 0 or not beside
    if len(rows) - beside < _ALONE:
        beside = len(rows)
    first = [work, grid(rows[:beside], widths, lines=False, pad_pt=0)]
    parts: list[Part] = [
        together(
            [*head, gap(2), grid([[drawn(chart), first]], [left, width_pt - left], lines=False)]
        )
    ]
    if rows[beside:]:
        rest = [[text(""), *row] for row in rows[beside:]]
        columns = [left, _PAD_PT + widths[0], widths[1]]
        parts.append(grid(rest, columns, lines=False, pad_pt=0))
    return parts


def _row(line: str) -> list[Part]:
    """Return a line of the plan as a number and words, with what is set in bold."""
    number, _, words = line.partition(". ")
    unbroken = re.sub(r"(?<=[\d.×]) (?=in\)|mm\)|×|\d)", "\N{NO-BREAK SPACE}", escape(words))
    strong = re.sub(r"set ([\d.]+ mm)", r"set <b>\1</b>", unbroken)
    return [text(number, "number"), marked(strong)]
