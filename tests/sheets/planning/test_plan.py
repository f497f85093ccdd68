"""Properties of planning: nothing known is printed again, and ids follow from the content."""

import datetime
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.ink_policy import Black, InkPolicy
from inkaccord.colour.pairs import Pair
from inkaccord.colour.sampling.design import GenericPress
from inkaccord.colour.sampling.eye_set import eye_set
from inkaccord.colour.sampling.planning import scouting_set
from inkaccord.errors import OrderError
from inkaccord.sheets.controls import control_builds
from inkaccord.sheets.model import Purpose, SampleSheet
from inkaccord.sheets.naming import row_name, row_number, sheet_name
from inkaccord.sheets.planning.headings import titles_of
from inkaccord.sheets.planning.placing import SwatchGroup
from inkaccord.sheets.planning.plan import build_key, plan_sheet, scouting_count
from inkaccord.sheets.settings import SheetFormat, SheetSettings
from inkaccord.sizes import Sides, Size
from inkaccord.units import PT_PER_MM

PAIR = Pair.parse("laser@smooth-ivory-card")
DATE = datetime.date(2026, 5, 14)
LETTER = SheetFormat(size=Size.parse("letter"))

steps = st.sampled_from([0.0, 0.04, 10.0, 10.03, 50.0, 90.0, 100.0])
builds = st.lists(st.builds(Build.cmyk, steps, steps, steps, steps), max_size=20).map(tuple)


def plan(
    wanted: tuple[Build, ...], known: tuple[Build, ...] = (), *, ink_limit: float | None = None
) -> SampleSheet | None:
    return plan_sheet(
        PAIR,
        Purpose.SCOUTING,
        [SwatchGroup(builds=wanted)],
        LETTER,
        drive=Drive.CMYK,
        date=DATE,
        known=known,
        ink_limit=ink_limit,
    )


@given(wanted=builds, known=builds)
@settings(max_examples=60, deadline=None)
def test_nothing_known_is_printed_again_and_nothing_missing_is_left_out(
    wanted: tuple[Build, ...], known: tuple[Build, ...]
) -> None:
    sheet = plan(wanted, known)
    have = {build_key(build) for build in (*known, *control_builds(Drive.CMYK))}
    needed = {build_key(build) for build in wanted} - have
    if sheet is None:
        assert not needed
        return
    printed = [build_key(swatch.build) for swatch in sheet.swatches if not swatch.control]
    assert len(printed) == len(set(printed))
    assert set(printed) == needed
    controls = [swatch.build for swatch in sheet.swatches if swatch.control]
    assert controls == list(control_builds(Drive.CMYK))


def test_the_id_follows_from_the_content_alone() -> None:
    kelp, slate = Build.cmyk(85, 20, 60, 30), Build.cmyk(60, 40, 30, 20)
    one, same, other = plan((kelp,)), plan((kelp,)), plan((slate,))
    assert one is not None
    assert same is not None
    assert other is not None
    assert one == same
    assert one.id != other.id
    later = plan_sheet(
        PAIR,
        Purpose.SCOUTING,
        [SwatchGroup(builds=(kelp,))],
        LETTER,
        drive=Drive.CMYK,
        date=DATE + datetime.timedelta(days=200),
    )
    assert later is not None
    assert later.id != one.id


@given(st.text())
@settings(max_examples=50, deadline=None)
def test_sheet_ids_are_short_and_read_aloud_without_doubt(content: str) -> None:
    name = sheet_name(content)
    assert len(name) == 7
    assert name[3] == "-"
    assert not set(name) & set("AEIOU01")
    assert name[0].isalpha()


def test_rows_are_lettered_without_gaps() -> None:
    names = [row_name(number) for number in range(1500)]
    assert names[:3] == ["A", "B", "C"]
    assert names[22:25] == ["Z", "AA", "AB"]
    assert len(set(names)) == len(names)
    assert [row_number(f"{name}7") for name in names] == list(range(1500))


@pytest.mark.parametrize("size", ["letter", "4.25in x 5.5in"])
def test_a_proof_has_large_swatches_where_they_fit(size: str) -> None:
    page = SheetFormat(size=Size.parse(size))

    def smallest(count: int) -> float:
        groups = [
            SwatchGroup(colour=f"colour {n}", builds=(Build.cmyk(n, 20, 60, 30),))
            for n in range(count)
        ]
        sheet = plan_sheet(
            PAIR, Purpose.PROOF, groups, page, drive=Drive.CMYK, date=DATE, order="evening"
        )
        assert sheet is not None
        boxes = [s.box_pt for s in sheet.swatches if s.box_pt and not s.control]
        return min(top - bottom for _, bottom, _, top in boxes)

    usual = SheetSettings().swatch_size(page.size).height_pt
    assert smallest(2) > 1.5 * usual
    assert smallest(60) <= usual + 0.02


def test_a_shared_set_is_ordered_for_the_eye_and_a_colours_own_is_not() -> None:
    press = GenericPress.of(Drive.CMYK)
    rng = np.random.default_rng(3)
    drawn = [Build.cmyk(*row) for row in rng.integers(1, 60, (30, 4)).astype(float)]
    sheet = plan_sheet(
        PAIR,
        Purpose.SCOUTING,
        [
            SwatchGroup(builds=tuple(drawn[:20])),
            SwatchGroup(colour="kelp", builds=tuple(drawn[20:])),
        ],
        LETTER,
        drive=Drive.CMYK,
        date=DATE,
        look=press,
    )
    assert sheet is not None
    shared = [s for s in sheet.swatches if s.colour is None and not s.control]
    assert {s.build for s in shared} == set(drawn[:20])
    assert [s.build for s in sheet.swatches if s.colour == "kelp"] == drawn[20:]
    lightness = {s.id: press.predict_lab(np.array([s.build.values]))[0, 0] for s in shared}
    rows = [[lightness[s.id] for s in shared if s.id[0] == letter] for letter in "ABC"]
    assert min(rows[0]) >= max(rows[1])
    assert min(rows[1]) >= max(rows[2])


def test_the_eyes_order_holds_where_long_numbers_make_the_rows_shorter() -> None:
    press, envelope = GenericPress.of(Drive.CMYK), SheetFormat(size=Size.parse("a7-envelope"))
    wanted = tuple(Build.cmyk(11.25 + n, 82.75 - 4 * n, 64.25, 21.75) for n in range(12))
    sheet = plan_sheet(
        PAIR,
        Purpose.SCOUTING,
        [SwatchGroup(builds=wanted)],
        envelope,
        drive=Drive.CMYK,
        date=DATE,
        look=press,
    )
    assert sheet is not None
    rows: dict[str, list[float]] = {}
    for swatch in sheet.swatches:
        if not swatch.control:
            lightness = press.predict_lab(np.array([swatch.build.values]))[0, 0]
            rows.setdefault(swatch.id[0], []).append(float(lightness))
    assert len(rows) > 1
    for above, below in pairwise(rows.values()):
        assert min(above) >= max(below)


@pytest.mark.parametrize(
    ("size", "count"),
    [("letter", 28), ("a5", 28), ("a7-envelope", 28), ("4.25in x 5.5in", 16), ("a2-envelope", 18)],
)
def test_small_pages_get_fewer_swatches(size: str, count: int) -> None:
    page = SheetFormat(size=Size.parse(size))
    short = [Build.cmyk(n, 2 * n, 40, 5) for n in range(1, 29)]
    assert scouting_count(page, SheetSettings(), short) == count
    assert scouting_count((page, LETTER), SheetSettings(), short) == 28


@pytest.mark.parametrize("drive", Drive)
@pytest.mark.parametrize(
    ("size", "one_page"),
    [("a6", True), ("a6-envelope", True), ("dl-envelope", True), ("a2-envelope", False)],
)
def test_a_first_sheet_takes_no_second_page_for_the_length_of_its_numbers(
    size: str, one_page: bool, drive: Drive
) -> None:
    """It has fewer swatches, unless it needs a second page in any case: then that has the rest."""
    page, policy = SheetFormat(size=Size.parse(size)), InkPolicy(total_ink_limit=300.0)
    controls = np.array([build.values for build in control_builds(drive)])
    rows = scouting_set(drive, policy, 28, beside=controls).tolist()
    builds = [Build(drive=drive, values=tuple(row)) for row in rows]
    count = scouting_count(page, SheetSettings(), builds)
    group = SwatchGroup(builds=tuple(builds[:count]))
    sheet = plan_sheet(PAIR, Purpose.SCOUTING, [group], page, drive=drive, date=DATE)
    assert sheet is not None
    assert (sheet.pages == 1) == one_page
    assert 16 <= count <= 28
    assert one_page or count == 28


@pytest.mark.parametrize("size", ["a2-envelope", "a6-envelope", "c6-envelope", "dl-envelope"])
def test_controls_and_swatches_share_one_envelope(size: str) -> None:
    """An envelope holds the twelve controls and the least that a first look needs, and reads."""
    envelope = SheetFormat(size=Size.parse(size), unprintable=Sides.even(12))
    wanted = tuple(Build.cmyk(n, 2 * n, 40, 5) for n in range(1, 17))
    sheet = plan_sheet(
        PAIR, Purpose.SCOUTING, [SwatchGroup(builds=wanted)], envelope, drive=Drive.CMYK, date=DATE
    )
    assert sheet is not None
    assert sheet.pages == 1
    assert sum(swatch.control for swatch in sheet.swatches) == 12
    sides = [
        side
        for left, bottom, right, top in (s.box_pt for s in sheet.swatches if s.box_pt)
        for side in (right - left, top - bottom)
    ]
    assert min(sides) >= sheet.settings.smallest_side_pt - 0.02


def test_of_several_pages_the_first_that_holds_all_is_taken() -> None:
    pages = [SheetFormat(size=Size.parse(name)) for name in ("a6", "a5", "a4")]

    def size(count: int) -> str:
        wanted = tuple(Build.cmyk(n, 20, n // 2, 5) for n in range(1, count + 1))
        sheet = plan_sheet(
            PAIR, Purpose.SCOUTING, [SwatchGroup(builds=wanted)], pages, drive=Drive.CMYK, date=DATE
        )
        assert sheet is not None
        return next(name for name in ("a6", "a5", "a4") if sheet.size == Size.parse(name))

    assert [size(count) for count in (5, 28, 60)] == ["a6", "a5", "a4"]
    assert size(90) == "a4"  # two pages; as many as on any smaller


def test_swatches_for_the_eye_stay_whole_and_the_doubled_guess_has_two_ids() -> None:
    guess = Build.cmyk(2, 8, 45, 0)
    ladder = (Build.cmyk(2, 8, 35, 0), guess, Build.cmyk(2, 8, 55, 0), guess)
    sheet = plan_sheet(
        PAIR,
        Purpose.CLOSING_IN,
        [
            SwatchGroup(colour="butter", builds=ladder, for_eye=True),
            SwatchGroup(colour="butter", builds=(guess, Build.cmyk(4, 8, 45, 0))),
        ],
        LETTER,
        drive=Drive.CMYK,
        date=DATE,
        known=[ladder[0]],
    )
    assert sheet is not None
    eye = [swatch for swatch in sheet.swatches if swatch.for_eye]
    assert tuple(swatch.build for swatch in eye) == ladder
    assert len({swatch.id for swatch in eye}) == len(ladder)
    others = [s.build for s in sheet.swatches if not s.for_eye and not s.control]
    assert others == [Build.cmyk(4, 8, 45, 0)]  # the guess is read on the ladder


def test_a_build_beyond_the_ink_limit_is_refused_and_named() -> None:
    with pytest.raises(OrderError, match="240 %") as caught:
        plan((Build.cmyk(90, 80, 70, 10),), ink_limit=240)
    assert caught.value.findings[0].code == "over-ink-limit"
    assert plan((Build.cmyk(60, 40, 40, 100),), ink_limit=240) is not None


def test_a_build_of_the_other_drive_is_refused() -> None:
    with pytest.raises(OrderError) as caught:
        plan((Build.rgb(1, 2, 3),))
    assert caught.value.findings[0].code == "wrong-drive"


@pytest.mark.parametrize(
    ("size", "colours", "pages"), [("A4", 3, 2), ("letter", 3, 2), ("A3", 2, 1)]
)
def test_two_colours_stand_side_by_side_where_that_saves_a_page(
    size: str, colours: int, pages: int
) -> None:
    press, policy = GenericPress.of(Drive.CMYK), InkPolicy(total_ink_limit=300.0, black=Black.LEAST)
    middles = {"kelp": (65, 25, 70, 20), "slate": (60, 40, 30, 20), "butter": (2, 8, 45, 0)}
    groups = [
        SwatchGroup(
            colour=colour,
            builds=tuple(Build.cmyk(*row) for row in eye_set(press, middle, policy)),
            for_eye=True,
        )
        for colour, middle in list(middles.items())[:colours]
    ]
    page = SheetFormat(size=Size.parse(size))
    sheet = plan_sheet(
        PAIR, Purpose.SCOUTING, groups, page, drive=Drive.CMYK, date=DATE, look=press
    )
    assert sheet is not None
    assert max(swatch.page for swatch in sheet.swatches) == pages
    first = [s for s in sheet.swatches if s.for_eye and s.page == 1]
    boxes = {
        colour: [s.box_pt for s in first if s.colour == colour and s.box_pt] for colour in middles
    }
    right_of_kelp = max(box[2] for box in boxes["kelp"])
    assert min(box[0] for box in boxes["slate"]) >= right_of_kelp + 5.9 * PT_PER_MM
    widths = [(box[2] - box[0], box[3] - box[1]) for box in boxes["kelp"] + boxes["slate"]]
    # Two degrees at half a metre: 2 · 500 mm · tan 1°.
    assert min(min(one) for one in widths) > 2 * 500 * np.tan(np.radians(1)) * PT_PER_MM
    assert sorted(s.build.values for s in sheet.swatches if s.for_eye) == sorted(
        build.values for group in groups for build in group.builds
    )
    titles = [title.text for title in titles_of(first, both=False)]
    assert titles == ["kelp: to hold against the thing", "slate: to hold against the thing"]
