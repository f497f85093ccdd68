"""What reading more would be worth, against reading it."""

import numpy as np
import pytest

from inkaccord.colour.agreement.differences import BOUND_TO_SIGMA, SURE, differences
from inkaccord.colour.builds import Drive
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.press.drift import re_anchor
from inkaccord.colour.press.model import fit
from inkaccord.colour.readings import Readings
from inkaccord.colour.sampling.gain import bound_after, chance_decided
from inkaccord.colour.sampling.planning import closing_set, scouting_set
from inkaccord.colour.spaces import lab_to_xyz
from inkaccord.colour.spectra import spectra_to_lab
from inkaccord.sheets.controls import control_builds
from jobs_example import printers

CONTROLS = np.array([it.values for it in control_builds(Drive.CMYK)])
WANTED = np.array([[60.0, 10, 55, 8], [20, 5, 40, 0], [5, 60, 20, 5], [30, 20, 20, 0]])


def read(builds, sheet, device="north-quay-press", stock="natural-cotton"):
    """Readings of an invented printer, whose equations are not the model's."""
    spectra = printers.read_sheet(
        printers.DEVICES[device],
        printers.STOCKS[stock],
        builds,
        sheet_id=f"sheet {sheet}",
        swatch_ids=[str(at) for at in range(len(builds))],
    )
    xyz = lab_to_xyz(spectra_to_lab(spectra, printers.WAVELENGTHS_NM))
    count = len(builds)
    return Readings(Drive.CMYK, builds, xyz, np.full(count, sheet), np.full(count, 0.3))


def together(*parts):
    return Readings(
        Drive.CMYK,
        *(np.concatenate([getattr(it, name) for it in parts]) for name in ("builds", "xyz")),
        *(np.concatenate([getattr(it, name) for it in parts]) for name in ("sheet", "noise")),
    )


@pytest.fixture(scope="module")
def first():
    scouting = scouting_set(Drive.CMYK, InkPolicy(), 28, beside=CONTROLS)
    return read(np.concatenate([CONTROLS, scouting]), 0)


@pytest.fixture(scope="module")
def model(first):
    return fit(first)


@pytest.fixture(scope="module")
def closing(model):
    return np.concatenate([CONTROLS, *closing_set(model, WANTED[:2], 4, InkPolicy())])


def test_the_bound_beforehand_is_that_of_a_fit_with_the_readings(first, model, closing):
    """Within a factor of two: a fit learns kernel, noise and how much the device wanders anew.

    On five pairs, three sheets each, it was 0.8 to 1.9 times. Two colours get swatches, two do not.
    """
    expected = bound_after(model, WANTED, closing)
    found = fit(together(first, read(closing, 1))).bound(WANTED)
    assert np.all(np.abs(np.log(expected / found)) < np.log(2))
    now = model.bound(WANTED)
    assert np.all(expected < now)
    gained = 1.0 - expected / now
    assert gained[:2].min() > gained[2:].max()


def test_reading_nothing_changes_nothing_and_predictions_stay(model, closing):
    assert np.array_equal(bound_after(model, WANTED, np.empty((0, 4))), model.bound(WANTED))
    after = model.with_sheet(closing, 0.3)
    assert np.allclose(after.predict_lab(WANTED), model.predict_lab(WANTED))


def test_sheet_after_sheet_is_worth_less(model, closing):
    noisy, fine = (bound_after(model, WANTED, closing, noise=noise) for noise in (3.0, 0.1))
    assert np.all(fine < noisy)
    once = model.with_sheet(closing, 0.3)
    twice = once.with_sheet(closing, 0.3)
    gains = model.bound(WANTED) - once.bound(WANTED), once.bound(WANTED) - twice.bound(WANTED)
    assert np.all(gains[1] > 0.0)
    assert np.all(gains[1] < gains[0])


def test_a_drifted_pair_learns_too(first, model, closing):
    drifted = re_anchor(model, first, read(CONTROLS, 2))
    expected = bound_after(drifted, WANTED, closing)
    assert np.all(expected < drifted.bound(WANTED))
    anew = re_anchor(model, first, together(read(CONTROLS, 2), read(closing, 3)))
    assert np.all(np.abs(np.log(expected / anew.bound(WANTED))) < np.log(1.35))


@pytest.mark.parametrize(("floor", "now", "after"), [(2.1, 1.2, 0.5), (1.6, 2.0, 1.0), (3, 4, 1)])
def test_the_chance_of_a_sure_verdict_is_that_of_a_simulation(floor, now, after):
    """Many aims behind a flat edge of the reach: the edge lies where nobody knows quite."""
    rng = np.random.default_rng(6)
    spread = np.sqrt(now**2 - after**2) / BOUND_TO_SIGMA
    # In three dimensions: builds are matched anew, so what is learned along the edge is followed.
    learned = np.array([floor, 0.0, 0.0]) + spread * rng.normal(size=(20_000, 3))
    left = np.maximum(learned[:, 0], 0.0)
    found = differences(left, after, 2.0)
    inside, outside = chance_decided(floor, now, after, 2.0, floor)
    assert inside == pytest.approx(np.mean(found.within >= SURE), abs=0.015)
    assert outside == pytest.approx(np.mean(found.beyond >= SURE), abs=0.015)


def test_what_lies_at_the_limit_by_nature_is_no_question_for_paper():
    inside, outside = chance_decided(2.1, 0.5, 0.4, 2.0, 2.1)
    assert inside + outside < 0.1
    # In reach of both: matched anew, the pieces come together, whatever the reading says.
    inside, outside = chance_decided([0.3, 0.3], 3.0, [1.2, 2.5], 2.0)
    assert inside.tolist() == [1.0, 0.0]
    assert outside.tolist() == [0.0, 0.0]
