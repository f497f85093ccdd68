"""A target of others, taken in without a command line."""

import datetime

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


def test_the_day_that_is_told_is_that_of_its_readings_too(shelf, tmp_path):
    last_year = datetime.date(2025, 3, 4)
    builds = some_builds()
    take_in(shelf, write_target(tmp_path / "set.txt", builds), read_on=last_year)
    (kept,), (read,) = shelf.sheets(PAIR), shelf.readings_of(PAIR)
    assert kept.sheet.date == read.day == last_year
    other = Pair.parse("press@smooth")
    take_in(shelf, write_target(tmp_path / "again.txt", builds), pair=other)
    (undated,) = shelf.readings_of(other)
    assert undated.readings.read_on is None, "a day that nobody told is not made up"


def test_the_order_says_how_its_device_is_driven(shelf, order, tmp_path):
    rgb = np.random.default_rng(1).integers(0, 256, (30, 3)).astype(float)
    file = write_target(tmp_path / "rgb.txt", rgb, names="RGB_R RGB_G RGB_B")
    (finding,) = refused(shelf, file, pair=ORDERED, order=order)
    assert finding.code == "wrong-drive"
    assert "are RGB, but laser@card is driven in CMYK" in finding.message


def test_without_an_order_the_shelf_tells_how_a_pair_is_driven(shelf, tmp_path):
    take_in(shelf, write_target(tmp_path / "cmyk.txt", some_builds()))
    rgb = np.random.default_rng(1).integers(0, 256, (30, 3)).astype(float)
    file = write_target(tmp_path / "rgb.txt", rgb, names="RGB_R RGB_G RGB_B")
    assert [it.code for it in refused(shelf, file)] == ["wrong-drive"]
    assert take_in(shelf, file, pair=Pair.parse("laser@kraft/photo")).new_readings


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda b, _: b.__setitem__((5, 0), 120.0), "is not within 0 to 100"),
        (lambda b, c: (b.__setitem__(6, b[20]), c.__setitem__(6, [30, 60, -60])), "2 times"),
        (lambda _, c: c.__setitem__(slice(None), c / 100), "expected 0 to 100"),
        (lambda _, c: c.__setitem__(7, [50, 180, 0]), "no colour of a print"),
        (lambda _, c: c.__setitem__(slice(None), c[::-1].copy()), "upside down"),
    ],
)
def test_a_wrong_target_is_refused_whole(shelf, tmp_path, change, said):
    builds = some_builds(60)
    lab = printed_lab(builds, Drive.CMYK)
    change(builds, lab)
    findings = refused(shelf, write_target(tmp_path / "set.txt", builds, lab))
    assert said in " ".join(f"{finding.message} {finding.hint}" for finding in findings)


def test_what_is_odd_about_a_target_is_said(shelf, tmp_path, order):
    builds = np.vstack([some_builds(), [[100, 90, 80, 70]], [[90, 90, 90, 90]], [[0, 0, 0, 0]]])
    file = write_target(tmp_path / "set.txt", builds / 100, printed_lab(builds, Drive.CMYK))
    taken = take_in(shelf, file, pair=ORDERED, order=order)
    said = {finding.code: finding.message for finding in taken.findings}
    assert "taken as 0 to 1" in said["unit-scaled"]
    over = f"more than the 300 % of ink that the pair takes: {len(builds) - 2}, {len(builds) - 1}"
    assert f"2 swatches carry {over}" in said["over-ink-limit"]
    assert "1 build stands in the file more than once" in said["repeated-builds"]
    assert taken.sheet.swatches[-3].build.values == (100, 90, 80, 70)


def test_a_target_may_come_in_parts(shelf, tmp_path):
    builds = some_builds(60)
    whole = write_target(tmp_path / "whole.txt", builds).read_text("utf-8")
    head, _, rest = whole.partition("BEGIN_DATA\n")
    rows = rest.splitlines()[: len(builds)]
    parts = []
    for part in (rows[:30], rows[30:]):
        parts.append(tmp_path / f"part{len(parts)}.txt")
        text = head.replace(f"SETS {len(builds)}", f"SETS {len(part)}")
        parts[-1].write_text("\n".join([f"{text}BEGIN_DATA", *part, "END_DATA", ""]), "utf-8")
    assert take_in(shelf, *parts).readings == len(builds)
    assert shelf.readings_of(PAIR)[0].source == "part0.txt, part1.txt"


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
