"""Things on the glass with a sheet, taken in as picks."""

import pytest
from PIL import Image

from glass_kit import Laid, glass, sheet_with_berths
from inkaccord.errors import OrderError
from inkaccord.recording.sheet import take_in_sheet
from recording_kit import DATE

SHEET = sheet_with_berths()
THINGS = {"butter": Laid((82.0, 4.0, 48.0)), "slate": Laid((47.0, 2.0, -9.0))}


@pytest.fixture(scope="module")
def scan(tmp_path_factory):
    path = tmp_path_factory.mktemp("glass") / "glass.png"
    Image.fromarray(glass(SHEET, THINGS).pixels).save(path)
    return path


@pytest.fixture
def waiting(shelf):
    shelf.add_sheet(SHEET)
    return shelf


def test_each_thing_becomes_a_pick_with_its_build(waiting, scan):
    taken = take_in_sheet(
        waiting, SHEET.id, [scan], things=["butter", "slate"], today=DATE, by="Ida"
    )
    assert (taken.new_picks, taken.readings) == (2, 0)
    assert [one.colour for one in taken.things] == ["butter", "slate"]
    kept = sorted((it.pick for it in waiting.picks_of(SHEET.pair)), key=lambda it: it.colour)
    assert [it.colour for it in kept] == ["butter", "slate"]
    for pick, one in zip(kept, taken.things, strict=True):
        assert pick.build == one.build.values
        assert pick.error == pytest.approx(one.likeness.error, abs=0.006)
        assert (pick.swatch, pick.by, pick.picked_on) == (one.swatches[0], "Ida", DATE)
        assert pick.light == "a scanner's lamp"
    again = take_in_sheet(waiting, SHEET.id, [scan], things=["butter"], today=DATE, by="Ida")
    assert again.new_picks == 0


def test_fields_come_back_from_the_shelf_where_they_were_drawn(waiting):
    assert waiting.sheet(SHEET.id).berths == SHEET.berths


def test_what_is_no_scan_is_refused(waiting, tmp_path):
    table = tmp_path / "read.csv"
    table.write_text("SAMPLE_ID,LAB_L\n")
    with pytest.raises(OrderError, match="is no scan") as caught:
        take_in_sheet(waiting, SHEET.id, [table], things=["butter"], today=DATE)
    assert "PNG, TIFF or JPEG" in str(caught.value.findings[0].hint)
    assert waiting.picks_of(SHEET.pair) == ()


def test_a_colour_that_nobody_knows_is_said(waiting, scan, order):
    with pytest.raises(OrderError, match="the order has no colour 'leaf'"):
        take_in_sheet(waiting, SHEET.id, [scan], things=["leaf"], today=DATE, order=order)


@pytest.mark.slow
def test_a_thing_that_the_pair_can_not_print_is_said(waiting, tmp_path):
    path = tmp_path / "vivid.png"
    Image.fromarray(glass(SHEET, {"butter": Laid((60.0, 90.0, 75.0))}).pixels).save(path)
    taken = take_in_sheet(waiting, SHEET.id, [path], things=["butter"], today=DATE)
    codes = {finding.code for finding in taken.findings}
    assert codes & {"out-of-reach", "far-from-swatches"}
    (one,) = taken.things
    assert one.likeness.error > 4.0
