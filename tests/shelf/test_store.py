"""What is put on the shelf comes back, once, and only when it fits."""

import datetime
import itertools
import math
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from examples_kit import few
from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.direction import Direction
from inkaccord.colour.pairs import Pair
from inkaccord.colour.spaces import lab_to_xyz
from inkaccord.errors import OrderError
from inkaccord.knowledge.evidence import joined
from inkaccord.sheets.model import Pick, Purpose, Reading, SampleSheet, Swatch
from inkaccord.shelf.rules import SHEET_ID
from inkaccord.shelf.store import Shelf
from inkaccord.sizes import Size
from recording_kit import DATE, PAIR, lab_of, readings_of, sheet_of

START = datetime.datetime(2026, 3, 14, 9, 0, tzinfo=datetime.UTC)
SHEET = sheet_of()
TAKEN = readings_of(SHEET, read_on=DATE)


@pytest.fixture
def shelf(tmp_path: Path) -> Iterator[Shelf]:
    """A shelf whose clock goes on by a minute with every look."""
    minutes = itertools.count()
    with Shelf.open(
        tmp_path / "shelf.sqlite",
        by="Ida",
        clock=lambda: START + datetime.timedelta(minutes=next(minutes)),
    ) as opened:
        yield opened


def code_of(caught: pytest.ExceptionInfo[OrderError]) -> str:
    (finding,) = caught.value.findings
    return finding.code


# Sheets


def test_a_sheet_comes_back_with_when_and_by_whom(shelf: Shelf) -> None:
    assert shelf.add_sheet(SHEET)
    kept = shelf.kept_sheet(SHEET.id.lower())
    assert kept.sheet == SHEET
    assert (kept.added_at, kept.added_by) == (START, "Ida")
    assert shelf.pairs() == (PAIR,)


def test_a_sheet_kept_when_nobody_wrote_its_ways_is_the_same_sheet(shelf: Shelf) -> None:
    told = {"for_eye": True, "ways": (Direction.DARKER, Direction.REDDER)}
    swatches = (*SHEET.swatches[:-1], SHEET.swatches[-1].model_copy(update=told))
    assert shelf.add_sheet(SHEET)
    assert not shelf.add_sheet(SHEET.model_copy(update={"swatches": swatches}))


finite = st.floats(-1e6, 1e6)
swatches = st.builds(
    Swatch,
    id=st.text("ABCX0123456789", min_size=1, max_size=4),
    build=st.builds(Build, drive=st.just(Drive.CMYK), values=st.tuples(*[st.floats(0, 100)] * 4)),
    control=st.booleans(),
    colour=st.none() | st.sampled_from(["kelp", "lantern"]),
    for_eye=st.booleans(),
    ways=st.lists(st.sampled_from(list(Direction)), max_size=2).map(tuple),
    page=st.integers(1, 9),
    box_pt=st.none() | st.tuples(finite, finite, finite, finite),
)
drawn_sheets = st.builds(
    SampleSheet,
    id=st.from_regex(SHEET_ID, fullmatch=True),
    pair=st.sampled_from([PAIR, Pair.parse("inkjet@soft white/best photo")]),
    drive=st.just(Drive.CMYK),
    purpose=st.sampled_from(list(Purpose)),
    swatches=st.lists(swatches, min_size=1, max_size=5, unique_by=lambda s: s.id).map(tuple),
    size=st.builds(Size, width_pt=st.floats(1, 1e4), height_pt=st.floats(1, 1e4)),
    pages=st.integers(1, 9),
    bleed_pt=st.floats(0, 30),
    live_pt=st.none() | st.tuples(finite, finite, finite, finite),
    page_titles=st.lists(st.text(max_size=5), max_size=3).map(tuple),
    order=st.text(max_size=12),
    date=st.dates(),
)


@pytest.mark.about_its_file
@given(sheet=drawn_sheets)
@settings(few(15), suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_sheet_comes_back_as_it_was(tmp_path: Path, sheet: SampleSheet) -> None:
    path = tmp_path / "any.sqlite"
    path.unlink(missing_ok=True)
    with Shelf.open(path) as shelf:
        shelf.add_sheet(sheet)
        assert shelf.sheet(sheet.id) == sheet


def test_the_same_sheet_is_kept_once_whichever_order_asks(shelf: Shelf) -> None:
    shelf.add_sheet(SHEET)
    assert not shelf.add_sheet(SHEET)
    assert not shelf.add_sheet(SHEET.model_copy(update={"order": "other", "date": DATE.min}))
    assert shelf.sheet(SHEET.id).order == "members-evening"


def test_another_sheet_of_the_same_id_is_refused(shelf: Shelf) -> None:
    shelf.add_sheet(SHEET)
    with pytest.raises(OrderError) as caught:
        shelf.add_sheet(sheet_of(50))
    assert code_of(caught) == "sheet-exists"


@pytest.mark.parametrize("which", [(), (0, 0)])
def test_a_sheet_without_swatches_or_with_one_twice(shelf: Shelf, which: tuple[int, ...]) -> None:
    picked = tuple(SHEET.swatches[at] for at in which)
    with pytest.raises(OrderError) as caught:
        shelf.add_sheet(SHEET.model_copy(update={"swatches": picked}))
    assert code_of(caught) == "bad-sheet"


def test_an_unknown_sheet_is_answered_with_what_there_is(shelf: Shelf) -> None:
    shelf.add_sheet(SHEET)
    with pytest.raises(OrderError, match="K7Q-XM3") as caught:
        shelf.sheet("K7Q-XM4")
    assert code_of(caught) == "no-such-sheet"


def test_a_retired_sheet_counts_no_more_and_is_still_there(shelf: Shelf) -> None:
    shelf.add_sheet(SHEET)
    shelf.record_readings(TAKEN)
    before = shelf.state_of([PAIR])
    assert shelf.retire(SHEET.id, "toner changed")
    assert not shelf.retire(SHEET.id)
    assert (shelf.sheets(PAIR), shelf.readings_of(PAIR), shelf.picks_of(PAIR)) == ((), (), ())
    (kept,) = shelf.sheets(retired=True)
    assert (kept.retired_by, kept.retired_why) == ("Ida", "toner changed")
    assert shelf.state_of([PAIR]) != before
    with pytest.raises(OrderError, match="toner changed") as caught:
        shelf.record_readings(readings_of(SHEET, seed=3))
    assert code_of(caught) == "sheet-retired"


# Readings


def test_readings_come_back_exactly_beside_their_sheet(shelf: Shelf) -> None:
    shelf.add_sheet(SHEET)
    spectra = TAKEN.model_copy(
        update={
            "wavelengths_nm": (400.0, 410.5, 421.0),
            "readings": tuple(
                r.model_copy(update={"spectrum": (0.1, 1 / 3, 0.7)}) for r in TAKEN.readings
            ),
        }
    )
    assert shelf.record_readings(spectra, source="k7q.txt", source_sha256="ab")
    (kept,) = shelf.readings_of(PAIR)
    assert (kept.readings, kept.sheet) == (spectra, SHEET)
    assert (kept.source, kept.source_sha256, kept.recorded_by) == ("k7q.txt", "ab", "Ida")


def test_the_same_readings_are_kept_once(shelf: Shelf) -> None:
    shelf.add_sheet(SHEET)
    assert shelf.record_readings(TAKEN)
    assert not shelf.record_readings(TAKEN, source="copy.txt")
    assert len(shelf.readings_of(PAIR)) == 1


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"sheet": "B2B-B2B"}, "no-such-sheet"),
        ({"readings": ()}, "wrong-sheet"),
        ({"readings": (*TAKEN.readings, Reading(swatch="Q1", lab=(50, 0, 0)))}, "wrong-sheet"),
        ({"readings": (*TAKEN.readings, TAKEN.readings[0])}, "wrong-sheet"),
        (
            {"readings": (*TAKEN.readings[1:], Reading(swatch="X1", lab=(9, 0, 0), spectrum=(1,)))},
            "bad-spectrum",
        ),
        *(
            ({"readings": (TAKEN.readings[0].model_copy(update=wrong),)}, "impossible-value")
            for wrong in (
                {"lab": (math.nan, 0, 0)},
                {"lab": (50, math.inf, 0)},
                {"lab": (500, 9, 0)},
            )
        ),
    ],
)
def test_readings_that_do_not_fit_leave_nothing_behind(
    shelf: Shelf, changes: dict[str, object], code: str
) -> None:
    shelf.add_sheet(SHEET)
    before = shelf.state_of([PAIR])
    with pytest.raises(OrderError) as caught:
        shelf.record_readings(TAKEN.model_copy(update=changes))
    assert code_of(caught) == code
    assert shelf.readings_of_sheet(SHEET.id, retired=True) == ()
    assert shelf.state_of([PAIR]) == before
    assert shelf.verify() == ()


def test_conditions_that_clash_with_the_pairs_others_are_refused(shelf: Shelf) -> None:
    second = sheet_of(name="B2B-B2B")
    shelf.add_sheet(SHEET)
    shelf.add_sheet(second)
    shelf.record_readings(readings_of(SHEET, conditions={"mode": "M0"}))
    with pytest.raises(OrderError, match="M0 beside M1") as caught:
        shelf.record_readings(readings_of(second, conditions={"mode": "M1"}))
    assert code_of(caught) == "mixed-conditions"
    shelf.retire(SHEET.id)
    assert shelf.record_readings(readings_of(second, conditions={"mode": "M1"}))


def test_a_foreign_sheet_and_its_readings_are_kept_both_or_neither(shelf: Shelf) -> None:
    foreign = sheet_of(name="B2B-B2B").model_copy(update={"purpose": Purpose.IMPORTED})
    shelf.add_sheet(SHEET)
    shelf.record_readings(readings_of(SHEET, conditions={"mode": "M0"}))
    with pytest.raises(OrderError) as caught:
        shelf.record_foreign(foreign, readings_of(foreign, conditions={"mode": "M1"}))
    assert code_of(caught) == "mixed-conditions"
    assert [kept.sheet.id for kept in shelf.sheets()] == [SHEET.id]
    assert shelf.record_foreign(foreign, readings_of(foreign, conditions={"mode": "M0"}))
    assert not shelf.record_foreign(foreign, readings_of(foreign, conditions={"mode": "M0"}))
    assert len(shelf.readings_of(PAIR)) == 2


def test_one_reading_can_be_retired(shelf: Shelf) -> None:
    shelf.add_sheet(SHEET)
    shelf.record_readings(TAKEN)
    shelf.record_readings(readings_of(SHEET, seed=1))
    first, second = shelf.readings_of(PAIR)
    before = shelf.state_of([PAIR])
    assert shelf.retire_readings(SHEET.id, first.digest[:8], "wet")
    assert not shelf.retire_readings(SHEET.id, first.digest[:8])
    assert shelf.readings_of(PAIR) == (second,)
    assert shelf.state_of([PAIR]) != before
    assert len(shelf.readings_of_sheet(SHEET.id, retired=True)) == 2
    with pytest.raises(OrderError) as caught:
        shelf.record_readings(TAKEN)
    assert code_of(caught) == "readings-retired"
    with pytest.raises(OrderError) as caught:
        shelf.retire_readings(SHEET.id, "")
    assert code_of(caught) == "no-such-reading"


# Evidence


def test_readings_of_several_sheets_are_joined(shelf: Shelf) -> None:
    second = sheet_of(20, name="B2B-B2B")
    for sheet, seed in ((SHEET, 0), (second, 1)):
        shelf.add_sheet(sheet)
        shelf.record_readings(readings_of(sheet, seed=seed, noise=0.3 + seed))
    found = joined(shelf.readings_of(PAIR))
    assert found is not None
    assert len(found) == 80
    assert found.sheet.tolist() == [0] * 60 + [1] * 20
    assert found.noise.tolist() == [0.3] * 60 + [1.3] * 20
    assert np.allclose(found.xyz[:60], lab_to_xyz(lab_of(SHEET)))
    assert found.builds[61].tolist() == list(second.swatches[1].build.values)
    assert found.spectra is None


def test_a_sheet_read_on_two_days_counts_as_two_prints(shelf: Shelf) -> None:
    shelf.add_sheet(SHEET)
    shelf.record_readings(TAKEN)
    shelf.record_readings(readings_of(SHEET, seed=1, read_on=datetime.date(2026, 9, 1)))
    found = joined(shelf.readings_of(PAIR))
    assert found is not None
    assert found.sheet.tolist() == [0] * 60 + [1] * 60


def test_nothing_known_gives_none(shelf: Shelf) -> None:
    shelf.add_sheet(SHEET)
    assert joined(shelf.readings_of(PAIR)) is None


# Picks


def test_picks_come_back_with_ids_as_on_the_sheet(shelf: Shelf) -> None:
    shelf.add_sheet(SHEET)
    picks = [
        Pick(sheet="k7q-xm3", colour="kelp", swatch="b7", between="B8", by="Ida", sure=0.9),
        Pick(sheet=SHEET.id, colour="slate", swatch="X2", nudge=Direction.DARKER, picked_on=DATE),
    ]
    assert shelf.record_picks(picks) == 2
    assert shelf.record_picks(picks) == 0
    found = {kept.pick.colour: kept for kept in shelf.picks_of(PAIR)}
    assert found["kelp"].pick == picks[0].model_copy(update={"sheet": SHEET.id, "swatch": "B7"})
    assert found["slate"].pick == picks[1]
    assert found["slate"].sheet == SHEET


LOOKS = (
    Pick(sheet=SHEET.id, colour="kelp", swatch="B7", then="C7", among=("B6", "B7", "C7")),
    Pick(sheet=SHEET.id, colour="kelp", swatch=None, nudge=Direction.YELLOWER, turn=2),
    Pick(sheet=SHEET.id, colour="kelp", swatch=None),
    Pick(sheet=SHEET.id, colour="kelp", swatch="B7", build=(12.0, 0.0, 33.0, 4.0), error=0.7),
)


def test_looks_of_all_kinds_come_back(shelf: Shelf) -> None:
    shelf.add_sheet(SHEET)
    assert shelf.record_picks(LOOKS) == len(LOOKS)
    assert {kept.pick for kept in shelf.picks_of(PAIR)} == set(LOOKS)


def test_the_same_answer_counts_once_more_on_another_turn(shelf: Shelf) -> None:
    shelf.add_sheet(SHEET)
    look = Pick(sheet=SHEET.id, colour="kelp", swatch="B7", picked_on=DATE)
    assert shelf.record_picks([look, look, look.model_copy(update={"turn": 2})]) == 2


def test_picks_are_taken_all_or_none(shelf: Shelf) -> None:
    shelf.add_sheet(SHEET)
    good = Pick(sheet=SHEET.id, colour="kelp", swatch="B7")
    with pytest.raises(OrderError) as caught:
        shelf.record_picks([good, good.model_copy(update={"swatch": "Q9"})])
    assert code_of(caught) == "no-such-swatch"
    assert shelf.picks_of(PAIR) == ()


# What it was good for


@pytest.mark.about_its_file
def test_served_colours_are_remembered_once(shelf: Shelf) -> None:
    shelf.serve("members-evening", {PAIR: ["kelp", "slate", "kelp"]})
    size = shelf.place.stat().st_mtime_ns
    shelf.serve("members-evening", {PAIR: ["kelp"]})
    assert shelf.place.stat().st_mtime_ns == size
    assert [entry.colour for entry in shelf.served(PAIR)] == ["kelp", "slate"]
    assert shelf.served(Pair.parse("other@kraft")) == ()


def test_the_digest_follows_what_is_known_and_nothing_else(shelf: Shelf, tmp_path: Path) -> None:
    seen = [shelf.state_of([PAIR])]
    shelf.add_sheet(SHEET)
    seen.append(shelf.state_of([PAIR]))
    shelf.record_readings(TAKEN)
    seen.append(shelf.state_of([PAIR]))
    shelf.record_picks([Pick(sheet=SHEET.id, colour="kelp", swatch="B7")])
    seen.append(shelf.state_of([PAIR]))
    assert len(set(seen)) == 4
    shelf.serve("members-evening", {PAIR: ["kelp"]})
    shelf.add_sheet(sheet_of(name="B2B-B2B", pair=Pair.parse("other@kraft")))
    assert shelf.state_of([PAIR]) == seen[-1]

    with Shelf.open(tmp_path / "second.sqlite", by="someone else") as other:
        other.add_sheet(SHEET)
        other.record_picks([Pick(sheet=SHEET.id, colour="kelp", swatch="B7")])
        other.record_readings(TAKEN, source="another name")
        assert other.state_of([PAIR]) == seen[-1]


# Plans


def test_a_plan_keeps_its_sheets_withdraws_others_and_takes_one_back(shelf: Shelf) -> None:
    other = sheet_of(name="C5C-C5C")
    shelf.plan([SHEET], {})
    before = shelf.state_of([PAIR])
    shelf.plan([other], {SHEET.id: "its colours have moved"})
    kept = shelf.kept_sheet(SHEET.id)
    assert kept.withdrawn_at is not None
    assert kept.withdrawn_why == "its colours have moved"
    assert shelf.state_of([PAIR]) != before
    assert {it.id: it.state for it in shelf.overview()} == {
        SHEET.id: "withdrawn",
        other.id: "waiting",
    }
    shelf.plan([SHEET, other], {})
    assert shelf.kept_sheet(SHEET.id).withdrawn_at is None


def test_a_plan_that_says_nothing_new_writes_nothing(shelf: Shelf) -> None:
    shelf.plan([SHEET], {})
    first = shelf.kept_sheet(SHEET.id)
    shelf.plan([SHEET], {})
    assert shelf.kept_sheet(SHEET.id) == first


def test_a_withdrawn_sheet_is_recorded_all_the_same(shelf: Shelf) -> None:
    shelf.plan([SHEET], {})
    shelf.plan([], {SHEET.id: "nothing hangs on it"})
    assert shelf.record_readings(TAKEN)
    assert [it.sheet.id for it in shelf.readings_of(PAIR)] == [SHEET.id]
    assert [it.state for it in shelf.overview()] == ["in use"]


def test_a_sheet_that_is_marked_as_printed_waits_again(shelf: Shelf) -> None:
    shelf.plan([SHEET], {})
    shelf.plan([], {SHEET.id: "nothing hangs on it"})
    assert shelf.paper.mark_printed(SHEET.id.lower())
    assert not shelf.paper.mark_printed(SHEET.id)
    kept = shelf.kept_sheet(SHEET.id)
    assert kept.printed_at is not None
    assert kept.withdrawn_at is None
    assert [it.state for it in shelf.overview()] == ["printed, waiting"]
    with pytest.raises(OrderError) as caught:
        shelf.paper.mark_printed("no-such")
    assert code_of(caught) == "no-such-sheet"
