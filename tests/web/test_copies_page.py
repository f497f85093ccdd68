"""Copies of the shelf on the page: saved, put in its place, taken back; and its damage found."""

import datetime
import io
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from inkaccord.shelf.store import Shelf
from recording_kit import sheet_of
from run_kit import inkaccord
from web_kit import OpenPage, open_on_three_pairs, upload, value_on

pytestmark = pytest.mark.slow  # a page and commands beside it, for each


@pytest.fixture
def opened(tmp_path: Path) -> Iterator[OpenPage]:
    """A folder with an order whose shelf knows three pairs."""
    (tmp_path / "studio").mkdir()
    yield from open_on_three_pairs(tmp_path / "studio")


def sheets(opened: OpenPage) -> set[str]:
    with Shelf.open(opened.folder / "tags" / "shelf.sqlite") as shelf:
        return {it.sheet.id for it in shelf.sheets()}


def test_a_copy_is_put_in_the_place_of_the_shelf_and_taken_back(opened: OpenPage) -> None:
    at = f"{opened.order}/copies"
    assert "Yes, put it in its place" in opened.get(at).text
    copy = opened.get(f"{at}/shelf.sqlite")
    assert copy.headers["content-disposition"].startswith("attachment")
    before = sheets(opened)
    with Shelf.open(opened.folder / "tags" / "shelf.sqlite") as shelf:
        shelf.add_sheet(sheet_of(20, name="N3W-N3W"))
    assert upload(opened, at, b"no shelf").status == 409
    assert upload(opened, at).status == 409
    assert sheets(opened) == before | {"N3W-N3W"}
    put = upload(opened, at, copy.data)
    assert put.status == 303, put.text
    assert sheets(opened) == before
    there = opened.get(put.headers["location"]).text
    assert "What was there is kept as" in there
    assert opened.post("/undo", {"word": value_on(there, "word")}).status == 303
    assert sheets(opened) == before | {"N3W-N3W"}


def test_the_text_is_that_of_the_command_and_damage_is_said(
    opened: OpenPage, tmp_path: Path
) -> None:
    order = opened.folder / "tags"
    assert inkaccord("shelf", "export", tmp_path / "shelf", "--order", order)[0] == 0
    written = {
        it.relative_to(tmp_path).as_posix(): it.read_bytes()
        for it in (tmp_path / "shelf").rglob("*")
        if it.is_file()
    }
    with zipfile.ZipFile(io.BytesIO(opened.get(f"{opened.order}/copies/shelf.zip").data)) as it:
        assert {name: it.read(name) for name in it.namelist()} == written
    assert len(written) > 3
    assert "The shelf is sound." in opened.get(f"{opened.order}/copies?do=verify").text
    with Shelf.open(order / "shelf.sqlite") as shelf, shelf.database.raw() as raw:
        raw.execute("UPDATE readings SET lab_l = lab_l + 1")
        raw.commit()
    damaged = opened.get(f"{opened.order}/copies?do=verify").text
    assert "The shelf is sound." not in damaged
    assert 'class="error"' in damaged


def test_a_sheet_shows_its_builds_and_what_was_read(opened: OpenPage) -> None:
    shown = opened.get(f"{opened.order}/shelf/K7Q-XM3").text
    with Shelf.open(opened.folder / "tags" / "shelf.sqlite") as shelf:
        swatch = shelf.sheet("K7Q-XM3").swatches[20]
        (record,) = shelf.readings_of_sheet("K7Q-XM3")
    lab = next(it.lab for it in record.readings.readings if it.swatch == swatch.id)
    told = ", ".join(f"{it:.1f}" for it in lab).replace("-", "−")
    row = shown.partition(f'<th scope="row">{swatch.id}</th>')[2].partition("</tr>")[0]
    assert f">{swatch.build}<" in row
    assert f">{told}<" in row


def test_who_read_a_target_is_kept(opened: OpenPage) -> None:
    rows = "".join(f"{at},{at * 9},0,0,0,{90 - at * 4},0,0\n" for at in range(10))
    table = f"SAMPLE_ID,CMYK_C,CMYK_M,CMYK_Y,CMYK_K,light,LAB_A,LAB_B\n{rows}".encode()
    at = f"{opened.order}/target"
    said = {"pair": "press@card", "by": "Ida", "ink_limit": "260"}
    refused = upload(opened, at, table, **said)
    assert refused.status == 409
    assert value_on(refused.text, "by") == "Ida"
    done = upload(opened, at, table, columns="L=light", **said)
    assert done.status == 303, done.text
    sheet = done.headers["location"].partition("/shelf/")[2].partition("?")[0]
    with Shelf.open(opened.folder / "tags" / "shelf.sqlite") as shelf:
        (record,) = shelf.readings_of_sheet(sheet)
    assert (len(record.readings.readings), record.recorded_by) == (10, "Ida")
    assert record.readings.read_on is None, "a day that nobody told is not made up"
    told = upload(opened, at, table, columns="L=light", **said | {"on": "2026-05-01"})
    sheet = told.headers["location"].partition("/shelf/")[2].partition("?")[0]
    with Shelf.open(opened.folder / "tags" / "shelf.sqlite") as shelf:
        days = {it.readings.read_on for it in shelf.readings_of_sheet(sheet)}
    assert datetime.date(2026, 5, 1) in days
    beyond = upload(opened, at, table, **said | {"ink_limit": "9000"})
    assert "is a number from 100 to 400" in beyond.text
