"""The picture beside the cut plan: every piece and every cut, at its place and in its number."""

import itertools
import math
from collections import Counter
from xml.etree import ElementTree

import numpy as np
import pypdfium2

from inkaccord.report.graphics import Dot, svg
from inkaccord.report.paper import typeset
from inkaccord.report.paper_chart import drawn
from inkaccord.report.sheet_picture import sheet_chart
from inkaccord.run.imposed import CutLine, LaidTrim, SheetRun
from inkaccord.sizes import Size
from pdf_words import words_of

SHEET = SheetRun(
    number=1,
    vendor="studio", device="press", stock="card", pieces={"card": 1, "lantern-tag": 1}, run=3,
    width_mm=200, height_mm=100, printable_mm=(4, 4, 196, 96), used=0.5,
    path="studio/x.pdf", cut_plan=("1.", "2."),
    trims=(
        LaidTrim(
            piece="card", box_mm=(10, 10, 90, 90), bleed_mm=(7, 7, 93, 93),
            folds_mm=((50, 10, 50, 90),),
        ),
        LaidTrim(piece="lantern-tag", box_mm=(110, 10, 130, 90), bleed_mm=(110, 10, 130, 90)),
    ),
    cuts=(
        CutLine(number=1, ends_mm=(10, 0, 10, 100)),
        CutLine(number=2, ends_mm=(10, 90, 200, 90)),
    ),
)  # fmt: skip


def page() -> bytes:
    return typeset(
        lambda width: [drawn(sheet_chart(SHEET, 400, 300, size=7))],
        size=Size.parse("letter"), title="sheet", running="",
    )  # fmt: skip


def test_names_and_numbers_stand_in_the_picture() -> None:
    said = words_of(page()).split()
    assert {"card", "lantern-tag", "1", "2"} <= set(said)


def test_pieces_and_cuts_stand_where_they_lie_on_the_sheet() -> None:
    with pypdfium2.PdfDocument(page()) as pdf:
        grey = pdf[0].render(scale=4).to_numpy()[:, :, :3].mean(axis=2)
    pale = abs(grey - 0xF0) < 1.5  # the fields of the pieces
    rows = np.flatnonzero(pale.sum(axis=1) > 300)
    columns = np.flatnonzero(pale.sum(axis=0) > 300)
    wide, high = np.ptp(columns), np.ptp(rows)
    assert abs(wide / high - 120 / 80) < 0.03
    unit = wide / 120
    left, bottom = columns.min() - 10 * unit, rows.max() + 10 * unit
    for millimetres, upright in ((10, True), (90, False)):
        near = round(left + millimetres * unit if upright else bottom - millimetres * unit)
        strip = grey[:, near - 4 : near + 5] if upright else grey[near - 4 : near + 5, :].T
        assert (strip.min(axis=1) < 80).sum() > 80 * unit, "the cut is drawn along its length"


def test_the_same_picture_every_time() -> None:
    assert page() == page()


def test_the_screen_shows_the_same_marks_and_says_what_they_are() -> None:
    root = ElementTree.fromstring(svg(sheet_chart(SHEET, 320, 320, size=10)))  # noqa: S314
    classes = Counter(element.get("class") for element in root)
    assert classes["trim"] == classes["bleed"] == len(SHEET.trims)
    assert classes["cut"] == classes["cutdot"] == len(SHEET.cuts)
    assert classes["fold"] == 1
    assert [text.text for text in root.iter("text")] == ["card", "lantern-tag", "1", "2"]
    assert "1 × card and 1 × lantern-tag on a sheet" in str(root.get("aria-label"))


def test_a_name_that_finds_no_room_is_left_out() -> None:
    tiny = LaidTrim(piece="a-very-long-name-indeed", box_mm=(0, 0, 12, 12), bleed_mm=(0, 0, 12, 12))
    sheet = SHEET.model_copy(update={"trims": (tiny,), "cuts": ()})
    assert "<text" not in svg(sheet_chart(sheet, 120, 120, size=10))


def crowded() -> SheetRun:
    """A sheet of 60 tags with two cuts in every gutter of 3 mm."""
    columns, rows = 6, 10
    places = [(5 + 33 * x, 5 + 19 * y) for y in range(rows) for x in range(columns)]
    edges_x = [at for x in range(columns) for at in (5 + 33 * x, 35 + 33 * x)]
    edges_y = [at for y in range(rows) for at in (5 + 19 * y, 21 + 19 * y)]
    upright = [(x, 0, x, 200) for x in edges_x]
    level = [[(x, y, x + 30, y) for x in edges_x[::2]] for y in edges_y]
    groups = [*([it] for it in upright), *level]
    return SHEET.model_copy(
        update={
            "width_mm": 210.0,
            "height_mm": 200.0,
            "trims": tuple(
                LaidTrim(
                    piece="tag", box_mm=(x, y, x + 30, y + 16), bleed_mm=(x, y, x + 30, y + 16)
                )
                for x, y in places
            ),
            "cuts": tuple(
                CutLine(number=n, ends_mm=ends)
                for n, group in enumerate(groups, start=1)
                for ends in group
            ),
        }
    )


def test_numbers_never_lie_on_one_another() -> None:
    for width in (150.0, 320.0):
        chart = sheet_chart(crowded(), width, 1.2 * width, size=7)
        dots = [mark for mark in chart.marks if isinstance(mark, Dot)]
        numbers = {mark.text for mark in chart.marks if getattr(mark, "role", "") == "cutnumber"}
        assert numbers == {str(n) for n in range(1, 33)}
        for one, other in itertools.combinations(dots, 2):
            assert math.hypot(one.x - other.x, one.y - other.y) > one.radius + other.radius
        for dot in dots:
            assert dot.radius <= dot.x <= chart.width - dot.radius
            assert dot.radius <= dot.y <= chart.height - dot.radius
