"""``inkaccord controls``: the cheapest way to know whether a pair has drifted."""

import datetime

import pikepdf
import pytest

from inkaccord.colour.builds import Drive
from inkaccord.sheets.model import Purpose
from inkaccord.shelf.store import Shelf
from recording_kit import PAIR, fill_in, printed_lab, readings_of, sheet_of


@pytest.fixture(autouse=True)
def shelf(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("INKACCORD_SHELF", "shelf.sqlite")
    with Shelf.open("shelf.sqlite") as store:
        sheet = sheet_of(60)
        store.add_sheet(sheet)
        store.record_readings(readings_of(sheet, read_on=datetime.date(2026, 3, 14)))


def test_a_check_of_the_controls_goes_from_the_command_to_the_verdict(
    tmp_path, inkaccord, inkaccord_json
):
    code, made = inkaccord_json("controls", str(PAIR), "--size", "a6", "--on", "2026-09-01")
    assert code == 0
    assert (made["swatches"], made["pages"], made["new"]) == (12, 1, True)
    with pikepdf.open(made["files"][0]) as pdf:
        assert [round(float(x)) for x in pdf.pages[0].MediaBox] == [0, 0, 298, 420]
    with Shelf.open("shelf.sqlite") as store:
        assert store.sheet(made["sheet"]).purpose is Purpose.CONTROLS
    table, read = tmp_path / made["files"][1], tmp_path / "read.txt"
    fill_in(table, read, lambda builds: printed_lab(builds, Drive.CMYK, seed=3))
    code, told = inkaccord_json("record", made["sheet"], read)
    assert code == 0
    assert told["drift"]["since_sheet"] == "K7Q-XM3"
    assert not told["drift"]["beyond"]
    # The same day's sheet is the same sheet.
    _, again = inkaccord_json("controls", str(PAIR), "--size", "a6", "--on", "2026-09-01")
    assert (again["sheet"], again["new"]) == (made["sheet"], False)
    _, later = inkaccord_json("controls", str(PAIR), "--size", "a6", "--on", "2026-10-01")
    assert later["sheet"] != made["sheet"]


def test_a_block_comes_alone_and_on_the_sheet_that_it_is_cut_out_of(inkaccord_json):
    code, made = inkaccord_json("controls", str(PAIR), "--size", "13x19", "--on", "2026-09-01")
    assert code == 0
    block, _, laid = made["files"]
    with pikepdf.open(block) as pdf:
        assert [round(float(x)) for x in pdf.pages[0].MediaBox] == [0, 0, 306, 396]
    assert laid.endswith("-to-cut-out.pdf")
    with pikepdf.open(laid) as pdf:
        assert [round(float(x)) for x in pdf.pages[0].MediaBox] == [0, 0, 936, 1368]


def test_a_pair_that_nobody_knows_is_warned_of_and_a_known_one_is_not(inkaccord_json):
    _, made = inkaccord_json("controls", "lasr@kraft", "--size", "a6")
    (said,) = [it for it in made["findings"] if it["code"] == "unknown-pair"]
    assert "the shelf does not know lasr@kraft" in said["message"]
    assert f"did you mean '{PAIR}'?" in said["hint"]
    _, made = inkaccord_json("controls", str(PAIR), "--size", "a6")
    assert "unknown-pair" not in {it["code"] for it in made["findings"]}


def test_an_rgb_pair_that_is_not_read_yet_says_so(inkaccord):
    code, out, _ = inkaccord("controls", "inkjet@kraft", "--drive", "rgb")
    assert code == 0
    assert "nothing to compare it with so far" in out
    assert inkaccord("controls", str(PAIR), "--drive", "rgb")[0] == 2


def test_a_page_that_cannot_hold_the_controls_is_refused(inkaccord):
    code, _, err = inkaccord("controls", str(PAIR), "--size", "2x2in")
    assert code == 2
    assert "has no room" in err


@pytest.mark.parametrize(("given", "narrowest_mm"), [((), 11), (("--aperture", "1.6 cm"), 19)])
def test_swatches_are_as_large_as_the_instrument_asks(inkaccord_json, given, narrowest_mm):
    _, made = inkaccord_json("controls", str(PAIR), "--size", "a6", *given)
    with Shelf.open("shelf.sqlite") as store:
        boxes = [swatch.box_pt for swatch in store.sheet(made["sheet"]).swatches]
    sides = [side for left, low, right, top in boxes for side in (right - left, top - low)]
    assert min(sides) * 25.4 / 72 == pytest.approx(narrowest_mm, abs=0.05)


def test_an_aperture_that_no_instrument_has_is_refused(inkaccord):
    code, _, err = inkaccord("controls", str(PAIR), "--aperture", "30mm")
    assert code == 2
    assert "an aperture of 30mm does not fit" in err
