"""Marks cost no paper: judged from the written file, by its content streams alone."""

import io
import math
from dataclasses import dataclass

import pikepdf
import pytest

from inkaccord.errors import OrderError
from inkaccord.layout.impose import impose_sheets
from inkaccord.layout.rules import ImposeRules
from inkaccord.prepress.framing import lay_pieces
from inkaccord.prepress.laying import item_of, mark_rules
from inkaccord.recall.recall import computed
from inkaccord.testing import draw_artwork

MARGIN = 4.2 / 25.4 * 72
"""The rim that a device can't print where the order says nothing of it, in points."""
BLEED = 9.0


@dataclass(frozen=True)
class Sheet:
    """What one page of a print file shows, in points: trims, and the ends of straight lines."""

    size: tuple[float, float]
    trims: list[tuple[float, float, float, float]]
    lines: list[tuple[float, float, float, float]]

    def unmarked(self):
        """Return the trim lines on which no line of the marks stands."""
        upright = {round(x1, 1) for x1, _, x2, _ in self.lines if abs(x1 - x2) < 0.01}
        level = {round(y1, 1) for _, y1, _, y2 in self.lines if abs(y1 - y2) < 0.01}

        def near(at, marks):
            return any(abs(at - mark) < 0.15 for mark in marks)

        xs = {x for left, _, right, _ in self.trims for x in (left, right) if not near(x, upright)}
        ys = {y for _, low, _, top in self.trims for y in (low, top) if not near(y, level)}
        return xs | ys


def read(pdf, trim):
    """Read the first page of a print file; ``trim`` is the piece's, in points."""
    with pikepdf.open(io.BytesIO(pdf)) as file:
        page = file.pages[0]
        trims = []
        for operands, operator in pikepdf.parse_content_stream(page):
            if str(operator) == "cm":
                matrix = [float(number) for number in operands]
            elif str(operator) == "Do" and str(operands[0]).startswith("/P"):
                a, b, c, d, e, f = matrix
                corners = [(a * x + c * y + e, b * x + d * y + f) for x in (0, trim[0])
                           for y in (0, trim[1])]  # fmt: skip
                xs, ys = zip(*corners, strict=True)
                trims.append((min(xs), min(ys), max(xs), max(ys)))
        lines, at = [], None
        for operands, operator in pikepdf.parse_content_stream(page.resources.XObject["/M"]):
            if str(operator) == "m":
                at = [float(number) for number in operands]
            elif str(operator) == "l":
                lines.append((*at, *(float(number) for number in operands)))
        return Sheet(tuple(float(n) for n in page.mediabox[2:]), trims, lines)


def made(loaded, sides=1):
    """Return the print file of the order's card, with sheets to print and what marks cost."""
    order = loaded.order
    job = order.jobs["card"]
    item, marks = item_of(job, sides), mark_rules(order, job, "slug")
    laid, findings = lay_pieces(computed, job, [item], sides, marks)
    art = draw_artwork(str(job.piece.trim).replace(" ", "").replace("×", "in x ", 1)
                       if "in" in str(job.piece.trim) else str(job.piece.trim))  # fmt: skip
    arts = {("card", side): art for side in range(1, sides + 1)}
    written = impose_sheets(arts, laid, ImposeRules(marks=marks))
    trim = job.piece.trim.width_pt, job.piece.trim.height_pt
    return read(written.data, trim), laid, (*findings, *written.findings)


SIX = [
    # Trim, sheet, and by hand how many go on it: with 1/8 in of bleed on every side, bleeds that
    # touch, and a rim of 4.2 mm that is not printed.
    ("a5", "sra3", 4),  # 2 × 154.35 = 308.7 ≤ 311.6 mm, 2 × 216.35 = 432.7 ≤ 441.6 mm
    ("a4", "sra3", 2),  # 303.35 ≤ 311.6 mm, 2 × 216.35 ≤ 441.6 mm
    ("letter", "12x18", 2),  # 11.25 ≤ 11.67 in, 2 × 8.75 = 17.5 ≤ 17.67 in
    ("5.5in x 8.5in", "12x18", 4),  # 2 × 5.75 = 11.5 ≤ 11.67 in, 2 × 8.75 ≤ 17.67 in
    ("4in x 6in", "13x19", 8),  # 2 × 6.25 = 12.5 ≤ 12.67 in, 4 × 4.25 = 17 ≤ 18.67 in
    ("5in x 7in", "13x19", 5),  # 7.25 + 5.25 = 12.5 in; 3 × 5.25 and 2 × 7.25 ≤ 18.67 in
    ("2in x 3.5in", "12x18", 23),  # 5 × 2.25 by 3.75, and 3 × 3.75 by 6 × 2.25: 17.25 in high
]


@pytest.mark.parametrize("sides", [1, 2])
@pytest.mark.parametrize(("trim", "sheet", "up"), SIX)
def test_marks_cost_no_paper(loaded, trim, sheet, up, sides):
    piece = {"trim": trim, "per_suite": up}
    page, laid, findings = made(loaded(piece, device={"sheets": [sheet]}), sides)
    assert (len(page.trims), laid.sheets) == (up, 40)
    assert laid.gap == 0
    assert not any("crop marks" in finding.message for finding in findings)
    assert page.unmarked() == set()
    width, height = page.size
    for x1, y1, x2, y2 in page.lines:
        assert math.hypot(x2 - x1, y2 - y1) >= 1.5 / 25.4 * 72 - 0.01
        assert min(x1, x2) >= MARGIN - 0.01
        assert min(y1, y2) >= MARGIN - 0.01
        assert max(x1, x2) <= width - MARGIN + 0.01
        assert max(y1, y2) <= height - MARGIN + 0.01
        for left, low, right, top in page.trims:  # none lies on a bleed
            inside = (left - BLEED + 0.01 < max(x1, x2) and min(x1, x2) < right + BLEED - 0.01
                      and low - BLEED + 0.01 < max(y1, y2)
                      and min(y1, y2) < top + BLEED - 0.01)  # fmt: skip
            assert not inside


# Two lie side by side and fill what is printed from left to right, 10.5 in, to the last point: no
# mark stands beside them. With room for marks one goes on a sheet.
FULL = {"sheets": ["11in x 8.75in"], "margin": "0.25in"}


def test_what_marks_cost_is_said_and_chosen(loaded):
    page, laid, (told, *_) = made(loaded(device=FULL))
    assert (len(page.trims), laid.sheets) == (1, 40)
    assert page.unmarked() == set()
    assert laid.lower_bound == 20
    assert told.code == "marks-cost-paper"
    assert "takes 40 sheets where 20 would hold the pieces" in told.message
    assert "vendors.studio.frame: 0" in told.hint

    page, laid, findings = made(loaded(vendor={"frame": 0}, device=FULL))
    assert (len(page.trims), laid.sheets) == (2, 20)
    assert len(page.unmarked()) == 2  # the upper and the lower trim line of both
    (left_out,) = (it for it in findings if "crop marks" in it.message)
    assert left_out.code == "mark-left-out"
    assert "at 2 of 6 trim lines" in left_out.message


def test_a_frame_that_the_order_states_is_kept(loaded):
    page, laid, _ = made(loaded({"per_suite": 4}, vendor={"frame": "12mm"}))
    assert laid.sheets == 40
    room = MARGIN + 12 / 25.4 * 72 + BLEED
    assert min(min(left, low) for left, low, _, _ in page.trims) >= room - 0.01


def test_a_frame_that_leaves_a_piece_no_room_is_named(loaded):
    with pytest.raises(OrderError, match="the room kept free round the pieces") as problem:
        made(loaded(vendor={"frame": "2in"}, device={"sheets": ["letter"]}))
    assert "'frame'" in problem.value.findings[0].hint
