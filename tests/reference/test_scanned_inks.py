"""Calibrating a scan on real inks: how close it comes.

Source of the inks: the 'targ' tag of ``krita-data``'s cmyk.icm, measured spectra of a CMYK
chemical proof (public domain). The scanner is invented: filters, lamp, curve, stray light and
noise differ from trial to trial; its filters are not the eye's, which is the point.
"""

import numpy as np
import pytest

from inkaccord.colour.arrays import Array
from inkaccord.colour.builds import Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.pairs import Pair
from inkaccord.sheets.controls import control_builds
from inkaccord.sheets.reading.cgats import parse_cgats
from inkaccord.sheets.reading.imported import imported_sheet
from inkaccord.sheets.reading.sheet import match_readings
from inkaccord.sheets.scan.calibration import calibrate
from outside import KRITA_CMYK, need_file
from recording_kit import DATE, text_tag

NM = np.arange(380, 740, 10)[:, None]


def scanner(rng: np.random.Generator, spectra: Array) -> Array:
    """Return linear RGB of reflectance spectra, as some scanner sees them."""
    middle = np.array([610.0, 540.0, 455.0]) + rng.uniform(-15, 15, 3)
    width = np.array([32.0, 35.0, 28.0]) * rng.uniform(0.8, 1.3, 3)
    lines = np.array([545.0, 612.0, 450.0])
    lamp = 1 + np.exp(-0.5 * ((NM - lines) / 10) ** 2) @ rng.uniform(0, 1, 3)
    response = np.exp(-0.5 * ((NM - middle) / width) ** 2) * lamp[:, None]
    linear = spectra @ (response / response.sum(axis=0))
    bent = 0.95 * linear ** rng.uniform(0.9, 1.15) + rng.uniform(0, 0.015)
    return np.asarray(bent * (1 + rng.normal(0, 0.004, bent.shape)))


@pytest.mark.parametrize(
    ("known", "most"),
    # Measured over 20 scanners, root mean square, median: 1.1, 0.8 and 0.75 ΔE00.
    [(12, 1.5), (24, 1.2), (40, 1.0)],
)
def test_colours_of_real_inks_come_within_the_stated_noise(known: int, most: float) -> None:
    (table,) = parse_cgats(text_tag(need_file(KRITA_CMYK, "krita-data"), b"targ"))
    sheet = imported_sheet(table, Pair.parse("proof@coated"), date=DATE).sheet
    readings = match_readings(sheet, table).readings.readings
    builds = np.array([swatch.build.values for swatch in sheet.swatches])
    spectra = np.array([reading.spectrum for reading in readings])
    lab = np.array([reading.lab for reading in readings])
    controls = [
        int(np.abs(builds - np.array(control.values)).max(axis=1).argmin())
        for control in control_builds(Drive.CMYK)
    ]
    light = np.flatnonzero((builds.sum(axis=1) < 220) & (builds[:, 3] < 50))

    real, stated = [], []
    for seed in range(20):
        rng = np.random.default_rng(seed)
        linear = scanner(rng, spectra)
        others = rng.choice(light, 80, replace=False)
        taught = np.array([*controls, *others[: known - 12]])
        calibration = calibrate(linear[taught], lab[taught])
        asked = linear[others[40:]]
        missed = delta_e_2000(lab[others[40:]], calibration.lab(asked))
        real.append(float(np.sqrt(np.mean(missed**2))))
        stated.append(calibration.noise(asked))
    print(f"{known} known: {np.median(real):.2f} ΔE00 r.m.s., stated {np.median(stated):.2f}")
    assert np.median(real) < most
    assert np.mean(np.array(real) < 1.3 * np.array(stated)) >= 0.95
    assert np.median(stated) < 2.5 * np.median(real)
