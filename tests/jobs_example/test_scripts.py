"""Printing, reading and picking: from the sheet's text file to what `record` takes."""

import datetime
from pathlib import Path

import numpy as np
import pytest
from how_it_printed import outcomes
from pick_by_eye import pick
from print_and_read import read_text
from printers import DEVICES, STOCKS, true_lab
from sheet_text import load

from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.pairs import Pair
from inkaccord.sheets.model import Purpose, SampleSheet, Swatch
from inkaccord.sheets.reading.cgats import parse_cgats, write_cgats
from inkaccord.sizes import Size

CMYK = (Build.cmyk(0, 0, 0, 0), Build.cmyk(85, 20, 60, 30), Build.cmyk(0, 38, 88, 2))
RGB = (Build.rgb(255, 255, 255), Build.rgb(20, 92, 78))


def _sheet(folder: Path, pair: str, builds: tuple[Build, ...]) -> Path:
    sheet = SampleSheet(
        id="K7Q-XM3",
        pair=Pair.parse(pair),
        drive=builds[0].drive,
        purpose=Purpose.SCOUTING,
        swatches=tuple(Swatch(id=f"A{n}", build=b) for n, b in enumerate(builds, start=1)),
        size=Size(width_pt=612, height_pt=792),
        date=datetime.date(2026, 9, 1),
    )
    path = folder / "K7Q-XM3.txt"
    path.write_text(write_cgats(sheet), encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("pair", "builds"), [("north-quay-press@soft-white", CMYK), ("inkjet@kraft/matte", RGB)]
)
def test_readings_come_back_beside_the_same_builds(
    tmp_path: Path, pair: str, builds: tuple[Build, ...]
) -> None:
    sheet = load(_sheet(tmp_path, pair, builds))
    (table,) = parse_cgats(read_text(sheet))
    assert table.keyword("SHEET_ID") == "K7Q-XM3"
    assert table.keyword("PAIR") == pair
    channels = len(builds[0].values)
    rows = np.array([[float(cell.text) for cell in row[1:]] for row in table.rows])
    assert rows[:, :channels] == pytest.approx(np.array([b.values for b in builds]))
    true = true_lab(sheet.device, sheet.stock, sheet.builds)
    assert delta_e_2000(rows[:, channels : channels + 3], true).max() < 1.5


def test_spectra_are_given_when_asked_for(tmp_path: Path) -> None:
    sheet = load(_sheet(tmp_path, "north-quay-press@soft-white", CMYK))
    (table,) = parse_cgats(read_text(sheet, spectral=True))
    spectral = [name for name in table.columns if name.startswith("SPECTRAL_NM")]
    assert (spectral[0], spectral[-1], len(spectral)) == ("SPECTRAL_NM380", "SPECTRAL_NM730", 36)


def test_a_perfect_eye_picks_the_nearest_swatch(tmp_path: Path) -> None:
    sheet = load(_sheet(tmp_path, "north-quay-press@soft-white", CMYK))
    true = true_lab(sheet.device, sheet.stock, sheet.builds)
    assert pick(sheet, "kelp", true[1] + 0.5, error=0) == "A2"
    assert pick(sheet, "lantern", true[2] - 0.5, error=0) == "A3"
    assert pick(sheet, "lantern", true[2]) == pick(sheet, "lantern", true[2])


def test_an_unknown_printer_is_named_with_the_known_ones(tmp_path: Path) -> None:
    path = _sheet(tmp_path, "etching@soft-white", CMYK)
    with pytest.raises(SystemExit, match="'etching' is none of inkjet"):
        load(path)
    assert load(path, device="north-quay-press").device.drive is Drive.CMYK
    with pytest.raises(SystemExit, match="takes rgb, the file has cmyk"):
        load(path, device="inkjet")


def test_the_true_outcome_is_set_beside_what_a_run_promised() -> None:
    device, stock = DEVICES["north-quay-press"], STOCKS["soft-white"]
    true = true_lab(device, stock, np.array([[85.0, 20, 60, 30]]))[0]
    lighter, redder = true + np.array([1.0, 0, 0]), true + np.array([0, 5.0, 0])
    record = {
        "colour": "kelp",
        "device": "north-quay-press",
        "stock": "soft-white",
        "build": "cmyk 85 20 60 30",
        "aim_lab": list(lighter),
        "predicted_lab": list(true),
        "uncertainty": 0.5,
    }
    wrong = record | {"predicted_lab": list(redder), "aim_lab": None}
    right, off = outcomes({"translations": [record, wrong]})
    assert right.as_promised
    assert right.off_prediction == pytest.approx(0)
    assert right.to_aim == pytest.approx(float(delta_e_2000(true, lighter)))
    assert off.off_prediction > 1
    assert not off.as_promised
    assert off.to_aim is None
    with pytest.raises(KeyError, match="etching"):
        outcomes({"translations": [record | {"device": "etching"}]})
