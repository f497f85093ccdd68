"""A deck is even, sorted so that a colour is found, and its additions hold only what it lacks."""

import datetime
import itertools
import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.pairs import Pair
from inkaccord.colour.sampling.design import GenericPress
from inkaccord.colour.sampling.even_set import Region, Spacing
from inkaccord.errors import OrderError
from inkaccord.sheets.model import Purpose, SampleSheet
from inkaccord.sheets.naming import row_number
from inkaccord.sheets.planning.deck import Deck, make_deck, plan_deck
from inkaccord.sheets.planning.deck_order import (
    GREY_CHROMA,
    HUE_WORDS,
    deck_slices,
    hue_region,
    hue_word,
)
from inkaccord.sheets.planning.placing import Capacity
from inkaccord.sheets.planning.plan import build_key
from inkaccord.sheets.settings import SheetFormat, SheetSettings
from inkaccord.sizes import Size

PAIR = Pair.parse("laser@bright-white-card")
DATE = datetime.date(2026, 5, 14)
LETTER = SheetFormat(size=Size.parse("letter"))
POLICY = InkPolicy(total_ink_limit=240)
GREENS = Region(hue=(130.0, 190.0), chroma=(15.0, 200.0))


def deck(drive: Drive = Drive.CMYK, count: int = 160, **more: object) -> Deck:
    return make_deck(
        PAIR,
        GenericPress.of(drive),
        LETTER,
        Spacing(count=count),
        POLICY,
        name="house deck",
        date=DATE,
        **more,  # type: ignore[arg-type]  # a test's shorthand
    )


def predicted(sheet: SampleSheet) -> np.ndarray:
    builds = np.array([s.build.values for s in sheet.swatches if not s.control])
    return np.asarray(GenericPress.of(sheet.drive).predict_lab(builds))


@pytest.mark.parametrize("drive", list(Drive))
def test_no_two_colours_are_closer_than_stated(drive: Drive) -> None:
    made = deck(drive)
    lab = predicted(made.sheet)
    assert len(lab) == 160
    apart = delta_e_2000(lab[:, None], lab[None, :]) + 100 * np.eye(len(lab))
    assert apart.min() >= made.min_delta_e - 1e-6
    assert made.min_delta_e > 3
    nearest = apart.min(axis=1)
    assert np.percentile(nearest, 95) < 2.5 * made.min_delta_e


def test_a_deck_keeps_to_the_ink_limit() -> None:
    assert max(s.build.total_ink or 0 for s in deck().sheet.swatches) <= 240


def test_additions_hold_only_what_the_deck_lacks_and_go_on_with_its_rows() -> None:
    base = deck().sheet
    added = deck(count=40, region=GREENS, base=[base])
    again = deck(count=20, region=GREENS, base=[base, added.sheet])
    sheets = [base, added.sheet, again.sheet]
    keys = [build_key(s.build) for one in sheets for s in one.swatches if not s.control]
    assert len(set(keys)) == len(keys) == 220
    ids = [s.id for one in sheets for s in one.swatches if not s.control]
    assert len(set(ids)) == len(ids)
    rows = [{row_number(s.id) for s in one.swatches if not s.control} for one in sheets]
    assert max(rows[0]) + 1 == min(rows[1])
    assert max(rows[1]) + 1 == min(rows[2])
    old, new = predicted(base), predicted(added.sheet)
    assert GREENS.contains(new).all()
    assert delta_e_2000(new[:, None], old[None, :]).min() >= added.min_delta_e - 1e-6
    assert len({one.id for one in sheets}) == 3


def test_a_dark_stock_gets_only_colours_that_differ_on_it() -> None:
    made = {}
    for name, paper in (("white", (94, 0, -2)), ("kraft", (48, 10, 22))):
        press = GenericPress.of(Drive.CMYK, paper)
        made[name] = make_deck(
            PAIR,
            press,
            LETTER,
            Spacing(min_delta_e=5.0),
            POLICY,
            name=name,
            date=DATE,
            settings=SheetSettings.suiting(None, paper[0]),
        )
        builds = np.array([s.build.values for s in made[name].sheet.swatches if not s.control])
        assert delta_e_2000(press.predict_lab(builds), press.paper_lab).min() >= 5.0
    assert len(made["kraft"].sheet.swatches) < 0.5 * len(made["white"].sheet.swatches)
    assert made["kraft"].sheet.settings.label_pt > made["white"].sheet.settings.label_pt


def test_nothing_to_add_is_said() -> None:
    base = deck().sheet
    builds = [s.build.values for s in base.swatches]
    lab = GenericPress.of(Drive.CMYK).predict_lab(np.array(builds))
    assert (
        plan_deck(PAIR, builds, lab, LETTER, drive=Drive.CMYK, name="again", date=DATE, base=[base])
        is None
    )


@pytest.mark.parametrize("count", [99, 5001])
def test_a_deck_too_small_or_large_is_refused(count: int) -> None:
    with pytest.raises((OrderError, ValueError), match=f"{count}|5000"):
        deck(count=count)


def test_a_deck_of_one_drive_takes_no_addition_of_the_other() -> None:
    base = deck().sheet
    with pytest.raises(OrderError) as caught:
        deck(Drive.RGB, base=[base])
    assert caught.value.findings[0].code == "wrong-drive"
    with pytest.raises(OrderError) as caught:
        deck(base=[base.model_copy(update={"purpose": Purpose.SCOUTING})])
    assert caught.value.findings[0].code == "not-a-deck"


labs = st.lists(
    st.tuples(st.floats(10, 95), st.floats(-70, 70), st.floats(-70, 90)), min_size=1, max_size=300
).map(np.array)
rooms = st.builds(
    lambda columns, first, later: Capacity(columns, columns * first, columns * later),
    st.integers(2, 9),
    st.integers(0, 5),
    st.integers(6, 10),
)


@given(lab=labs, room=rooms)
@settings(max_examples=60, deadline=None)
def test_every_colour_stands_once_and_hues_never_turn_back(lab: np.ndarray, room: Capacity) -> None:
    slices = deck_slices(lab, room)
    members = [one for part in slices for one in part.members]
    assert sorted(members) == list(range(len(lab)))
    chroma = np.hypot(lab[:, 1], lab[:, 2])
    turn = (np.degrees(np.arctan2(lab[:, 2], lab[:, 1])) - 345) % 360
    reached = 0.0
    for number, part in enumerate(slices):
        rows = np.array(part.members)
        if (chroma[rows] < GREY_CHROMA).any():
            assert number == 0
            assert (chroma[rows] < GREY_CHROMA).all()
            continue
        assert turn[rows].min() >= reached - 1e-9
        reached = turn[rows].max()


@given(lab=labs, room=rooms)
@settings(max_examples=40, deadline=None)
def test_rows_run_from_light_to_dark(lab: np.ndarray, room: Capacity) -> None:
    for part in deck_slices(lab, room):
        lightness = lab[list(part.members), 0]
        rows = [lightness[at : at + room.columns] for at in range(0, len(lightness), room.columns)]
        assert all(above.min() >= below.max() - 1e-9 for above, below in itertools.pairwise(rows))


@pytest.mark.parametrize("size", ["letter", "a6"])
def test_the_head_of_every_page_names_its_hues(size: str) -> None:
    """Also where a slice of hue takes several small pages: each says what is on itself."""
    page = SheetFormat(size=Size.parse(size))
    sheet = make_deck(
        PAIR,
        GenericPress.of(Drive.CMYK),
        page,
        Spacing(count=200),
        POLICY,
        name="by page",
        date=DATE,
    ).sheet
    assert len(sheet.page_titles) == sheet.pages
    for page, title in enumerate(sheet.page_titles, start=1):
        here = [s.build for s in sheet.swatches if s.page == page and not s.control]
        lab = GenericPress.of(Drive.CMYK).predict_lab(np.array([b.values for b in here]))
        hue = np.degrees(np.arctan2(lab[:, 2], lab[:, 1])) % 360
        if title == "Greys":
            assert (np.hypot(lab[:, 1], lab[:, 2]) < GREY_CHROMA).all()
            continue
        told = re.fullmatch(r"(.+), hue (\d+)° to (\d+)°, L\* (\d+) to (\d+)", title)
        assert told is not None
        first, last, light, dark = (float(part) for part in told.groups()[1:])
        assert ((hue - first + 1) % 360 <= (last - first + 2) % 360).all()
        assert lab[:, 0].max() == pytest.approx(light, abs=0.51)
        assert lab[:, 0].min() == pytest.approx(dark, abs=0.51)


@given(hue=st.floats(0, 359.99), chroma=st.floats(9, 90))
@settings(max_examples=80, deadline=None)
def test_the_range_that_a_word_names_holds_its_hues_and_no_others(
    hue: float, chroma: float
) -> None:
    lab = [50, chroma * np.cos(np.radians(hue)), chroma * np.sin(np.radians(hue))]
    holding = {word for word in HUE_WORDS if hue_region(word).contains(lab)}
    near_an_end = min(abs(hue - end) for end in (15, 48, 76, 102, 132, 175, 222, 278, 318, 345))
    if near_an_end > 1e-6:  # a hair's breadth of an end, sines and cosines round either way
        assert holding == {hue_word(hue)}
    assert holding


def test_a_word_for_no_hue_is_refused_with_the_words() -> None:
    assert hue_region("Yellow Greens") == hue_region("yellow green")
    with pytest.raises(OrderError, match="greens") as caught:
        hue_region("kelps")
    assert caught.value.findings[0].code == "unknown-hue"


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
    assert hue_word(float(np.degrees(np.arctan2(lab[2], lab[1])))) == word
