"""What is in use on a shelf, told by names: seen by two ways, and after a plan of our own."""

import datetime

import pytest

from inkaccord.colour.pairs import Pair
from inkaccord.sheets.model import Pick
from inkaccord.shelf.state import PlanKept, ShelfState
from inkaccord.shelf.store import Shelf
from recording_kit import PAIR, readings_of, sheet_of

KIN = Pair.parse("laser@white")


@pytest.fixture
def shelf(tmp_path):
    with Shelf.open(tmp_path / "shelf.sqlite") as opened:
        yield opened


@pytest.mark.about_its_file
def test_the_file_tells_what_the_open_shelf_tells(shelf):
    sheet = sheet_of()
    shelf.add_sheet(sheet)
    shelf.record_readings(readings_of(sheet))
    shelf.record_picks([Pick(sheet=sheet.id, colour="kelp", swatch="X1")])
    state = shelf.state_of([PAIR])
    assert ShelfState.of_file(shelf.place, [PAIR]) == state
    assert len(state.parts) == 4  # the version, the sheet, its reading, its pick
    assert {path.name for path in shelf.place.parent.iterdir()} <= {
        "shelf.sqlite",
        "shelf.sqlite-wal",
        "shelf.sqlite-shm",
    }


@pytest.mark.about_its_file
def test_looking_at_a_file_leaves_nothing_behind(tmp_path):
    path = tmp_path / "shelf.sqlite"
    with Shelf.open(path) as shelf:
        shelf.add_sheet(sheet_of())
    before = path.read_bytes()
    assert ShelfState.of_file(path, [PAIR]) is not None
    assert [it.name for it in tmp_path.iterdir()] == ["shelf.sqlite"]
    assert path.read_bytes() == before


@pytest.mark.about_its_file
@pytest.mark.parametrize("content", [None, b"", b"no database at all, but text\n" * 9])
def test_what_is_no_shelf_has_no_state(tmp_path, content):
    path = tmp_path / "shelf.sqlite"
    if content is not None:
        path.write_bytes(content)
    assert ShelfState.of_file(path, [PAIR]) is None
    assert path.exists() == (content is not None)


def test_readings_of_the_kin_count_and_its_sheets_do_not(shelf):
    shelf.add_sheet(sheet_of())
    before = shelf.state_of([PAIR])
    kin = sheet_of(pair=KIN, name="KIN-111")
    shelf.add_sheet(kin)
    assert shelf.state_of([PAIR]) == before
    shelf.record_readings(readings_of(kin))
    assert shelf.state_of([PAIR]) != before


def test_the_state_after_a_plan_is_what_the_shelf_then_holds(shelf):
    gone, again, new = (sheet_of(name=name) for name in ("AAA-111", "BBB-222", "CCC-333"))
    for sheet in (gone, again):
        shelf.add_sheet(sheet)
    shelf.plan([], {again.id: "not needed"})
    before = shelf.state_of([PAIR])
    kept = shelf.plan([again, new], {gone.id: "settled", "ZZZ-999": "never there"})
    assert kept == PlanKept(
        added=frozenset({new.id}), asked_again=frozenset({again.id}), withdrawn=frozenset({gone.id})
    )
    assert before.after(kept) == shelf.state_of([PAIR])
    assert shelf.plan([again, new], {gone.id: "settled"}) == PlanKept()


def test_a_plan_that_asks_for_a_retired_sheet_brings_nothing_back(shelf):
    sheet = sheet_of()
    shelf.add_sheet(sheet)
    shelf.retire(sheet.id)
    before = shelf.state_of([PAIR])
    assert before.after(shelf.plan([sheet], {})) == shelf.state_of([PAIR])


def test_what_is_asked_in_one_state_sees_nothing_of_what_others_write(shelf):
    sheet = sheet_of()
    shelf.add_sheet(sheet)
    with Shelf.open(shelf.place) as other, shelf.one_state():
        before = shelf.state_of([PAIR])
        other.record_readings(readings_of(sheet, read_on=datetime.date(2026, 3, 15)))
        assert shelf.state_of([PAIR]) == before
        assert shelf.evidence_of([PAIR])[PAIR].readings == ()
        assert shelf.readings_counted([PAIR.device]) == {}
    assert shelf.state_of([PAIR]) != before
