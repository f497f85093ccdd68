"""Restoring beside others: every old shelf is kept, a lock is told as one, nothing gets lost."""

import contextlib
import datetime
import sqlite3

import pytest

from inkaccord.errors import FileError
from inkaccord.shelf import upkeep
from inkaccord.shelf.database import Database
from inkaccord.shelf.schema import SCHEMA_VERSION
from inkaccord.shelf.store import Shelf
from recording_kit import sheet_of
from shelf_kit import old_shelf

MOMENT = datetime.datetime(2026, 11, 28, 9, 15, tzinfo=datetime.UTC)
ONE, OTHER, LATE = (sheet_of(name=name) for name in ("AAA-111", "BBB-222", "CCC-333"))


@pytest.fixture
def shelf(tmp_path):
    """A shelf with two sheets, and a backup of it from when it had one."""
    with Shelf.open(tmp_path / "shelf.sqlite", clock=lambda: MOMENT) as opened:
        opened.add_sheet(ONE)
        opened.copies.back_up(tmp_path / "monday.sqlite")
        opened.add_sheet(OTHER)
        yield opened


def ids_in(path):
    with Shelf.open(path) as kept:
        return {it.sheet.id for it in kept.sheets()}


def test_every_restore_keeps_what_was_there(shelf, tmp_path):
    first = shelf.copies.restore(tmp_path / "monday.sqlite")
    shelf.add_sheet(LATE)
    second = shelf.copies.restore(tmp_path / "monday.sqlite")
    assert first.name == "shelf.sqlite.before-restore-20261128-091500"
    assert second.name == "shelf.sqlite.before-restore-20261128-091500-2"
    assert ids_in(first) == {ONE.id, OTHER.id}
    assert ids_in(second) == {ONE.id, LATE.id}


@pytest.fixture
def impatient(monkeypatch):
    """Let a restore wait for a moment only."""
    monkeypatch.setattr(upkeep, "_LOOK_MS", 10)


def test_a_restore_says_that_it_waits_and_then_that_another_writes(shelf, tmp_path, impatient):
    shelf.database.wait_s = 0.05
    said = []
    with (
        Shelf.open(shelf.place) as other,
        other.database.writing(),
        pytest.raises(FileError) as caught,
    ):
        shelf.copies.restore(tmp_path / "monday.sqlite", waiting=lambda: said.append("waiting"))
    assert said == ["waiting"]
    (finding,) = caught.value.findings
    assert finding.code == "shelf-busy"
    assert "another run is writing" in finding.message
    assert "disk space" not in str(finding)
    assert ids_in(shelf.place) == {ONE.id, OTHER.id}
    after = {path.name for path in tmp_path.iterdir()}
    assert after - {"shelf.sqlite-wal", "shelf.sqlite-shm"} == {"shelf.sqlite", "monday.sqlite"}


def test_a_restore_goes_on_when_the_other_has_ended(shelf, tmp_path, impatient):
    with Shelf.open(shelf.place) as other:
        writing = other.database.writing()
        writing.__enter__()
        shelf.copies.restore(
            tmp_path / "monday.sqlite", waiting=lambda: writing.__exit__(None, None, None)
        )
    assert ids_in(shelf.place) == {ONE.id}


def test_what_comes_between_copy_and_restore_is_in_the_copy(shelf, tmp_path, monkeypatch):
    copy_to = Database.copy_to
    late = [LATE]

    def and_then_another_writes(database, path):
        copy_to(database, path)
        if late:
            with Shelf.open(shelf.place) as other:
                other.add_sheet(late.pop())

    monkeypatch.setattr(Database, "copy_to", and_then_another_writes)
    kept = shelf.copies.restore(tmp_path / "monday.sqlite")
    assert ids_in(kept) == {ONE.id, OTHER.id, LATE.id}
    assert ids_in(shelf.place) == {ONE.id}


def test_a_damaged_shelf_is_kept_too(shelf, tmp_path):
    with shelf.database.writing() as connection:
        connection.exec_driver_sql("UPDATE sheets SET layout = 'no json'")
    kept = shelf.copies.restore(tmp_path / "monday.sqlite")
    with contextlib.closing(sqlite3.connect(kept)) as copy:
        assert copy.execute("SELECT DISTINCT layout FROM sheets").fetchall() == [("no json",)]
    assert ids_in(shelf.place) == {ONE.id}


def test_a_lock_is_told_as_one(shelf):
    with Shelf.open(shelf.place) as other, other.database.writing():
        hasty = Database(shelf.place, wait_s=0.01)
        with pytest.raises(FileError) as caught, hasty.writing():
            pass
        hasty.close()
    assert caught.value.findings[0].code == "shelf-busy"
    assert "waited 0.01 s" in str(caught.value)


def test_the_copy_before_a_migration_is_whole_or_not_there(tmp_path, monkeypatch):
    path = tmp_path / "shelf.sqlite"
    old_shelf(path)

    def full(*_args, **_keywords):
        raise sqlite3.OperationalError("database or disk is full")

    monkeypatch.setattr("inkaccord.shelf.database.sqlite3.connect", full, raising=True)
    with contextlib.closing(Database(path)) as database, pytest.raises(FileError):
        database.copy_to(tmp_path / "copy")
    monkeypatch.undo()
    assert [it.name for it in tmp_path.iterdir() if "copy" in it.name] == []


def test_migrating_again_keeps_the_earlier_copy(tmp_path):
    path = tmp_path / "shelf.sqlite"
    for _ in range(2):
        path.unlink(missing_ok=True)
        old_shelf(path)
        with Shelf.open(path):
            pass
    name = f"shelf.sqlite.before-version-{SCHEMA_VERSION}"
    assert {name, f"{name}-2"} <= {it.name for it in tmp_path.iterdir()}
