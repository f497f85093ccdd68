"""Printing, reading and picking: from the sheet's text file to what `record` takes."""

import datetime
from pathlib import Path

import numpy as np
import pytest
from how_it_printed import outcomes
from look_by_eye import look
from pick_by_eye import pick
from print_and_read import read_text
from printers import DEVICES, STOCKS, true_lab
from sheet_text import load

from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.pairs import Pair
from inkaccord.colour.press.model import fit
from inkaccord.colour.sampling.eye_set import eye_set
from inkaccord.knowledge.pairs import paper_readings
from inkaccord.sheets.model import Purpose, SampleSheet, Swatch
from inkaccord.sheets.planning.placing import SwatchGroup
from inkaccord.sheets.planning.plan import plan_sheet
from inkaccord.sheets.reading.cgats import parse_cgats
from inkaccord.sheets.reading.cgats_written import write_cgats
from inkaccord.sheets.settings import SheetFormat
from inkaccord.shelf.store import Shelf
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
    ("pair", "builds"), [("north-quay-press@natural-cotton", CMYK), ("inkjet@kraft/matte", RGB)]
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
    sheet = load(_sheet(tmp_path, "north-quay-press@natural-cotton", CMYK))
    (table,) = parse_cgats(read_text(sheet, spectral=True))
    spectral = [name for name in table.columns if name.startswith("SPECTRAL_NM")]
    assert (spectral[0], spectral[-1], len(spectral)) == ("SPECTRAL_NM380", "SPECTRAL_NM730", 36)


def test_a_perfect_eye_picks_the_nearest_swatch(tmp_path: Path) -> None:
    sheet = load(_sheet(tmp_path, "north-quay-press@natural-cotton", CMYK))
    true = true_lab(sheet.device, sheet.stock, sheet.builds)
    assert pick(sheet, "kelp", true[1] + 0.5, error=0) == "A2"
    assert pick(sheet, "lantern", true[2] - 0.5, error=0) == "A3"
    assert pick(sheet, "lantern", true[2]) == pick(sheet, "lantern", true[2])


@pytest.mark.slow
def test_a_person_answers_what_is_asked_of_the_swatches_that_it_is_about(
    tmp_path: Path,
) -> None:
    device, stock = DEVICES["north-quay-press"], STOCKS["natural-cotton"]
    model = fit(paper_readings(Drive.CMYK, (93.5, -0.8, 3.5)))
    builds = tuple(Build.cmyk(*row) for row in eye_set(model, (55, 30, 20, 25), InkPolicy()))
    planned = plan_sheet(
        Pair.parse("north-quay-press@natural-cotton"),
        Purpose.CLOSING_IN,
        [SwatchGroup(colour="slate", builds=builds, for_eye=True)],
        SheetFormat(size=Size.parse("a4")),
        drive=Drive.CMYK,
        date=datetime.date(2026, 9, 1),
        look=model,
    )
    assert planned is not None
    path, shelf = tmp_path / f"{planned.id}.txt", tmp_path / "shelf.sqlite"
    path.write_text(write_cgats(planned), encoding="utf-8")
    with Shelf.open(str(shelf)) as store:
        store.add_sheet(planned)
    sheet = load(path)
    thing = true_lab(device, stock, sheet.builds[:1])[0] + np.array([2.0, 1.0, -1.0])
    options = ("--shelf", str(shelf), "--light", "a lamp", "--on", "2026-09-02")
    answered = look(sheet, "slate", thing, error=0.0, options=options)
    own = [swatch for swatch in planned.swatches if swatch.for_eye]
    lab = true_lab(device, stock, np.array([swatch.build.values for swatch in own]))
    nearest = own[int(delta_e_2000(lab, thing).argmin())].id
    assert answered.count(nearest) >= 3
    assert {name[0] for name in answered} >= {"A", "B", "C"}  # along three ladders
    with Shelf.open(str(shelf)) as store:
        assert len(store.picks_of(planned.pair)) == len(answered)


def test_an_unknown_printer_is_named_with_the_known_ones(tmp_path: Path) -> None:
    path = _sheet(tmp_path, "etching@natural-cotton", CMYK)
    with pytest.raises(SystemExit, match="'etching' is none of inkjet"):
        load(path)
    assert load(path, device="north-quay-press").device.drive is Drive.CMYK
    with pytest.raises(SystemExit, match="takes rgb, the file has cmyk"):
        load(path, device="inkjet")


def test_the_true_outcome_is_set_beside_what_a_run_promised() -> None:
    device, stock = DEVICES["north-quay-press"], STOCKS["natural-cotton"]
    true = true_lab(device, stock, np.array([[85.0, 20, 60, 30]]))[0]
    lighter, redder = true + np.array([1.0, 0, 0]), true + np.array([0, 5.0, 0])
    record = {
        "colour": "kelp",
        "device": "north-quay-press",
        "stock": "natural-cotton",
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
    (beside,) = outcomes({"translations": [record]}, {"kelp": true})
    assert beside.to_aim == pytest.approx(0)
    assert off.off_prediction > 1
    assert not off.as_promised
    assert off.to_aim is None
    with pytest.raises(KeyError, match="etching"):
        outcomes({"translations": [record | {"device": "etching"}]})
