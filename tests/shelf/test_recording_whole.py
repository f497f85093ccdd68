"""Recording is all or nothing, whatever happens to the file or the disk."""

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from examples_kit import few
from inkaccord.errors import FileError, OrderError
from inkaccord.recording.target import take_in_target
from inkaccord.sheets.reading.cgats_written import write_cgats
from inkaccord.sheets.reading.sheet import match_readings
from inkaccord.sheets.reading.tables import read_tables
from inkaccord.shelf.store import Shelf
from recording_kit import PAIR, readings_of, sheet_of

SHEET = sheet_of(24)
LINES = write_cgats(SHEET, readings_of(SHEET)).splitlines()


def damaged(line: int, change: str, at: int, letter: str) -> bytes:
    """Return the sheet's file with one line of it spoiled."""
    lines = list(LINES)
    if change == "drop":
        del lines[line]
    elif change == "double":
        lines.insert(line, lines[line])
    elif change == "swap":
        lines[line], lines[line - 1] = lines[line - 1], lines[line]
    elif change == "cut":
        lines = [*lines[:line], lines[line][:at]]
    elif change == "garble":
        lines[line] = lines[line][:at] + letter + lines[line][at + 1 :]
    else:
        lines[line] = lines[line].replace(".", ",")
    return "\n".join(lines).encode()


DAMAGE = {
    "line": st.integers(0, len(LINES) - 1),
    "change": st.sampled_from(["drop", "double", "swap", "cut", "garble", "comma"]),
    "at": st.integers(0, 60),
    "letter": st.characters(min_codepoint=32, max_codepoint=126),
}


@given(**DAMAGE)
@settings(few(20), suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_a_damaged_file_is_kept_whole_or_not_at_all(
    tmp_path: Path, line: int, change: str, at: int, letter: str
) -> None:
    data = damaged(line, change, at, letter)
    path = tmp_path / "shelf.sqlite"
    for old in tmp_path.glob("shelf.sqlite*"):
        old.unlink()
    with Shelf.open(path) as shelf:
        shelf.add_sheet(SHEET)
        before = shelf.state_of([PAIR])
        try:
            shelf.record_readings(match_readings(SHEET, read_tables(data)).readings)
        except OrderError:
            assert shelf.state_of([PAIR]) == before
            assert shelf.readings_of_sheet(SHEET.id, retired=True) == ()
        else:
            (kept,) = shelf.readings_of(PAIR)
            assert [r.swatch for r in kept.readings.readings] == [s.id for s in SHEET.swatches]


@given(**DAMAGE)
@settings(few(20), suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_a_damaged_target_of_others_is_kept_whole_or_not_at_all(
    tmp_path: Path, line: int, change: str, at: int, letter: str
) -> None:
    data = (
        damaged(line, change, at, letter)
        .replace(b'ORIGINATOR "inkaccord"', b"")
        .replace(b"SHEET_ID", b"OTHER_ID")
    )
    for old in tmp_path.glob("shelf.sqlite*"):
        old.unlink()
    file = tmp_path / "target.txt"
    file.write_bytes(data)
    with Shelf.open(tmp_path / "shelf.sqlite") as shelf:
        try:
            take_in_target(shelf, PAIR, [file], today=SHEET.date)
        except OrderError:
            assert (shelf.sheets(), shelf.readings_of(PAIR)) == ((), ())
        else:
            (kept,), (read,) = shelf.sheets(), shelf.readings_of(PAIR)
            ids = [swatch.id for swatch in kept.sheet.swatches]
            assert ids == [one.swatch for one in read.readings.readings]
            assert len(ids) >= len(SHEET.swatches) - 1


def test_a_full_disk_leaves_the_shelf_as_it_was(tmp_path: Path) -> None:
    kept = 0
    with Shelf.open(tmp_path / "shelf.sqlite") as shelf:
        shelf.add_sheet(SHEET)
        with shelf.database.raw() as connection:
            (pages,) = connection.execute("PRAGMA page_count").fetchone()
            connection.execute(f"PRAGMA max_page_count = {pages + 3}")
        before = shelf.state_of([PAIR])
        with pytest.raises(FileError, match="disk is full") as caught:
            while kept < 100:
                shelf.record_readings(readings_of(SHEET, seed=kept))
                kept, before = kept + 1, shelf.state_of([PAIR])
        assert caught.value.findings[0].place.file == str(shelf.place)
        assert shelf.state_of([PAIR]) == before
    with Shelf.open(tmp_path / "shelf.sqlite") as shelf:
        assert shelf.verify() == ()
        assert len(shelf.readings_of(PAIR)) == kept
        assert shelf.record_readings(readings_of(SHEET, seed=kept))
