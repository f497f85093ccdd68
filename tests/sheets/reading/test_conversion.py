"""A conversion on the way to the paper is found on the controls, and a direct print is let be.

The direct prints are the example's invented printers, whose spectral physics the signs don't share.
Converted builds are what LittleCMS 2 made of the controls from one published profile to another
(tests/benchmarks/conversions.py measures with those themselves, and many more).
"""

import itertools

import numpy as np
import pytest

from inkaccord.colour.builds import Drive
from inkaccord.sheets.controls import control_builds
from inkaccord.sheets.reading.conversion import conversion_findings
from inkaccord.sheets.reading.plausible import judge
from jobs_example import printers
from recording_kit import sheet_of

SHEETS = {drive: sheet_of(12, drive=drive) for drive in Drive}
BUILDS = {drive: np.array([build.values for build in control_builds(drive)]) for drive in Drive}
STOCKS = printers.STOCKS
PRESSES = {name: it for name, it in printers.DEVICES.items() if it.drive is Drive.CMYK}

# From FOGRA39 (scribus-data's ISOcoated_v2_300_bas.icc) to the proof of krita-data's cmyk.icm,
# perceptual, in whole percent.
PROFILED = np.array(
    [
        (0, 0, 0, 0), (93, 2, 6, 18), (1, 100, 15, 6), (1, 4, 100, 1), (15, 1, 35, 93),
        (39, 2, 2, 1), (3, 38, 4, 2), (1, 3, 53, 0), (0, 0, 0, 45),
        (4, 98, 95, 4), (88, 8, 92, 12), (0, 0, 0, 48),
    ],
    dtype=float,
)  # fmt: skip


def printed(name: str, stock: str, builds: np.ndarray, *, seed: int = 0) -> np.ndarray:
    """Return readings with the noise of a plain instrument."""
    lab = printers.true_lab(printers.DEVICES[name], STOCKS[stock], builds)
    return lab + np.random.default_rng(seed).normal(0.0, 0.3, lab.shape)


def codes(drive: Drive, lab: np.ndarray) -> list[str]:
    return [finding.code for finding in conversion_findings(SHEETS[drive], lab)]


@pytest.mark.parametrize(("name", "stock"), [*itertools.product(printers.DEVICES, STOCKS)])
def test_a_direct_print_is_let_be(name: str, stock: str) -> None:
    drive = printers.DEVICES[name].drive
    for seed in range(5):
        assert codes(drive, printed(name, stock, BUILDS[drive], seed=seed)) == []


@pytest.mark.parametrize("name", PRESSES)
@pytest.mark.parametrize("stock", ["smooth-ivory", "natural-cotton"])
def test_a_print_through_a_profile_is_found(name: str, stock: str) -> None:
    lab = printed(name, stock, PROFILED)
    (found,) = conversion_findings(SHEETS[Drive.CMYK], lab)
    assert found.code == "converted"
    assert "carries another ink" in found.message
    assert "without colour conversion" in (found.hint or "")


@pytest.mark.parametrize("name", PRESSES)
def test_a_print_in_black_alone_is_found(name: str) -> None:
    grey = np.zeros_like(BUILDS[Drive.CMYK])
    grey[:, 3] = (0, 35, 45, 12, 100, 18, 22, 6, 50, 42, 38, 42)
    for stock in STOCKS:
        (found,) = conversion_findings(SHEETS[Drive.CMYK], printed(name, stock, grey))
        assert "all swatches are grey" in found.message


def srgb_lab(rgb: np.ndarray, paper: float) -> np.ndarray:
    """CIELAB of sRGB on a neutral paper: IEC 61966-2-1, adapted to D50 (Bradford)."""
    from inkaccord.colour.spaces import D50_WHITE, xyz_to_lab

    share = rgb / 255
    linear = np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)
    to_xyz = np.array(
        [[0.4361, 0.3851, 0.1431], [0.2225, 0.7169, 0.0606], [0.0139, 0.0971, 0.7141]]
    )
    xyz = linear @ to_xyz.T
    return xyz_to_lab(100 * paper * (0.02 * D50_WHITE / 100 + 0.98 * xyz))


def test_a_sheet_rendered_as_srgb_is_found_and_the_devices_own_inks_are_not() -> None:
    for paper in (0.9, 0.75):
        assert codes(Drive.RGB, srgb_lab(BUILDS[Drive.RGB], paper)) == ["converted"]


def test_it_is_said_with_all_else_that_is_said_of_readings() -> None:
    lab = printed("millrace-press", "smooth-ivory", PROFILED)
    assert "converted" in {finding.code for finding in judge(SHEETS[Drive.CMYK], lab)}


def test_very_dark_stock_and_sheets_without_controls_are_not_judged() -> None:
    lab = printed("laser", "smooth-ivory", PROFILED)
    dark = np.array([25.0, 2.0, -8.0]) + 0.05 * (lab - lab[0])
    assert codes(Drive.CMYK, dark) == []
    few = sheet_of(6)
    assert conversion_findings(few, lab[:6]) == []
