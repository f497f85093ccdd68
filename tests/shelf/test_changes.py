"""What was changed is put back: what an export writes is the same, to the byte."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa

from inkaccord.colour.conditions import Conditions
from inkaccord.errors import OrderError
from inkaccord.order.book import BookColour
from inkaccord.sheets.model import Pick
from inkaccord.shelf.kept import BookUse, MoveKind
from inkaccord.shelf.store import Shelf
from recording_kit import readings_of, sheet_of

HERE, THERE, NEW = sheet_of(15), sheet_of(20, name="N3W-N3W"), sheet_of(14, name="B2B-B2B")
READ = readings_of(HERE, conditions=Conditions(mode="M0"))
PICK = Pick(sheet=HERE.id, colour="kelp", swatch="B4", by="Ida")


@pytest.fixture
def shelf(tmp_path: Path) -> Iterator[Shelf]:
    """A shelf with a sheet that is read, marked, and looked at, and one with a retired reading."""
    with Shelf.open(tmp_path / "shelf.sqlite", by="Ida") as opened:
        opened.add_sheet(HERE)
        opened.record_readings(READ)
        opened.add_sheet(THERE)
        opened.record_readings(readings_of(THERE, seed=3))
        (record,) = opened.readings_of_sheet(THERE.id)
        opened.retire_readings(THERE.id, record.digest, "smeared")
        opened.paper.move(HERE.id, MoveKind.LAID, "drawer 1")
        yield opened


def written(shelf: Shelf, folder: Path) -> dict[str, bytes]:
    """All that an export writes."""
    files = shelf.copies.export(folder)
    made = {str(it.relative_to(folder)): it.read_bytes() for it in files}
    for it in files:
        it.unlink()
    return made


def exported(folder: Path) -> Path:
    """The text of a shelf that knows more of the sheets here, has retired one, and has a book."""
    with Shelf.open(folder / "theirs.sqlite", by="Eve") as theirs:
        for sheet in (HERE, THERE, NEW):
            theirs.add_sheet(sheet)
        theirs.record_readings(READ)
        theirs.retire_readings(HERE.id, theirs.readings_of_sheet(HERE.id)[0].digest, "wet")
        theirs.record_readings(readings_of(NEW, seed=2))
        theirs.record_picks([PICK])
        theirs.retire(THERE.id, "mouldy")
        theirs.paper.move(HERE.id, MoveKind.LENT, "Ben")
        theirs.book.add(BookColour.model_validate({"name": "Kelp", "aim": {"lab": [40, -22, 4]}}))
        theirs.book.use([BookUse(order="spring", colour="kelp", key="kelp", edition=1)])
        theirs.serve("spring", {NEW.pair: ["kelp"]})
        theirs.copies.export(folder / "theirs")
    return folder / "theirs"


def retired_reading(shelf: Shelf) -> str:
    return shelf.readings_of_sheet(THERE.id, retired=True)[0].digest


DOINGS: dict[str, Callable[[Shelf, Path], object]] = {
    "import": lambda shelf, folder: shelf.copies.take_in(exported(folder)),
    "sheet": lambda shelf, _: shelf.add_sheet(NEW),
    "target": lambda shelf, _: shelf.record_foreign(NEW, readings_of(NEW)),
    "reading": lambda shelf, _: shelf.record_readings(readings_of(HERE, seed=9)),
    "looks": lambda shelf, _: shelf.record_picks([PICK]),
    "retire": lambda shelf, _: shelf.retire(HERE.id, "torn"),
    "use again": lambda shelf, _: shelf.use_readings_again(THERE.id, retired_reading(shelf)),
    "back": lambda shelf, _: shelf.paper.move(HERE.id, MoveKind.BACK, "drawer 2"),
    "plan": lambda shelf, _: shelf.plan([NEW], {THERE.id: "another stock"}),
}


@pytest.mark.parametrize("doing", DOINGS)
def test_what_was_done_is_put_back_and_had_again(shelf: Shelf, tmp_path: Path, doing: str) -> None:
    before = written(shelf, tmp_path / "out")
    with shelf.noting() as noted:
        DOINGS[doing](shelf, tmp_path)
    after = written(shelf, tmp_path / "out")
    assert after != before
    again = shelf.put_back(noted)
    assert written(shelf, tmp_path / "out") == before
    assert shelf.verify() == ()
    back = shelf.put_back(again)
    assert written(shelf, tmp_path / "out") == after
    shelf.put_back(back)
    assert written(shelf, tmp_path / "out") == before


@pytest.mark.about_its_file
@pytest.mark.parametrize("doing", ["looks", "retire", "use again", "back", "reading"])
def test_noting_costs_what_is_changed_and_not_what_is_there(
    shelf: Shelf, tmp_path: Path, doing: str
) -> None:
    """SQLite's own plan of every statement: a key is looked up, no table is gone through.

    But for a sheet's id, which a person may type in another way: that fetches one row.
    """
    asked: list[tuple[str, Any]] = []

    @sa.event.listens_for(sa.Engine, "before_cursor_execute")
    def noted(_c: object, _u: object, statement: str, given: Any, _x: object, many: bool) -> None:
        asked.extend((statement, one) for one in (given if many else [given]))

    try:
        with shelf.noting() as changed:
            DOINGS[doing](shelf, tmp_path)
    finally:
        sa.event.remove(sa.Engine, "before_cursor_execute", noted)
    assert changed
    with shelf.database.reading() as connection:
        steps = [
            (step.detail, statement)
            for statement, given in asked
            if not statement.startswith("BEGIN") and "upper(sheets.id)" not in statement
            for step in connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", given)
        ]
    assert any("USING" in step for step, _ in steps)
    assert [it for it in steps if it[0].startswith("SCAN")] == []


def test_all_that_one_transaction_changes_is_one_change(shelf: Shelf, tmp_path: Path) -> None:
    with shelf.noting() as noted:
        shelf.copies.take_in(exported(tmp_path))
    (change,) = noted
    assert change.before["sheets"].keys() == {(THERE.id,)}
    assert change.after["sheets"].keys() == {(THERE.id,), (NEW.id,)}
    assert len(change.after["records"]) == 2
    assert len(change.after["readings"]) == len(readings_of(NEW).readings)


def test_what_is_only_supposed_is_not_noted(shelf: Shelf, tmp_path: Path) -> None:
    theirs = exported(tmp_path)
    with shelf.noting() as noted:
        assert shelf.copies.news_of(theirs)
    assert noted == []


def test_what_others_did_meanwhile_stays(shelf: Shelf, tmp_path: Path) -> None:
    with shelf.noting() as noted:
        shelf.paper.mark_printed(HERE.id)
        with Shelf.open(tmp_path / "shelf.sqlite", by="Eve") as other:
            other.paper.move(HERE.id, MoveKind.LENT, "Ben")
    shelf.paper.move(HERE.id, MoveKind.RETURNED, "Ben")
    shelf.put_back(noted)
    kept = shelf.kept_sheet(HERE.id)
    assert kept.printed_at is None
    assert [it.kind for it in kept.moves] == [MoveKind.LAID, MoveKind.LENT, MoveKind.RETURNED]


@pytest.mark.parametrize(
    ("doing", "since"),
    [
        ("sheet", lambda shelf: shelf.record_readings(readings_of(NEW))),
        ("sheet", lambda shelf: shelf.paper.mark_printed(NEW.id)),
        ("reading", lambda shelf: shelf.retire_readings(
            HERE.id, shelf.readings_of_sheet(HERE.id)[-1].digest, "wet")),
        ("retire", lambda shelf: shelf.use_again(HERE.id)),
        ("import", lambda shelf: shelf.book.use(
            [BookUse(order="autumn", colour="kelp", key="kelp", edition=1)])),
        ("import", lambda shelf: shelf.record_readings(readings_of(NEW, seed=5))),
    ],
)  # fmt: skip
def test_what_newer_things_rest_on_stays_whole(
    shelf: Shelf, tmp_path: Path, doing: str, since: Callable[[Shelf], object]
) -> None:
    with shelf.noting() as noted:
        DOINGS[doing](shelf, tmp_path)
    since(shelf)
    then = written(shelf, tmp_path / "out")
    with pytest.raises(OrderError, match="it can't be taken back any more"):
        shelf.put_back(noted)
    assert written(shelf, tmp_path / "out") == then


def test_a_sheet_that_clashes_with_newer_readings_does_not_count_again(
    shelf: Shelf, tmp_path: Path
) -> None:
    with shelf.noting() as noted:
        shelf.retire(HERE.id, "torn")
    shelf.add_sheet(NEW)
    shelf.record_readings(readings_of(NEW, conditions=Conditions(mode="M1")))
    then = written(shelf, tmp_path / "out")
    with pytest.raises(OrderError, match="other conditions"):
        shelf.put_back(noted)
    with pytest.raises(OrderError, match="other conditions"):
        shelf.use_again(HERE.id)
    assert written(shelf, tmp_path / "out") == then


def test_a_reading_that_clashes_with_newer_ones_does_not_count_again(shelf: Shelf) -> None:
    (record,) = shelf.readings_of_sheet(HERE.id)
    with shelf.noting() as noted:
        shelf.retire_readings(HERE.id, record.digest, "wet")
    shelf.record_readings(readings_of(HERE, seed=4, conditions=Conditions(mode="M1")))
    with pytest.raises(OrderError, match="other conditions"):
        shelf.put_back(noted)
    assert shelf.readings_of_sheet(HERE.id)[0].digest != record.digest
