"""The invented printers: formulas as the textbook has them, and printers that differ."""

import datetime
from itertools import combinations

import numpy as np
import printers
import pytest
from printers import DEVICES, STOCKS, Device, Ink, Stock, read_sheet, spectra, true_lab

from inkaccord.colour.builds import Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.spectra import spectra_to_lab

KELP, LANTERN, SLATE = [85.0, 20, 60, 30], [0.0, 38, 88, 2], [55.0, 30, 20, 25]
SUITE = np.array([KELP, LANTERN, SLATE])
CMYK = [name for name, device in DEVICES.items() if device.drive is Drive.CMYK]
AIMS = true_lab(DEVICES["north-quay-press"], STOCKS["natural-cotton"], SUITE)


@pytest.mark.parametrize(("n", "expected"), [(1.0, 0.425), (1.7, 0.33368), (2.0, 0.3125)])
def test_half_tone_follows_yule_and_nielsen(n: float, expected: float) -> None:
    # R .80 and .05 at an area of .5, worked out by hand from (Σ a R^(1/n))^n
    flat = Ink((), float(np.log10(0.80 / 0.05)))
    device = Device("test", (flat,) * 4, gains=(0, 0, 0, 0), n=n)
    stock = Stock("test", np.full(36, 0.80), floor=0.0)
    assert spectra(device, stock, np.array([[50.0, 0, 0, 0]])) == pytest.approx(expected, abs=1e-5)


def test_overprints_follow_demichel() -> None:
    # .4 .3 .2 .1: paper alone is left on .3024 of the area
    black_hole = Ink((), 9.0)
    device = Device("test", (black_hole,) * 4, gains=(0, 0, 0, 0), n=1.0)
    stock = Stock("test", np.ones(36), floor=0.0)
    reflectance = spectra(device, stock, np.array([[40.0, 30, 20, 10]]))
    assert reflectance == pytest.approx(0.3024, abs=1e-6)


@pytest.mark.parametrize("device", DEVICES)
@pytest.mark.parametrize("stock", STOCKS)
def test_every_solid_is_darker_than_the_paper(device: str, stock: str) -> None:
    printer = DEVICES[device]
    if printer.drive is Drive.CMYK:
        builds = np.vstack([np.zeros(4), np.eye(4) * 100, np.eye(4) * 50])
    else:
        full = np.vstack([1 - np.eye(3), np.zeros(3)])
        builds = np.vstack([np.ones(3), full, (1 + full) / 2]) * 255
    result = spectra(printer, STOCKS[stock], builds)
    luminance = spectra_to_lab(result, printers.WAVELENGTHS_NM)[:, 0]
    assert result[0] == pytest.approx(STOCKS[stock].reflectance)
    # yellow on brown stock may look lighter in places, never brighter in total
    assert (result[1:].sum(axis=1) < result[0].sum()).all()
    assert luminance[4] < luminance[8] < luminance[0]
    assert (result > 0).all()


def test_one_build_prints_differently_on_every_device() -> None:
    looks = {name: true_lab(DEVICES[name], STOCKS["natural-cotton"], SUITE) for name in CMYK}
    for one, other in combinations(CMYK, 2):
        worst = delta_e_2000(looks[one], looks[other]).max()
        assert 3 < worst < 12, (one, other)


@pytest.mark.parametrize("device", CMYK)
@pytest.mark.parametrize(
    ("stock", "reached"), [("natural-cotton", (0, 1, 2)), ("grey-felt", (0, 2)), ("kraft", (0,))]
)
def test_what_can_be_reached(device: str, stock: str, reached: tuple[int, ...]) -> None:
    steps = np.array([0, 5, 10, 20, 30, 40, 50, 60, 70, 80, 90, 100.0])
    grid = np.stack(np.meshgrid(steps, steps, steps, [0, 10, 20, 30, 40, 60.0]), axis=-1)
    looks = true_lab(DEVICES[device], STOCKS[stock], grid.reshape(-1, 4))
    nearest = [float(delta_e_2000(looks, aim).min()) for aim in AIMS]
    assert all(nearest[colour] < 3.5 for colour in reached)
    assert nearest[1] > {"natural-cotton": 0, "grey-felt": 3, "kraft": 6}[stock]


def test_reading_a_sheet_again_gives_the_same_numbers() -> None:
    device, stock = DEVICES["laser"], STOCKS["kraft"]
    ids = ("A1", "A2", "A3")

    def read(sheet: str, day: datetime.date | None = None) -> np.ndarray:
        seen = read_sheet(device, stock, SUITE, sheet_id=sheet, swatch_ids=ids, day=day)
        return spectra_to_lab(seen, printers.WAVELENGTHS_NM)

    first, other = read("K7Q-XM3"), read("B2C-D4F")
    assert (first == read("K7Q-XM3")).all()
    noise = delta_e_2000(first, other)
    assert (noise > 0).all()
    assert noise.max() < 2


def test_devices_drift_over_the_months() -> None:
    device, stock = DEVICES["laser"], STOCKS["smooth-ivory"]
    year = [
        spectra_to_lab(
            spectra(device, stock, SUITE, day=datetime.date(2026, month, 1)),
            printers.WAVELENGTHS_NM,
        )
        for month in range(1, 13)
    ]
    drift = delta_e_2000(np.array(year), true_lab(device, stock, SUITE))
    assert 0.7 < drift.max() < 4


def test_ink_limit_scales_the_colours_and_leaves_black() -> None:
    laid = printers.inks_for(DEVICES["laser"], np.array([[90.0, 80, 70, 60], [85, 20, 60, 30]]))
    assert laid[0].sum() == pytest.approx(2.6)
    assert laid[0, 3] == pytest.approx(0.6)
    assert laid[0, 0] / laid[0, 1] == pytest.approx(90 / 80)
    assert laid[1] == pytest.approx([0.85, 0.2, 0.6, 0.3])


def test_the_driver_is_smooth_and_leaves_white_alone() -> None:
    ramp = np.linspace(0, 255, 511)[:, None] * np.array([[0.2, 0.9, 0.7]])
    looks = true_lab(DEVICES["inkjet"], STOCKS["smooth-ivory"], ramp)
    assert delta_e_2000(looks[1:], looks[:-1]).max() < 1.0
    white = printers.inks_for(DEVICES["inkjet"], np.array([[255.0, 255, 255]]))
    assert white == pytest.approx(0)


def test_a_build_of_the_wrong_kind_is_refused() -> None:
    with pytest.raises(ValueError, match="R G B"):
        printers.inks_for(DEVICES["inkjet"], np.array([[0.0, 0, 0, 0]]))
