"""The file: opening, refusing, migrating; two runs at once; killed at any moment."""

import datetime
import random
import shutil
import sqlite3
import time
from pathlib import Path

import pytest
from alembic.config import Config
from alembic.script import ScriptDirectory

from inkaccord.colour.direction import Direction
from inkaccord.errors import FileError, OrderError
from inkaccord.sheets.model import Pick, Purpose
from inkaccord.shelf.schema import SCHEMA_VERSION
from inkaccord.shelf.store import Shelf
from recorder_kit import start_recorder
from recording_kit import PAIR, readings_of, sheet_of
from shelf_kit import PICK_DIGEST, VERSION_1, VERSION_4, differences, old_shelf

SHEET = sheet_of()

PICK = Pick(
    sheet=SHEET.id,
    colour="kelp",
    swatch="B7",
    nudge=Direction.DARKER,
    by="Ida",
    light="window",
    sure=0.75,
    picked_on=datetime.date(2026, 3, 16),
)


def code_of(caught: pytest.ExceptionInfo[FileError]) -> str:
    (finding,) = caught.value.findings
    return finding.code


def test_an_older_shelf_keeps_its_picks(tmp_path: Path) -> None:
    old_shelf(tmp_path / "shelf.sqlite")
    with Shelf.open(tmp_path / "shelf.sqlite") as shelf:
        (kept,) = shelf.picks_of(PAIR)
        assert kept.pick == PICK
        assert (kept.digest, kept.recorded_by) == (PICK_DIGEST, "Ida")
        # Recorded once more it is still the same pick.
        assert shelf.record_picks([PICK]) == 0
        assert shelf.record_picks([PICK.model_copy(update={"turn": 2})]) == 1


def test_a_shelf_that_version_4_wrote_keeps_its_sheets_readings_and_picks(tmp_path: Path) -> None:
    old_shelf(tmp_path / "shelf.sqlite", 4, VERSION_4.read_text("utf-8"))
    with Shelf.open(tmp_path / "shelf.sqlite") as shelf:
        assert shelf.verify() == ()
        picks = [kept.pick for kept in shelf.picks_of(PAIR)]
        assert [(it.colour, it.swatch, it.between, it.nudge, it.sure) for it in picks] == [
            ("kelp", "B3", "B4", None, 0.5),
            ("slate", "X2", None, Direction.DARKER, 0.75),
        ]
        assert len(shelf.readings_of(PAIR)[0].readings.readings) == 15
        # Both are recorded already, and the sheet is the same one.
        assert shelf.record_picks(picks) == 0
        assert not shelf.add_sheet(sheet_of(15))
        assert shelf.record_picks([Pick(sheet=SHEET.id, colour="kelp", nudge=Direction.BLUER)]) == 1


def test_an_older_shelf_is_brought_up_to_date_and_a_copy_kept(tmp_path: Path) -> None:
    path = tmp_path / "shelf.sqlite"
    old_shelf(path)
    with Shelf.open(path) as shelf:
        (kept,) = shelf.readings_of(PAIR)
        assert kept.readings.readings[0].lab == (41.5, -22.25, 9.0)
        assert (kept.retired_at, kept.sheet.order) == (None, "autumn")
        assert shelf.retire_readings("K7Q-XM3", "00ff")
    with Shelf.open(path) as shelf:
        assert shelf.readings_of(PAIR) == ()
    copy = sqlite3.connect(tmp_path / f"shelf.sqlite.before-version-{SCHEMA_VERSION}")
    assert copy.execute("PRAGMA user_version").fetchone() == (1,)
    assert copy.execute("SELECT count(*) FROM readings").fetchone() == (1,)
    copy.close()


@pytest.mark.parametrize(("version", "sql"), [(1, VERSION_1), (4, VERSION_4.read_text("utf-8"))])
def test_an_older_shelf_gets_the_tables_of_a_new_one(
    tmp_path: Path, version: int, sql: str
) -> None:
    old_shelf(tmp_path / "old.sqlite", version, sql)
    for name in ("old.sqlite", "new.sqlite"):
        with Shelf.open(tmp_path / name) as shelf, shelf.database.writing() as connection:
            assert differences(connection) == []
            assert shelf.database.version(connection) == SCHEMA_VERSION
        header = sqlite3.connect(tmp_path / name)
        # where a program that knows versions up to 7 looks
        assert header.execute("PRAGMA user_version").fetchone() == (SCHEMA_VERSION,)
        header.close()


def test_a_set_of_many_swatches_on_an_older_shelf_is_one_still(tmp_path: Path) -> None:
    path = tmp_path / "shelf.sqlite"
    of_then = "UPDATE sheets SET purpose = 'deck';"
    old_shelf(path, 4, VERSION_4.read_text("utf-8") + of_then)
    with Shelf.open(path) as shelf:
        assert {it.sheet.purpose for it in shelf.sheets()} == {Purpose.SWATCH_SET}


def test_the_last_revision_is_the_version_of_new_shelves() -> None:
    revisions = Config()
    revisions.set_main_option("script_location", "inkaccord.shelf:migrations")
    assert ScriptDirectory.from_config(revisions).get_heads() == [str(SCHEMA_VERSION)]


@pytest.mark.parametrize(
    "spoil", ["DELETE FROM shelf_version", "UPDATE shelf_version SET version_num = 'late'"]
)
def test_a_shelf_that_does_not_say_its_version_is_refused(tmp_path: Path, spoil: str) -> None:
    path = tmp_path / "shelf.sqlite"
    with Shelf.open(path) as shelf, shelf.database.writing() as connection:
        connection.exec_driver_sql(spoil)
    with pytest.raises(FileError, match="does not say of which version") as caught:
        Shelf.open(path)
    assert code_of(caught) == "damaged-shelf"


def test_a_newer_shelf_is_refused_and_not_touched(tmp_path: Path) -> None:
    path = tmp_path / "shelf.sqlite"
    old_shelf(path, SCHEMA_VERSION + 1)
    before = path.read_bytes()
    with pytest.raises(FileError, match="update inkaccord") as caught:
        Shelf.open(path)
    assert code_of(caught) == "newer-shelf"
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]


def test_a_failing_migration_leaves_the_old_shelf(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def half_way(*_args: object) -> None:
        raise sqlite3.OperationalError("database or disk is full")

    path = tmp_path / "shelf.sqlite"
    old_shelf(path)
    monkeypatch.setattr("alembic.op.create_table", half_way)
    with pytest.raises(FileError, match="disk is full"):
        Shelf.open(path)
    monkeypatch.undo()
    with Shelf.open(path) as shelf:
        assert len(shelf.readings_of(PAIR)) == 1


@pytest.mark.parametrize("content", [b"hello, this is a letter", b"SQLite format 2\0" + bytes(90)])
def test_another_file_is_refused_and_not_touched(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "letter.txt"
    path.write_bytes(content)
    with pytest.raises(FileError) as caught:
        Shelf.open(path)
    assert code_of(caught) == "not-a-shelf"
    assert path.read_bytes() == content


def test_a_database_of_another_program_is_refused_and_not_touched(tmp_path: Path) -> None:
    path = tmp_path / "other.sqlite"
    connection = sqlite3.connect(path)
    connection.execute("CREATE TABLE stamps (id)")
    connection.close()
    before = path.read_bytes()
    with pytest.raises(FileError) as caught:
        Shelf.open(path)
    assert code_of(caught) == "not-a-shelf"
    assert path.read_bytes() == before


@pytest.mark.parametrize("location", ["mysql://host/shelf", "sqlite://", "http://x/y"])
def test_a_location_that_is_no_file_is_refused(location: str) -> None:
    with pytest.raises(OrderError) as caught:
        Shelf.open(location)
    assert caught.value.findings[0].code == "bad-shelf"


def test_a_shelf_opens_by_its_url_and_creates_its_folder(tmp_path: Path) -> None:
    with Shelf.open(f"sqlite:///{tmp_path}/deep/er/shelf.sqlite") as shelf:
        shelf.add_sheet(SHEET)
    with Shelf.open(str(tmp_path / "deep/er/shelf.sqlite")) as shelf:
        assert shelf.sheet(SHEET.id) == SHEET


def test_a_shelf_that_is_only_looked_at_is_not_made(tmp_path: Path) -> None:
    path = tmp_path / "deep" / "shelf.sqlite"
    with Shelf.open(path) as shelf:
        assert shelf.sheets() == ()
        assert shelf.verify() == ()
        with pytest.raises(OrderError, match="which is empty"):
            shelf.sheet("K7Q-XM3")
        assert not path.parent.exists()
        with Shelf.open(path) as other:  # another run makes it meanwhile
            other.add_sheet(SHEET)
        assert shelf.sheet(SHEET.id) == SHEET


@pytest.fixture
def closed_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a shelf, of which the system says that nothing may be written there."""
    folder = tmp_path / "closed"
    with Shelf.open(folder / "shelf.sqlite") as shelf:
        shelf.add_sheet(SHEET)
    monkeypatch.setattr("inkaccord.shelf.database.os.access", lambda path, _: Path(path) != folder)
    return folder


def test_a_shelf_where_nothing_may_be_written_is_looked_at_and_not_changed(
    closed_folder: Path, tmp_path: Path
) -> None:
    path = closed_folder / "shelf.sqlite"
    before = path.read_bytes()
    with Shelf.open(path) as shelf:
        assert shelf.sheet(SHEET.id) == SHEET
        assert shelf.verify() == ()
        assert [it.name for it in closed_folder.iterdir()] == ["shelf.sqlite"]
        with pytest.raises(FileError, match="can be looked at, not changed") as caught:
            shelf.retire(SHEET.id)
        shelf.copies.back_up(tmp_path / "copy.sqlite")
    assert code_of(caught) == "shelf-read-only"
    assert path.read_bytes() == before
    with Shelf.open(tmp_path / "copy.sqlite") as copy:
        assert copy.sheet(SHEET.id) == SHEET


def test_what_another_is_writing_is_not_read_past_it(closed_folder: Path) -> None:
    path = closed_folder / "shelf.sqlite"
    other = sqlite3.connect(path)
    other.execute("UPDATE sheets SET purpose = 'deck'")
    other.commit()
    assert path.with_name("shelf.sqlite-wal").stat().st_size > 0
    with Shelf.open(path) as shelf, shelf.database.reading() as connection:
        found = connection.exec_driver_sql("SELECT purpose FROM sheets").scalars().all()
    assert found == ["deck"]
    other.close()


def test_an_older_shelf_where_nothing_may_be_written_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    old_shelf(tmp_path / "shelf.sqlite")
    monkeypatch.setattr("inkaccord.shelf.database.os.access", lambda *_: False)
    with pytest.raises(FileError) as caught:
        Shelf.open(tmp_path / "shelf.sqlite")
    assert code_of(caught) == "shelf-read-only"


def test_a_folder_in_the_way_is_said(tmp_path: Path) -> None:
    with pytest.raises(FileError) as caught:
        Shelf.open(tmp_path)
    assert code_of(caught) == "shelf-trouble"


def test_damage_is_found(tmp_path: Path) -> None:
    path = tmp_path / "shelf.sqlite"
    with Shelf.open(path) as shelf:
        shelf.add_sheet(SHEET)
        shelf.record_readings(readings_of(SHEET))
        assert shelf.verify() == ()
        with shelf.database.writing() as connection:
            connection.exec_driver_sql("UPDATE readings SET lab_l = lab_l + 1 WHERE position = 3")
        (finding,) = shelf.verify()
        assert "were changed" in finding.message
        with shelf.database.writing() as connection:
            connection.exec_driver_sql("UPDATE swatches SET v1 = 4000 WHERE position = 3")
        assert "no sheet or reading can" in shelf.verify()[0].message
        with shelf.database.raw() as connection:
            connection.execute("PRAGMA foreign_keys = OFF")
            connection.execute("DELETE FROM sheets")
            connection.execute("PRAGMA foreign_keys = ON")
        assert "missing row of sheets" in shelf.verify()[0].message


# Several processes


def test_runs_at_once_lose_nothing(tmp_path: Path) -> None:
    path = tmp_path / "shelf.sqlite"
    runs = [start_recorder(path, start, 12) for start in (0, 100, 200)]
    for run in runs:
        assert run.end() == 0
        assert run.told == 12
    with Shelf.open(path) as shelf:
        assert shelf.verify() == ()
        assert len(shelf.sheets()) == 7
        found = shelf.readings_of(PAIR)
        assert len(found) == 36
        assert {record.recorded_by for record in found} == {"run 0", "run 100", "run 200"}


@pytest.mark.slow
def test_killed_at_any_moment_the_shelf_stays_sound(tmp_path: Path) -> None:
    path = tmp_path / "shelf.sqlite"
    moments = random.Random(3)
    told = 0
    for attempt in range(6):
        run = start_recorder(path, 1000 * attempt, 1000)
        run.wait_for(2)  # it works now, however slow the machine is
        time.sleep(moments.uniform(0.0, 0.12))
        run.kill()
        told += run.told
        with Shelf.open(path) as shelf:
            assert shelf.verify() == ()
            found = shelf.readings_of(PAIR)
        assert all(len(record.readings.readings) == 24 for record in found)
        # what a run had said was done is there; one more may have been kept unsaid each time
        assert told <= len(found) <= told + attempt + 1
    assert told >= 12


def test_the_copied_files_of_a_killed_run_are_a_sound_shelf(tmp_path: Path) -> None:
    """As after a crash of the machine: file and write-ahead log as they lay there."""
    path = tmp_path / "shelf.sqlite"
    run = start_recorder(path, 0, 1000)
    run.wait_for(3)
    run.kill()
    away = tmp_path / "away"
    away.mkdir()
    for file in tmp_path.glob("shelf.sqlite*"):
        if not file.name.endswith("-shm"):
            shutil.copy(file, away)
    with Shelf.open(away / "shelf.sqlite") as shelf:
        assert shelf.verify() == ()
        assert len(shelf.readings_of(PAIR)) >= 3
