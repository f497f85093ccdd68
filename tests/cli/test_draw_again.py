"""``inkaccord shelf draw``: a sheet's file once more, whatever became of the first."""

import datetime
import io

import pikepdf
import pytest

from inkaccord.colour.builds import Build, Drive
from inkaccord.sheets.model import Purpose, SampleSheet
from inkaccord.sheets.planning.placing import SwatchGroup
from inkaccord.sheets.planning.plan import plan_sheet
from inkaccord.sheets.settings import SheetFormat
from inkaccord.shelf.store import Shelf
from inkaccord.sizes import Size
from pdf_words import words_of
from recording_kit import PAIR


@pytest.fixture(autouse=True)
def sheet(tmp_path, monkeypatch) -> SampleSheet:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("INKACCORD_SHELF", "shelf.sqlite")
    planned = plan_sheet(
        PAIR,
        Purpose.CLOSING_IN,
        [SwatchGroup(colour="slate", builds=(Build.cmyk(30, 20, 20, 5),) * 2, for_eye=True)],
        SheetFormat(size=Size.parse("a6")),
        drive=Drive.CMYK,
        date=datetime.date(2026, 5, 14),
    )
    assert planned is not None
    with Shelf.open("shelf.sqlite") as store:
        store.add_sheet(planned)
    return planned


def test_its_swatches_are_the_ones_that_it_had(sheet, tmp_path, inkaccord_json) -> None:
    code, said = inkaccord_json("shelf", "draw", sheet.id.lower(), "--out", "again")
    assert (code, said["sheet"]) == (0, sheet.id)
    alone, table, laid = (tmp_path / name for name in said["files"])
    assert table.read_text("utf-8").startswith("CGATS")
    assert f"{sheet.id}" in words_of(alone.read_bytes())
    with pikepdf.open(io.BytesIO(alone.read_bytes())) as pdf:
        operators = pikepdf.parse_content_stream(pdf.pages[0])
        filled = {tuple(map(float, it.operands)) for it in operators if str(it.operator) == "k"}
    assert (0.3, 0.2, 0.2, 0.05) in filled
    with pikepdf.open(laid) as pdf:  # a small one is cut out of what a device usually takes
        assert [round(float(it)) for it in pdf.pages[0].trimbox[2:]] == [595, 842]


def test_the_screen_says_how_to_print_it(sheet, inkaccord) -> None:
    code, out, _ = inkaccord("shelf", "draw", sheet.id)
    assert code == 0
    assert "100 %, without colour conversion" in out


def test_a_sheet_that_no_shelf_knows_is_refused(tmp_path, inkaccord) -> None:
    assert inkaccord("shelf", "draw", "ZZZ-ZZZ")[0] == 2
    assert not (tmp_path / "sheets").exists()
