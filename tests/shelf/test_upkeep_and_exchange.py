"""Backing up and restoring; the shelf as a folder of text."""

import datetime
import json
import sqlite3
from pathlib import Path

import pytest

from inkaccord.colour.builds import Build
from inkaccord.colour.direction import Direction
from inkaccord.errors import FileError, InkaccordError, OrderError
from inkaccord.sheets.model import Pick, Purpose, SampleSheet
from inkaccord.shelf.store import Shelf
from recording_kit import DATE, PAIR, readings_of, sheet_of

SHEET = sheet_of()
THIRDS = sheet_of(20, name="B2B-B2B")
THIRDS = THIRDS.model_copy(
    update={
        "swatches": tuple(
            s.model_copy(update={"build": Build.cmyk(*(v / 3 for v in s.build.values))})
            for s in THIRDS.swatches
        )
    }
)


def filled(path: Path) -> Shelf:
    shelf = Shelf.open(path, by="Ida")
    for sheet in (SHEET, THIRDS):
        shelf.add_sheet(sheet)
    spectral = readings_of(SHEET, conditions={"mode": "M1"}, device="spectro 12", read_on=DATE)
    shelf.record_readings(
        spectral.model_copy(
            update={
                "wavelengths_nm": (400.0, 500.0, 600.0),
                "readings": tuple(
                    r.model_copy(update={"spectrum": (0.1, 1 / 3, 2 / 7)})
                    for r in spectral.readings
                ),
            }
        ),
        source="k7q.txt",
        source_sha256="ab" * 32,
    )
    shelf.record_readings(readings_of(THIRDS, seed=1))
    shelf.record_picks(
        [
            Pick(
                sheet=SHEET.id, colour="kelp", swatch="B7", between="B8", by="Ida", light="window"
            ),
            Pick(
                sheet=SHEET.id, colour="slate", swatch="X2", nudge=Direction.DARKER, picked_on=DATE
            ),
            Pick(sheet=SHEET.id, colour="slate", swatch=None, nudge=Direction.BLUER, turn=2),
            Pick(sheet=SHEET.id, colour="kelp", swatch="B7", then="B8", among=("B7", "B8")),
            Pick(sheet=SHEET.id, colour="kelp", swatch="B8", build=(1 / 3, 0, 20, 7), error=0.9),
        ]
    )
    shelf.serve("members-evening", {PAIR: ["kelp", "slate"]})
    return shelf


def everything(shelf: Shelf) -> tuple[object, ...]:
    records = [
        record
        for kept in shelf.sheets(retired=True)
        for record in shelf.readings_of_sheet(kept.sheet.id, retired=True)
    ]
    return shelf.sheets(retired=True), records, shelf.picks_of(PAIR), shelf.served()


# Backups


@pytest.mark.about_its_file
def test_a_backup_is_restored_whole(tmp_path: Path) -> None:
    with filled(tmp_path / "shelf.sqlite") as shelf:
        before = everything(shelf)
        shelf.copies.back_up(tmp_path / "copies" / "monday.sqlite")
        shelf.retire(SHEET.id, "by mistake")
        assert everything(shelf) != before
        kept = shelf.copies.restore(tmp_path / "copies" / "monday.sqlite")
        assert everything(shelf) == before
        assert shelf.verify() == ()
    assert kept is not None
    with Shelf.open(kept) as shelf:
        assert shelf.kept_sheet(SHEET.id).retired_why == "by mistake"
    assert [p.name for p in (tmp_path / "copies").iterdir()] == ["monday.sqlite"]


@pytest.mark.about_its_file
def test_a_backup_taken_while_others_read_is_complete(tmp_path: Path) -> None:
    with filled(tmp_path / "shelf.sqlite") as shelf, shelf.database.reading():
        shelf.copies.back_up(tmp_path / "copy.sqlite")
    with Shelf.open(tmp_path / "shelf.sqlite") as one, Shelf.open(tmp_path / "copy.sqlite") as two:
        assert everything(one) == everything(two)


@pytest.mark.about_its_file
def test_restoring_to_a_new_shelf_needs_no_copy(tmp_path: Path) -> None:
    with filled(tmp_path / "shelf.sqlite") as shelf:
        shelf.copies.back_up(tmp_path / "copy.sqlite")
        before = everything(shelf)
    with Shelf.open(tmp_path / "new.sqlite") as shelf:
        assert shelf.copies.restore(tmp_path / "copy.sqlite") is None
        assert everything(shelf) == before


def make_letter(path: Path) -> None:
    path.write_text("hello")


def make_empty(path: Path) -> None:
    path.write_bytes(b"")


def make_newer(path: Path) -> None:
    with filled(path) as shelf, shelf.database.writing() as connection:
        connection.exec_driver_sql("UPDATE shelf_version SET version_num = '99'")


def make_changed(path: Path) -> None:
    with filled(path) as shelf, shelf.database.writing() as connection:
        connection.exec_driver_sql("UPDATE readings SET lab_a = 0")


def make_torn(path: Path) -> None:
    with filled(path):
        pass
    data = bytearray(path.read_bytes())
    data[8192:20480] = b"\xff" * 12288
    path.write_bytes(data)


@pytest.mark.about_its_file
@pytest.mark.parametrize("make", [make_letter, make_empty, make_newer, make_changed, make_torn])
def test_an_unsound_backup_changes_nothing(tmp_path: Path, make: object) -> None:
    assert callable(make)
    backup = tmp_path / "backup.sqlite"
    make(backup)
    before_bytes = backup.read_bytes()
    with filled(tmp_path / "shelf.sqlite") as shelf:
        before = everything(shelf)
        with pytest.raises(FileError) as caught:
            shelf.copies.restore(backup)
        assert all(f.place.file == str(backup) for f in caught.value.findings)
        assert everything(shelf) == before
    assert backup.read_bytes() == before_bytes


@pytest.mark.about_its_file
def test_a_backup_onto_the_shelf_itself_is_refused(tmp_path: Path) -> None:
    with filled(tmp_path / "shelf.sqlite") as shelf, pytest.raises(OrderError):
        shelf.copies.back_up(shelf.place)


@pytest.mark.about_its_file
def test_a_missing_backup_is_said(tmp_path: Path) -> None:
    with filled(tmp_path / "shelf.sqlite") as shelf, pytest.raises(FileError, match=r"no\.sqlite"):
        shelf.copies.restore(tmp_path / "no.sqlite")


# Exchange


def test_an_export_taken_in_elsewhere_is_the_same_shelf(tmp_path: Path) -> None:
    with filled(tmp_path / "one.sqlite") as one, Shelf.open(tmp_path / "two.sqlite") as two:
        (record, *_) = one.readings_of(PAIR)
        one.retire_readings(record.sheet.id, record.digest, "wet")
        one.retire(THIRDS.id, "old toner")
        one.copies.export(tmp_path / "folder")
        new = two.copies.take_in(tmp_path / "folder")
        assert tuple(map(len, (new.sheets, new.readings, new.picks))) == (2, 2, 5)
        assert everything(two) == everything(one)
        again = two.copies.take_in(tmp_path / "folder")
        assert not again
        assert everything(two) == everything(one)
        assert one.state_of([PAIR]) == two.state_of([PAIR])


def test_a_zero_with_a_sign_is_no_damage(tmp_path: Path) -> None:
    """An instrument wrote -0.00, SQLite 0.0: the shelf passed for damaged, and its export too."""
    read = readings_of(SHEET)
    first, *others = read.readings
    grey = first.model_copy(update={"lab": (first.lab[0], -0.0, first.lab[2])})
    signed = read.model_copy(update={"readings": (grey, *others)})
    with Shelf.open(tmp_path / "one.sqlite") as one, Shelf.open(tmp_path / "two.sqlite") as two:
        one.add_sheet(SHEET)
        assert one.record_readings(signed)
        assert one.verify() == ()
        one.copies.export(tmp_path / "folder")
        assert len(two.copies.take_in(tmp_path / "folder").readings) == 1
        assert two.verify() == ()


def test_an_unchanged_shelf_exports_the_same_bytes(tmp_path: Path) -> None:
    with filled(tmp_path / "one.sqlite") as shelf:
        first = {path: path.read_bytes() for path in shelf.copies.export(tmp_path / "folder")}
        times = {path: path.stat().st_mtime_ns for path in first}
        again = shelf.copies.export(tmp_path / "folder")
    assert {path: path.read_bytes() for path in again} == first
    assert {path: path.stat().st_mtime_ns for path in again} == times
    assert {path.suffix for path in again} == {".txt", ".json"}


def test_what_was_done_in_another_time_zone_is_kept_in_utc(tmp_path: Path) -> None:
    with filled(tmp_path / "one.sqlite") as one, Shelf.open(tmp_path / "two.sqlite") as two:
        added = one.kept_sheet(SHEET.id).added_at
        one.copies.export(tmp_path / "folder")
        path = tmp_path / "folder" / SHEET.id / "sheet.json"
        content = json.loads(path.read_text())
        there = added.astimezone(datetime.timezone(datetime.timedelta(hours=-9)))
        path.write_text(json.dumps(content | {"added_at": there.isoformat()}))
        two.copies.take_in(tmp_path / "folder")
        with two.database.reading() as connection:
            kept = connection.exec_driver_sql("SELECT added_at FROM sheets").scalars().all()
        assert added.isoformat() in kept
        assert all(it.endswith("+00:00") for it in kept)
        path.write_text(json.dumps(content | {"added_at": "2026-03-14T09:00:00"}))
        with pytest.raises(FileError, match="timezone"):
            two.copies.take_in(tmp_path / "folder")


def test_two_shelves_merge(tmp_path: Path) -> None:
    with filled(tmp_path / "one.sqlite") as one, Shelf.open(tmp_path / "two.sqlite") as two:
        one.copies.export(tmp_path / "folder")
        third = sheet_of(30, name="D4D-D4D")
        two.add_sheet(third)
        two.record_readings(readings_of(third))
        two.copies.take_in(tmp_path / "folder")
        assert {kept.sheet.id for kept in two.sheets()} == {SHEET.id, THIRDS.id, third.id}
        assert len(two.readings_of(PAIR)) == 3


def test_an_export_of_an_early_shelf_is_taken_in_with_its_swatch_set(tmp_path: Path) -> None:
    with Shelf.open(tmp_path / "now.sqlite") as shelf:
        new = shelf.copies.take_in(Path(__file__).parent / "exported_early")
        assert tuple(map(len, (new.sheets, new.readings))) == (1, 1)
        (kept,) = shelf.sheets()
    assert kept.sheet.purpose is Purpose.SWATCH_SET
    assert (kept.sheet.id, len(kept.sheet.swatches)) == ("LGT-XYQ", 18)


def test_a_field_that_is_no_such_thing_is_named(tmp_path: Path) -> None:
    with filled(tmp_path / "one.sqlite") as one:
        one.copies.export(tmp_path / "folder")
    change_a_field(tmp_path / "folder")
    with Shelf.open(tmp_path / "two.sqlite") as two, pytest.raises(FileError) as caught:
        two.copies.take_in(tmp_path / "folder")
    (said,) = caught.value.findings
    assert "sheet.colour" in said.message
    assert "http" not in said.message


def edit_a_reading(folder: Path) -> None:
    path = next((folder / SHEET.id).glob("readings-*.txt"))
    lines = path.read_text().splitlines(keepends=True)
    at = lines.index("BEGIN_DATA\n") + 1
    lines[at] = lines[at].replace("0.1 ", "0.2 ")
    path.write_text("".join(lines))


def lose_a_table(folder: Path) -> None:
    next((folder / SHEET.id).glob("readings-*.txt")).unlink()


def break_the_json(folder: Path) -> None:
    (folder / SHEET.id / "sheet.json").write_text("{")


def change_a_field(folder: Path) -> None:
    path = folder / SHEET.id / "sheet.json"
    content = json.loads(path.read_text())
    content["sheet"]["colour"] = 3
    path.write_text(json.dumps(content))


def newer_format(folder: Path) -> None:
    (folder / "shelf.json").write_text('{"format": 2}')


def no_head(folder: Path) -> None:
    (folder / "shelf.json").unlink()


def another_sheet(folder: Path) -> None:
    path = folder / SHEET.id / "sheet.json"
    content = json.loads(path.read_text())
    content["sheet"]["swatches"][3]["build"]["values"][0] = 1
    path.write_text(json.dumps(content))


@pytest.mark.parametrize(
    "spoil",
    [
        edit_a_reading,
        lose_a_table,
        break_the_json,
        change_a_field,
        newer_format,
        no_head,
        another_sheet,
    ],
)
def test_a_spoilt_folder_is_refused_whole(tmp_path: Path, spoil: object) -> None:
    assert callable(spoil)
    folder = tmp_path / "folder"
    with filled(tmp_path / "one.sqlite") as one:
        one.copies.export(folder)
    spoil(folder)
    with Shelf.open(tmp_path / "two.sqlite") as two:
        two.add_sheet(SHEET)
        before = everything(two)
        with pytest.raises(InkaccordError):
            two.copies.take_in(folder)
        assert everything(two) == before


def test_clashing_conditions_are_refused_whole(tmp_path: Path) -> None:
    with filled(tmp_path / "one.sqlite") as one, Shelf.open(tmp_path / "two.sqlite") as two:
        one.copies.export(tmp_path / "folder")
        other: SampleSheet = sheet_of(30, name="D4D-D4D")
        two.add_sheet(other)
        two.record_readings(readings_of(other, conditions={"mode": "M0"}))
        with pytest.raises(OrderError, match="M0 beside M1"):
            two.copies.take_in(tmp_path / "folder")
        assert len(two.sheets()) == 1


@pytest.mark.about_its_file
def test_a_backup_is_one_file_that_any_sqlite_opens(tmp_path: Path) -> None:
    with filled(tmp_path / "shelf.sqlite") as shelf:
        shelf.copies.back_up(tmp_path / "copy.sqlite")
    connection = sqlite3.connect(tmp_path / "copy.sqlite")
    assert connection.execute("PRAGMA journal_mode").fetchone() == ("delete",)
    assert connection.execute("SELECT count(*) FROM sheets").fetchone() == (2,)
    connection.close()
