"""``inkaccord mask``: a grey card to look through, for one sheet's swatches."""

import datetime

import numpy as np
import pytest

from inkaccord.colour.builds import Build, Drive
from inkaccord.sheets.model import Purpose
from inkaccord.sheets.planning.placing import SwatchGroup
from inkaccord.sheets.planning.plan import plan_sheet
from inkaccord.sheets.settings import SheetFormat
from inkaccord.shelf.store import Shelf
from inkaccord.sizes import Size
from pdf_words import words_of
from recording_kit import PAIR, printed_lab, readings_of, sheet_of


@pytest.fixture(autouse=True)
def sheet(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("INKACCORD_SHELF", "shelf.sqlite")
    planned = plan_sheet(
        PAIR,
        Purpose.CLOSING_IN,
        [SwatchGroup(colour="slate", builds=(Build.cmyk(30, 20, 20, 5),) * 2, for_eye=True)],
        SheetFormat(size=Size.parse("a5")),
        drive=Drive.CMYK,
        date=datetime.date(2026, 5, 14),
    )
    with Shelf.open("shelf.sqlite") as store:
        read = sheet_of(60)
        store.add_sheet(read)
        store.record_readings(readings_of(read, read_on=datetime.date(2026, 3, 14)))
        store.add_sheet(planned)
    return planned


def test_its_grey_is_near_neutral_on_the_pair_that_prints_it(sheet, inkaccord_json):
    code, made = inkaccord_json("mask", sheet.id)
    assert code == 0
    (lab,) = printed_lab(np.array([made["build"]]), Drive.CMYK)
    assert lab == pytest.approx([50, 0, 0], abs=3.0)


def test_it_says_where_it_is_and_how_to_cut(sheet, tmp_path, inkaccord):
    code, out, _ = inkaccord("mask", sheet.id.lower(), "--size", "a5", "--out", "masks")
    assert code == 0
    assert "away from yourself" in out
    pdf = tmp_path / "masks" / f"mask-{sheet.id}.pdf"
    assert f"Mask for sheet {sheet.id}" in words_of(pdf.read_bytes())


def test_a_sheet_that_no_shelf_knows_is_refused(inkaccord):
    assert inkaccord("mask", "ZZZ-ZZZ")[0] == 2
