"""How noisy an instrument is and how noisy a scan, told apart."""

from dataclasses import replace

import numpy as np
import pytest

from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.press.model import fit
from inkaccord.colour.press.noise import Noise, noise_delta_e, noise_variance
from inkaccord.colour.press.prepare import prepare
from inkaccord.colour.readings import Readings
from inkaccord.colour.spaces import lab_to_xyz


def readings(printer, builds, noise, *, shift=0.0, sheet=0, stated=None, scanned=False, seed=0):
    rng = np.random.default_rng(seed)
    lab = printer.predict_lab(builds) + rng.normal(size=(len(builds), 3)) * noise / np.sqrt(3)
    lab[:, 0] += shift
    count = len(builds)
    return Readings(
        drive=printer.drive,
        builds=builds,
        xyz=lab_to_xyz(lab),
        sheet=np.full(count, sheet),
        noise=np.full(count, stated or noise),
        scanned=np.full(count, scanned),
    )


def both(one, other):
    names = ("builds", "xyz", "sheet", "noise", "scanned")
    return replace(
        one, **{name: np.concatenate([getattr(one, name), getattr(other, name)]) for name in names}
    )


@pytest.fixture(scope="module")
def builds():
    rng = np.random.default_rng(4)
    found = rng.uniform(0, 100, (70, 4)) * [1, 1, 1, 0.4]
    found[:5] = np.concatenate([np.zeros((1, 4)), 100 * np.eye(4)])
    return found


@pytest.fixture(scope="module")
def read(cmyk_printer, builds):
    return readings(cmyk_printer, builds[:30], 0.3)


@pytest.fixture(scope="module")
def probes():
    return np.random.default_rng(9).uniform(0, 100, (80, 4)) * [1, 1, 1, 0.4]


@pytest.mark.parametrize("stated", [1.2, 4.0])
def test_a_scan_that_agrees_never_makes_a_read_pair_less_sure(
    cmyk_printer, builds, read, probes, stated
):
    scan = readings(cmyk_printer, builds[30:], 1.2, stated=stated, sheet=1, scanned=True, seed=5)
    alone, together = fit(read), fit(both(read, scan))
    wider = together.bound(probes) / alone.bound(probes)
    assert np.median(wider) < 1.02
    assert np.percentile(wider, 95) < 1.1
    missed = delta_e_2000(together.predict_lab(probes), cmyk_printer.predict_lab(probes))
    assert np.mean(missed <= together.bound(probes)) >= 0.95
    assert not any(it.code == "scan-disagrees" for it in together.findings)


def test_a_scan_that_disagrees_is_named_and_counts_for_little(cmyk_printer, builds, read, probes):
    scan = readings(
        cmyk_printer, builds[30:], 0.5, stated=1.0, shift=6.0, sheet=1, scanned=True, seed=5
    )
    alone, together = fit(read), fit(both(read, scan))
    moved = delta_e_2000(together.predict_lab(probes), alone.predict_lab(probes))
    assert np.median(moved) < 0.8
    assert np.median(together.bound(probes) / alone.bound(probes)) < 1.2
    (said,) = (it for it in together.findings if it.code == "scan-disagrees")
    assert "40 swatches" in said.message
    assert "stated (ΔE00 1.0)" in said.message


def test_a_scan_alone_is_not_taken_for_surer_than_it_states(cmyk_printer, builds, probes):
    """What all of it is off by alike, nothing in it shows."""
    scan = readings(cmyk_printer, builds, 0.1, stated=3.0, scanned=True)
    assert np.median(fit(scan).bound(probes)) > 3.0
    assert np.median(fit(replace(scan, scanned=None)).bound(probes)) < 3.0


def test_the_order_of_read_and_scanned_does_not_matter(cmyk_printer, builds, read, probes):
    scan = readings(cmyk_printer, builds[30:], 1.2, sheet=1, scanned=True)
    one, other = fit(both(read, scan)), fit(both(scan, read))
    assert np.array_equal(one.bound(probes), other.bound(probes))


def test_noise_comes_back_in_delta_e():
    assert noise_delta_e(noise_variance(np.full(4, 1.7))) == pytest.approx(1.7)


def test_sums_by_factor_are_the_slopes_of_the_covariance():
    rng = np.random.default_rng(2)
    noise = Noise(
        rng.uniform(1, 2, 6), np.array([0, 0, 1, 1, 2, 2.0]), np.array([0, 0, 1, 1, 2, 2])
    )
    core = rng.normal(size=(6, 6))
    core += core.T
    shape = np.exp(-np.abs(np.subtract.outer(np.arange(6.0), np.arange(6.0))))

    def total(factors):
        matrix = np.zeros((6, 6))
        noise.scaled(factors).add_to(matrix, shape)
        return float(np.sum(core * matrix))

    slopes = noise.by_factor(core, shape, 3)
    for at in np.ndindex(2, 3):
        step = np.zeros((2, 3))
        step[at] = 1.0
        assert slopes[at] == pytest.approx(total(noise.usual + step) - total(noise.usual))


def test_scans_of_two_sheets_err_apart():
    noise = Noise(np.ones(4), np.ones(4), np.array([1, 1, 2, 2]))
    matrix = np.zeros((4, 4))
    noise.add_to(matrix, np.full((4, 4), 0.5))
    assert matrix[0, 1] == matrix[2, 3] == 0.5
    assert matrix[0, 2] == matrix[1, 3] == 0.0


def test_a_scan_that_its_controls_taught_carries_the_drift_of_what_was_read(cmyk_printer, builds):
    read = readings(cmyk_printer, builds[:30], 0.3)
    taught = readings(cmyk_printer, builds[30:], 1.2, sheet=1, scanned=True)
    beside = readings(cmyk_printer, builds[20:], 1.2, sheet=1, scanned=True)
    assert prepare(both(read, taught)).data.sheets == 1
    assert prepare(both(read, beside)).data.sheets == 2
