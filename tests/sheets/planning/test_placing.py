"""Properties of the layout: nothing overlaps, nothing leaves the printable area, ids are unique."""

import re
from itertools import combinations
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.direction import Direction
from inkaccord.drawing.canvas import BOLD, REGULAR
from inkaccord.errors import OrderError
from inkaccord.sheets.controls import control_builds
from inkaccord.sheets.drawing.sheet import fitted_size
from inkaccord.sheets.frame import MARK_PT, page_frame
from inkaccord.sheets.planning.grid import build_text, caption_height, swatch_grid
from inkaccord.sheets.planning.headings import (
    TITLE_PT,
    WINDOW_PT,
    serves_both,
    titles_of,
    ways_height,
)
from inkaccord.sheets.planning.placing import Placed, SwatchGroup, place
from inkaccord.sheets.settings import SheetFormat, SheetSettings
from inkaccord.sizes import Box, Sides, Size

SIZES = ("4.25in x 5.5in", "a7-envelope", "a2-envelope", "5in x 7in", "a5", "letter", "a4", "a3")

percents = st.integers(0, 100).map(float)
builds = st.builds(Build.cmyk, percents, percents, percents, percents)
groups = st.lists(
    st.builds(
        SwatchGroup,
        builds=st.lists(builds, min_size=1, max_size=40, unique=True).map(tuple),
        colour=st.sampled_from(["kelp", "lantern", "slate"]),
        for_eye=st.booleans(),
    )
    | st.builds(
        SwatchGroup, builds=st.lists(builds, min_size=1, max_size=40, unique=True).map(tuple)
    )
    | st.lists(builds, min_size=2, max_size=9, unique=True).map(
        lambda row: SwatchGroup(
            builds=tuple(row),
            colour="kelp",
            for_eye=True,
            ways=((Direction.DARKER,), *((),) * (len(row) - 2), (Direction.LIGHTER,)),
        )
    ),
    min_size=1,
    max_size=4,
)
pages = st.builds(
    SheetFormat,
    size=st.sampled_from(SIZES).map(Size.parse),
    bleed_pt=st.sampled_from([0.0, 9.0]),
    unprintable=st.builds(
        Sides,
        left=st.floats(0, 18),
        bottom=st.floats(0, 18),
        right=st.floats(0, 18),
        top=st.floats(0, 18),
    ),
)


def _overlap(one: Box, other: Box, gap: float = 0.0) -> bool:
    return (
        one[0] < other[2] + gap - 0.02
        and other[0] < one[2] + gap - 0.02
        and one[1] < other[3] + gap - 0.02
        and other[1] < one[3] + gap - 0.02
    )


def _taken(placed: Placed, page: int, label_pt: float) -> list[Box]:
    """What the swatches of a page take with their captions and windows."""
    return [
        (
            s.box_pt[0],
            s.box_pt[1] - caption_height(label_pt) - (ways_height(label_pt) if s.ways else 0.0),
            s.box_pt[2],
            s.box_pt[3] + (WINDOW_PT if s.for_eye else 0.0),
        )
        for s in placed.swatches
        if s.page == page and s.box_pt is not None
    ]


@given(groups=groups, page=pages, label=st.floats(4.5, 9))
@settings(max_examples=60, deadline=None)
def test_swatches_and_captions_keep_clear_of_all_else(
    groups: list[SwatchGroup], page: SheetFormat, label: float
) -> None:
    sizes = SheetSettings(label_pt=label, how_to_look=True)
    placed = place(groups, control_builds(Drive.CMYK), page, sizes)
    for number in range(1, placed.pages + 1):
        frame = page_frame(placed.live_pt, sizes, first=number == 1)
        left, bottom, right, top = frame.body
        boxes = _taken(placed, number, label)
        assert boxes
        for box in boxes:
            assert left - 0.02 <= box[0] < box[2] <= right + 0.02
            assert bottom - 0.02 <= box[1] < box[3] <= top + 0.02
        assert not [pair for pair in combinations(boxes, 2) if _overlap(*pair)]
        here = [swatch for swatch in placed.swatches if swatch.page == number]
        both = serves_both(s for s in placed.swatches if not s.control)
        for title in titles_of(here, both=both):
            line = (title.left, title.bottom, title.right, title.bottom + TITLE_PT)
            assert line[3] <= top + 0.02
            assert not [box for box in boxes if _overlap(line, box)]


@given(groups=groups, page=pages)
@settings(max_examples=60, deadline=None)
def test_every_box_is_inside_the_printable_and_the_safe_area(
    groups: list[SwatchGroup], page: SheetFormat
) -> None:
    sizes = SheetSettings()
    placed = place(groups, control_builds(Drive.CMYK), page, sizes)
    left, bottom, right, top = page.trim_pt
    edges = page.unprintable
    for swatch in placed.swatches:
        assert swatch.box_pt is not None
        assert swatch.box_pt[0] >= left + max(edges.left, sizes.safe_pt) - 0.01
        assert swatch.box_pt[1] >= bottom + max(edges.bottom, sizes.safe_pt) - 0.01
        assert swatch.box_pt[2] <= right - max(edges.right, sizes.safe_pt) + 0.01
        assert swatch.box_pt[3] <= top - max(edges.top, sizes.safe_pt) + 0.01
        assert min(swatch.box_pt[2] - swatch.box_pt[0], swatch.box_pt[3] - swatch.box_pt[1]) > (
            sizes.smallest_side_pt - 0.03
        )
        assert all(edge == round(edge, 2) for edge in swatch.box_pt)


@given(
    groups=groups,
    page=pages,
    lightness=st.floats(20, 95),
    dense=st.booleans(),
    drive=st.sampled_from(Drive),
)
@example(  # the controls' own numbers are the widest
    groups=[SwatchGroup(builds=(Build.rgb(9, 9, 9),))],
    page=SheetFormat(size=Size.parse("90mm x 200mm")),
    lightness=90.0,
    dense=False,
    drive=Drive.RGB,
)
@settings(max_examples=30, deadline=None)
def test_numbers_are_never_set_smaller_than_seven_points(
    groups: list[SwatchGroup], page: SheetFormat, lightness: float, dense: bool, drive: Drive
) -> None:
    """Columns are wide enough for whatever stands below them, larger and bold on dark paper."""
    sizes = SheetSettings.suiting(None, lightness)
    sizes = (sizes.densely(page.size) if dense else None) or sizes
    assert sizes.label_pt >= 7.0
    try:
        placed = place(groups, control_builds(drive), page, sizes)
    except OrderError:
        return  # a small page of a dark stock has no room at all
    font = BOLD if sizes.label_bold else REGULAR
    for swatch in placed.swatches:
        assert swatch.box_pt is not None
        width = swatch.box_pt[2] - swatch.box_pt[0]
        text = build_text(swatch.build)
        assert fitted_size(text, width + 0.02, sizes.label_pt, font) == sizes.label_pt


def test_type_is_larger_and_bolder_where_black_has_less_contrast() -> None:
    """WCAG 2: a contrast ratio of 7 and of 4.5; against L* 16 that is paper of L* 72.4 and 58.7.

    Worked out by hand from Y = 100 ((L* + 16) / 116)³ and (Y1 + 5) / (Y2 + 5).
    """
    found = {
        light: (sizes.label_pt, sizes.label_bold)
        for light in (94.0, 73.0, 72.0, 59.0, 58.0, 25.0)
        for sizes in [SheetSettings.suiting(None, light)]
    }
    assert found == {
        94.0: (7.0, False),
        73.0: (7.0, False),
        72.0: (8.0, True),
        59.0: (8.0, True),
        58.0: (9.0, True),
        25.0: (9.0, True),
    }


@given(groups=groups, page=pages, first_row=st.integers(0, 700))
@settings(max_examples=60, deadline=None)
def test_ids_are_unique_short_and_hold_no_i_or_o(
    groups: list[SwatchGroup], page: SheetFormat, first_row: int
) -> None:
    placed = place(groups, control_builds(Drive.CMYK), page, SheetSettings(), first_row=first_row)
    ids = [swatch.id for swatch in placed.swatches]
    assert len(set(ids)) == len(ids)
    assert all(len(one) <= 5 and not set(one) & set("IO") for one in ids)
    assert all(swatch.control == swatch.id.startswith("X") for swatch in placed.swatches)


@given(groups=groups, page=pages)
@settings(max_examples=30, deadline=None)
def test_all_builds_are_placed_in_the_order_of_their_groups(
    groups: list[SwatchGroup], page: SheetFormat
) -> None:
    placed = place(groups, control_builds(Drive.CMYK), page, SheetSettings())
    wanted = [(group.colour, build) for group in groups for build in group.builds]
    assert [(s.colour, s.build) for s in placed.swatches if not s.control] == wanted
    assert [s.build for s in placed.swatches if s.control] == list(control_builds(Drive.CMYK))


@pytest.mark.parametrize("size", SIZES)
def test_marks_code_and_head_keep_clear_of_each_other(size: str) -> None:
    page = SheetFormat(size=Size.parse(size))
    for first in (True, False):
        frame = page_frame(SheetSettings().live_area(page), SheetSettings(), first=first)
        marks = [
            (x - MARK_PT / 2, y - MARK_PT / 2, x + MARK_PT / 2, y + MARK_PT / 2)
            for x, y in frame.marks
        ]
        quiet = 4 * (frame.code[2] - frame.code[0]) / 21
        parts = [*marks, frame.head, frame.body, frame.foot]
        assert not [pair for pair in combinations(parts, 2) if _overlap(*pair)]
        assert not [part for part in parts if _overlap(frame.code, part, quiet)]
        assert frame.code[1] - quiet >= frame.rule_y > frame.body[3]


def test_a_colour_that_shares_a_row_still_gets_its_title_room() -> None:
    kelp = SwatchGroup(colour="kelp", builds=(Build.cmyk(80, 20, 60, 30),))
    slate = SwatchGroup(colour="slate", builds=(Build.cmyk(60, 40, 30, 20),))
    placed = place((kelp, slate), (), SheetFormat(size=Size.parse("letter")), SheetSettings())
    first, second = placed.swatches
    assert (first.id, second.id) == ("A1", "A2")
    frame = page_frame(placed.live_pt, SheetSettings(), first=True)
    assert first.box_pt is not None
    assert frame.body[3] - first.box_pt[3] == pytest.approx(TITLE_PT, abs=0.01)


def test_a_colour_that_comes_again_within_a_row_gets_room_for_its_title_again() -> None:
    columns = swatch_grid(SheetFormat(size=Size.parse("letter")), SheetSettings(), ()).columns
    wanted = [
        SwatchGroup(colour="kelp", builds=tuple(Build.cmyk(n, 20, 60, 30) for n in range(columns))),
        SwatchGroup(builds=(Build.cmyk(50, 0, 0, 0),)),
        SwatchGroup(colour="kelp", builds=(Build.cmyk(50, 20, 60, 30),)),
    ]
    placed = place(wanted, (), SheetFormat(size=Size.parse("letter")), SheetSettings())
    above, below = (next(s.box_pt for s in placed.swatches if s.id == one) for one in ("A1", "B1"))
    assert [title.text for title in titles_of(placed.swatches, both=False)] == ["kelp", "kelp"]
    assert above is not None
    assert below is not None
    caption = caption_height(SheetSettings().label_pt)
    assert above[1] - caption >= below[3] + TITLE_PT


def test_small_sheets_let_colours_flow_to_save_a_page() -> None:
    wanted = [
        SwatchGroup(colour=name, builds=tuple(Build.cmyk(c, m, y, k) for k in range(9)))
        for name, (c, m, y) in {"kelp": (85, 20, 60), "lantern": (5, 40, 90)}.items()
    ]
    page = SheetFormat(size=Size.parse("a5"))
    assert place(wanted, control_builds(Drive.CMYK), page, SheetSettings()).pages == 1


def test_the_guides_table_of_sizes_holds() -> None:
    guide = Path(__file__).parents[3] / "docs" / "sample-sheets.md"
    rows = re.findall(
        r"^\| (\S.*?) \| (\d+) × (\d+) mm \| (\d+) \| (\d+|–) \|$", guide.read_text(), re.M
    )
    assert len(rows) >= 6
    for name, width, height, count, most in rows:
        page = SheetFormat(size=Size.parse(name))
        dense = SheetSettings().densely(page.size)
        assert (dense is None) == (most == "–")
        for sizes, told in ((SheetSettings(), count), (dense, most)):
            if sizes is not None:
                assert [pages_of(int(told) + more, page, sizes) for more in (0, 1)] == [1, 2]
        swatch = SheetSettings().swatch_size(page.size)
        assert swatch.in_mm == pytest.approx((int(width), int(height)))


def pages_of(count: int, page: SheetFormat, sizes: SheetSettings) -> int:
    """Return how many pages some swatches with short numbers take beside the controls."""
    builds = tuple(Build.cmyk(n % 97, n // 97, 1, 2) for n in range(count))
    return place([SwatchGroup(builds=builds)], control_builds(Drive.CMYK), page, sizes).pages


def test_a_page_too_small_is_refused_with_a_way_out() -> None:
    tag = SheetFormat(size=Size.parse("2in x 3.5in"))
    with pytest.raises(OrderError) as caught:
        place(
            [SwatchGroup(builds=(Build.cmyk(1, 2, 3, 4),))],
            control_builds(Drive.CMYK),
            tag,
            SheetSettings(),
        )
    assert caught.value.findings[0].code == "sheet-too-small"
    assert caught.value.findings[0].hint
