"""A swatch set is even, sorted so that a colour is found; additions hold only what it lacks."""

import datetime
import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.pairs import Pair
from inkaccord.colour.sampling.design import GenericPress
from inkaccord.colour.sampling.even_set import Spacing
from inkaccord.colour.sampling.ranges import (
    GREY_CHROMA,
    ColourRange,
    Region,
    parse_range,
    range_word,
)
from inkaccord.errors import OrderError
from inkaccord.sheets.frame import frames_of
from inkaccord.sheets.model import Purpose, SampleSheet, range_titles
from inkaccord.sheets.naming import row_number
from inkaccord.sheets.planning.headings import TITLE_PT
from inkaccord.sheets.planning.plan import build_key
from inkaccord.sheets.planning.set_order import range_order, set_ranges, walk
from inkaccord.sheets.planning.swatch_set import SwatchSet, lay_swatch_set, make_swatch_set
from inkaccord.sheets.settings import SheetFormat, SheetSettings
from inkaccord.sizes import Size

PAIR = Pair.parse("laser@smooth-ivory-card")
DATE = datetime.date(2026, 5, 14)
LETTER = SheetFormat(size=Size.parse("letter"))
POLICY = InkPolicy(total_ink_limit=240)
GREENS = ColourRange(title="Greens", region=Region(hue=(130.0, 190.0), chroma=(15.0, 200.0)))


def swatch_set(drive: Drive = Drive.CMYK, count: int = 160, **more: object) -> SwatchSet:
    return make_swatch_set(
        PAIR,
        GenericPress.of(drive),
        LETTER,
        Spacing(count=count),
        POLICY,
        name="autumn set",
        date=DATE,
        **more,  # type: ignore[arg-type]  # a test's shorthand
    )


def predicted(sheet: SampleSheet) -> np.ndarray:
    builds = np.array([s.build.values for s in sheet.swatches if not s.control])
    return np.asarray(GenericPress.of(sheet.drive).predict_lab(builds))


@pytest.mark.parametrize("drive", list(Drive))
def test_no_two_colours_are_closer_than_stated(drive: Drive) -> None:
    made = swatch_set(drive)
    lab = predicted(made.sheet)
    assert len(lab) == 160
    apart = delta_e_2000(lab[:, None], lab[None, :]) + 100 * np.eye(len(lab))
    assert apart.min() >= made.min_delta_e - 1e-6
    assert made.min_delta_e > 3
    nearest = apart.min(axis=1)
    assert np.percentile(nearest, 95) < 2.5 * made.min_delta_e


def test_a_swatch_set_keeps_to_the_ink_limit() -> None:
    assert max(s.build.total_ink or 0 for s in swatch_set().sheet.swatches) <= 240


def test_additions_hold_only_what_the_set_lacks_and_go_on_with_its_rows() -> None:
    base = swatch_set().sheet
    added = swatch_set(count=40, only=GREENS, base=[base])
    again = swatch_set(count=20, only=GREENS, base=[base, added.sheet])
    sheets = [base, added.sheet, again.sheet]
    keys = [build_key(s.build) for one in sheets for s in one.swatches if not s.control]
    assert len(set(keys)) == len(keys) == 220
    ids = [s.id for one in sheets for s in one.swatches if not s.control]
    assert len(set(ids)) == len(ids)
    rows = [{row_number(s.id) for s in one.swatches if not s.control} for one in sheets]
    assert max(rows[0]) + 1 == min(rows[1])
    assert max(rows[1]) + 1 == min(rows[2])
    old, new = predicted(base), predicted(added.sheet)
    assert GREENS.region.contains(new).all()
    assert delta_e_2000(new[:, None], old[None, :]).min() >= added.min_delta_e - 1e-6
    assert len({one.id for one in sheets}) == 3


def test_a_dark_stock_gets_only_colours_that_differ_on_it() -> None:
    made = {}
    for name, paper in (("white", (94, 0, -2)), ("kraft", (48, 10, 22))):
        press = GenericPress.of(Drive.CMYK, paper)
        made[name] = make_swatch_set(
            PAIR,
            press,
            LETTER,
            Spacing(min_delta_e=8.0),
            POLICY,
            name=name,
            date=DATE,
            settings=SheetSettings.suiting(None, paper[0]),
        )
        builds = np.array([s.build.values for s in made[name].sheet.swatches if not s.control])
        assert delta_e_2000(press.predict_lab(builds), press.paper_lab).min() >= 8.0
    assert len(made["kraft"].sheet.swatches) < 0.5 * len(made["white"].sheet.swatches)
    assert made["kraft"].sheet.settings.label_pt > made["white"].sheet.settings.label_pt


def test_nothing_to_add_is_said() -> None:
    base = swatch_set().sheet
    builds = [s.build.values for s in base.swatches]
    lab = GenericPress.of(Drive.CMYK).predict_lab(np.array(builds))
    assert (
        lay_swatch_set(
            PAIR, builds, lab, LETTER, drive=Drive.CMYK, name="again", date=DATE, base=[base]
        )
        is None
    )


def test_a_swatch_set_too_large_is_refused_and_the_smallest_is_one() -> None:
    with pytest.raises(ValueError, match="5000"):
        swatch_set(count=5001)
    assert sum(not swatch.control for swatch in swatch_set(count=1).sheet.swatches) == 1


def test_a_swatch_set_of_one_drive_takes_no_addition_of_the_other() -> None:
    base = swatch_set().sheet
    with pytest.raises(OrderError) as caught:
        swatch_set(Drive.RGB, base=[base])
    assert caught.value.findings[0].code == "wrong-drive"
    with pytest.raises(OrderError) as caught:
        swatch_set(base=[base.model_copy(update={"purpose": Purpose.SCOUTING})])
    assert caught.value.findings[0].code == "not-a-swatch-set"


labs = st.lists(
    st.tuples(st.floats(10, 95), st.floats(-70, 70), st.floats(-70, 90)), min_size=1, max_size=300
).map(np.array)
many_columns = st.integers(1, 9)


@given(lab=labs, columns=many_columns)
@settings(max_examples=60, deadline=None)
def test_every_colour_stands_once_below_its_name_and_hues_never_turn_back(
    lab: np.ndarray, columns: int
) -> None:
    ranges = set_ranges(lab, columns)
    assert sorted(one for part in ranges for one in part.members) == list(range(len(lab)))
    assert len({part.title for part in ranges}) == len(ranges)
    turn = (np.degrees(np.arctan2(lab[:, 2], lab[:, 1])) - 345) % 360
    reached = 0.0
    for number, part in enumerate(ranges):
        rows = np.array(part.members)
        assert {range_word(lab[one]).capitalize() for one in rows} == {part.title}
        if part.title == "Greys":
            assert number == 0
            assert (np.hypot(*lab[rows, 1:].T) < GREY_CHROMA).all()
            continue
        assert turn[rows].min() >= reached - 1e-9
        reached = turn[rows].max()


@given(lab=labs, columns=many_columns)
@settings(max_examples=40, deadline=None)
def test_rows_run_from_light_to_dark(lab: np.ndarray, columns: int) -> None:
    for part in set_ranges(lab, columns):
        lightness = lab[list(part.members), 0]
        rows = [lightness[at : at + columns] for at in range(0, len(lightness), columns)]
        assert all(above.min() >= below.max() - 1e-9 for above, below in itertools.pairwise(rows))


@pytest.mark.parametrize("words", ["greens", "deep blues", "greyed reds"])
def test_the_eye_walks_less_than_in_any_of_a_hundred_orders_by_chance(words: str) -> None:
    only = parse_range(words)
    lab = predicted(swatch_set(count=48, only=only).sheet)
    ours = lab[list(range_order(np.arange(48), lab, 8))]
    rng = np.random.default_rng(0)
    chance = [walk(lab[rng.permutation(48)], 8) for _ in range(100)]
    assert walk(ours, 8) < 0.75 * min(chance)


@pytest.mark.parametrize(("size", "count"), [("letter", 120), ("letter", 400), ("a6", 200)])
def test_pages_are_filled_and_what_stands_above_swatches_is_what_they_are(
    size: str, count: int
) -> None:
    """A range may begin in the middle of a page, or of a row where that saves a page."""
    sheet = make_swatch_set(
        PAIR,
        GenericPress.of(Drive.CMYK),
        SheetFormat(size=Size.parse(size)),
        Spacing(count=count),
        POLICY,
        name="by page",
        date=DATE,
    ).sheet
    swatches = [one for one in sheet.swatches if not one.control]
    titles = range_titles(sheet.swatches, sheet.ranges)
    lab = GenericPress.of(Drive.CMYK).predict_lab(np.array([s.build.values for s in swatches]))
    for swatch, look in zip(swatches, lab, strict=True):
        assert titles[swatch.id] == range_word(look).capitalize()
    for page, head in enumerate(sheet.page_titles, start=1):
        here = [titles[one.id] for one in swatches if one.page == page]
        assert head in {here[0], f"{here[0]} to {here[-1].lower()}"}
        if page < sheet.pages:
            assert room_below(sheet, page) < row_height(sheet), "a row more would have fitted"


def room_below(sheet: SampleSheet, page: int) -> float:
    """Return the height that is free between a page's last row and what stands below it."""
    boxes = [one.box_pt for one in sheet.swatches if one.page == page and not one.control]
    controls = [one.box_pt for one in sheet.swatches if one.page == page and one.control]
    below = max((box.top for box in controls if box), default=None)
    floor = frames_of(sheet)[page - 1].body[1] if below is None else below
    return min(box.bottom for box in boxes if box) - floor


def row_height(sheet: SampleSheet) -> float:
    """Return the height of a row with its captions, the gap above it and its heading."""
    box = next(one.box_pt for one in sheet.swatches if not one.control)
    assert box is not None
    captions = 2 * sheet.settings.label_pt + 8
    return box.height + 2 * captions + TITLE_PT + 12


@pytest.mark.parametrize(
    ("build", "word"),
    [
        ((0, 100, 100, 0), "reds"),
        ((0, 0, 100, 0), "yellows"),
        ((100, 0, 100, 0), "greens"),
        ((100, 0, 0, 0), "blues"),
        ((100, 100, 0, 0), "violets"),
        ((0, 100, 0, 0), "pinks"),
        ((0, 50, 100, 0), "oranges"),
    ],
)
def test_hue_words_suit_the_inks(build: tuple[float, ...], word: str) -> None:
    """CIELAB of process inks on coated paper: the press model's population, common practice."""
    lab = GenericPress.of(Drive.CMYK).predict_lab(np.array([Build.cmyk(*build).values]))[0]
    assert range_word(lab) == word
