"""Real measured print data that Debian packages carry, read whole, and a second opinion on them.

Sources: the 'targ' tags (ISO 28178 text) of ``krita-data``'s cmyk.icm, 2,376 spectral readings of
a CMYK chemical proof (public domain), and of ``scribus-data``'s ISOcoated_v2_300_bas.icc, 1,617
CMYK to CIELAB sets of FOGRA39 (zlib licence). Second opinion: LittleCMS (``transicc`` of
``liblcms2-utils``) through the same profiles' tables.
"""

import re
import subprocess
from pathlib import Path

import numpy as np
import pytest

from inkaccord.cli.main import run_main
from inkaccord.colour.arrays import Array
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.pairs import Pair
from inkaccord.colour.spaces import xyz_to_lab
from inkaccord.sheets.model import SampleSheet, SheetReadings
from inkaccord.sheets.reading.cgats import parse_cgats
from inkaccord.sheets.reading.cgats_written import write_cgats
from inkaccord.sheets.reading.columns import XYZ_COLUMNS, Table
from inkaccord.sheets.reading.imported import imported_sheet
from inkaccord.sheets.reading.sheet import match_readings
from inkaccord.shelf.store import Shelf
from outside import KRITA_CMYK, SCRIBUS_COATED, need_file, need_program
from recording_kit import DATE, text_tag

PAIR = Pair.parse("proof@coated")


def taken(profile: Path, package: str) -> tuple[Table, SampleSheet, SheetReadings]:
    (table,) = parse_cgats(text_tag(need_file(profile, package), b"targ"), file="targ")
    sheet = imported_sheet(table, PAIR, date=DATE).sheet
    matched = match_readings(sheet, table)
    assert {finding.code for finding in matched.findings} <= {"matched-by-order"}
    return table, sheet, matched.readings


def lab(readings: SheetReadings) -> Array:
    return np.array([reading.lab for reading in readings.readings])


def test_2376_spectral_readings_are_read_whole() -> None:
    table, sheet, readings = taken(KRITA_CMYK, "krita-data")
    assert (len(sheet.swatches), len(readings.readings)) == (2376, 2376)
    assert readings.wavelengths_nm == tuple(float(nm) for nm in range(380, 740, 10))
    assert sheet.swatches[-1].id == "2376"
    assert sheet.swatches[-1].build.values == (100, 93, 93, 0)
    last = readings.readings[-1].spectrum
    assert last is not None
    assert last[:3] == pytest.approx((0.0038, 0.0049, 0.0114))

    # The file states XYZ beside its spectra, with one digit after the point.
    columns = table.indices(XYZ_COLUMNS)
    assert columns is not None
    stated = table.numbers(columns)
    light = stated[:, 1] > 10
    apart = delta_e_2000(xyz_to_lab(stated), lab(readings))
    assert np.median(apart) < 0.25
    assert apart[light].max() < 1.0


def test_1617_lab_readings_are_read_whole() -> None:
    table, sheet, readings = taken(SCRIBUS_COATED, "scribus-data")
    assert (len(sheet.swatches), len(readings.readings)) == (1617, 1617)
    assert sheet.swatches[1].build.values == (0, 10, 0, 0)
    assert readings.readings[1].lab == (90.67, 5.9, -3.86)
    assert table.columns[0] == "CMYK_C"


@pytest.mark.parametrize(
    ("profile", "package"), [(KRITA_CMYK, "krita-data"), (SCRIBUS_COATED, "scribus-data")]
)
def test_written_anew_they_are_the_same(profile: Path, package: str) -> None:
    _, sheet, readings = taken(profile, package)
    again = match_readings(sheet, parse_cgats(write_cgats(sheet, readings)))
    assert again.readings == readings


@pytest.mark.parametrize(
    ("profile", "package", "count"),
    [(KRITA_CMYK, "krita-data", 2376), (SCRIBUS_COATED, "scribus-data", 1617)],
)
def test_the_command_takes_them_in_whole(
    tmp_path: Path, profile: Path, package: str, count: int
) -> None:
    file, path = tmp_path / "set.txt", tmp_path / "shelf.sqlite"
    file.write_bytes(text_tag(need_file(profile, package), b"targ"))
    assert run_main(["record", "--pair", str(PAIR), str(file), "--shelf", str(path)]) == 0
    with Shelf.open(path) as shelf:
        (kept,) = shelf.readings_of(PAIR)
        assert (len(kept.readings.readings), len(kept.sheet.swatches)) == (count, count)
        assert (kept.readings.wavelengths_nm is not None) == (count == 2376)


@pytest.mark.parametrize(
    ("profile", "package", "median", "most"),
    [
        # Measured: median 0.29, most 1.26; and 0.012, 0.23. A profile's table smooths readings.
        (KRITA_CMYK, "krita-data", 0.5, 2.0),
        (SCRIBUS_COATED, "scribus-data", 0.1, 0.5),
    ],
)
def test_littlecms_agrees_through_the_profile(
    profile: Path, package: str, median: float, most: float
) -> None:
    transicc = need_program("transicc", "liblcms2-utils")
    _, sheet, readings = taken(profile, package)
    some = range(0, len(sheet.swatches), 7)
    asked = "\n".join(
        " ".join(f"{value:.4f}" for value in sheet.swatches[at].build.values) for at in some
    )
    # absolute colorimetric (-t3): paper white stays as it was read
    result = subprocess.run(
        [transicc, f"-i{profile}", "-o*Lab", "-t3", "-n"],
        input=asked + "\n",
        capture_output=True,
        text=True,
        check=True,
    )
    found = [float(number) for number in re.findall(r"-?\d+\.\d+", result.stdout)]
    theirs = np.array(found).reshape(-1, 3)
    assert len(theirs) == len(some)
    apart = delta_e_2000(theirs, lab(readings)[list(some)])
    assert np.median(apart) < median
    assert apart.max() < most
