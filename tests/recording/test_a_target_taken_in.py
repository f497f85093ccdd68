"""A target of others, taken in without a command line."""

import numpy as np
import pytest

from inkaccord.colour.builds import Drive
from inkaccord.colour.pairs import Pair
from inkaccord.errors import OrderError
from inkaccord.recording.target import take_in_target
from inkaccord.sheets.model import Purpose
from recording_kit import DATE, PAIR, printed_lab, some_builds, write_target

ORDERED = Pair.parse("laser@card")


def take_in(shelf, *files, pair=PAIR, **options):
    return take_in_target(shelf, pair, files, today=DATE, **options)


def refused(shelf, *files, pair=PAIR, **options):
    """Return the findings about what must be refused, and see that nothing of it was kept."""
    before = shelf.sheets()
    with pytest.raises(OrderError) as refusal:
        take_in(shelf, *files, pair=pair, **options)
    assert shelf.sheets() == before
    return refusal.value.findings


def test_a_target_becomes_a_sheet_of_its_pair_with_its_readings(shelf, tmp_path):
    builds = some_builds()
    file = write_target(tmp_path / "set.txt", builds)
    taken = take_in(shelf, file)
    assert (taken.readings, taken.new_readings, taken.new_picks) == (len(builds), True, 0)
    (kept,), (read,) = shelf.sheets(PAIR), shelf.readings_of(PAIR)
    assert (kept.sheet.purpose, kept.sheet.order, kept.sheet.date) == (
        Purpose.IMPORTED, "set", DATE,
    )  # fmt: skip
    labs = np.array([one.lab for one in read.readings.readings])
    assert np.abs(labs - printed_lab(builds, Drive.CMYK)).max() < 0.001
    assert not take_in(shelf, file).new_readings


def test_the_order_says_how_its_device_is_driven_and_what_ink_it_takes(shelf, order, tmp_path):
    rgb = np.random.default_rng(1).integers(0, 256, (30, 3)).astype(float)
    file = write_target(tmp_path / "rgb.txt", rgb, names="RGB_R RGB_G RGB_B")
    (finding,) = refused(shelf, file, pair=ORDERED, order=order)
    assert finding.code == "wrong-drive"
    assert "are RGB, but laser@card is driven in CMYK" in finding.message
    heavy = np.vstack([some_builds(), [[100, 90, 80, 70]]])
    file = write_target(tmp_path / "cmyk.txt", heavy)
    (over,) = take_in(shelf, file, pair=ORDERED, order=order).findings
    assert over.code == "over-ink-limit"
    assert "more than the 300 %" in over.message


def test_without_an_order_the_shelf_tells_how_a_pair_is_driven(shelf, tmp_path):
    take_in(shelf, write_target(tmp_path / "cmyk.txt", some_builds()))
    rgb = np.random.default_rng(1).integers(0, 256, (30, 3)).astype(float)
    file = write_target(tmp_path / "rgb.txt", rgb, names="RGB_R RGB_G RGB_B")
    assert [it.code for it in refused(shelf, file)] == ["wrong-drive"]
    assert take_in(shelf, file, pair=Pair.parse("laser@kraft/photo")).new_readings


def test_one_build_in_two_colours_is_refused(shelf, tmp_path):
    builds = some_builds(60)
    lab = printed_lab(builds, Drive.CMYK)
    builds[6], lab[6] = builds[20], [30, 60, -60]
    (finding,) = refused(shelf, write_target(tmp_path / "set.txt", builds, lab))
    assert finding.code == "repeat-differs"


def test_readings_under_other_conditions_are_not_mixed_in(shelf, tmp_path):
    head = 'MEASUREMENT_CONDITION "{}"\n'
    take_in(shelf, write_target(tmp_path / "m1.txt", some_builds(), head=head.format("M1")))
    other = write_target(tmp_path / "m0.txt", some_builds(seed=4), head=head.format("M0"))
    assert "M0" in refused(shelf, other)[0].message


def test_a_picture_is_no_target(shelf, tmp_path):
    file = tmp_path / "scan.png"
    file.write_bytes(b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR")
    (finding,) = refused(shelf, file)
    assert finding.code == "unknown-readings"
    assert "a scan is recorded for its SHEET" in finding.hint


def test_another_setting_of_the_pair_is_pointed_out_with_the_way_back(shelf, tmp_path):
    file = write_target(tmp_path / "set.txt", some_builds())
    take_in(shelf, file, pair=Pair.parse("laser@kraft/heavy"))
    taken = take_in(shelf, file, same_place=" --shelf here.sqlite")
    (finding,) = taken.findings
    assert finding.code == "new-pair"
    assert "it has laser@kraft/heavy, which is another pair" in finding.message
    assert f"'inkaccord shelf retire {taken.sheet.id} --shelf here.sqlite' undoes" in finding.hint
