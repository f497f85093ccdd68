"""What is known of a press before it is read, and by how much bounds grow."""

from dataclasses import replace

import numpy as np
import pytest

from inkaccord.colour.builds import Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.press.bands import to_bands, to_xyz
from inkaccord.colour.press.evidence import usual_kernel
from inkaccord.colour.press.faults import LeftOut, overconfidence
from inkaccord.colour.press.fitting import Data
from inkaccord.colour.press.kriging import Posterior
from inkaccord.colour.press.model import fit
from inkaccord.colour.press.noise import Noise
from inkaccord.colour.press.priors import press_prior
from inkaccord.colour.press.usual_residual import usual_offsets, usual_residual
from inkaccord.colour.readings import Readings
from inkaccord.colour.spaces import D50_WHITE, lab_to_xyz, xyz_to_lab

PRIOR = press_prior()


def test_white_is_one_in_every_band_and_bands_have_an_inverse():
    assert to_bands(D50_WHITE) == pytest.approx(np.ones(3))
    xyz = lab_to_xyz(np.array([[55.0, -37.0, -50.0], [48.0, 74.0, -3.0], [89.0, -5.0, 93.0]]))
    assert to_xyz(to_bands(xyz)) == pytest.approx(xyz)


def test_bands_that_light_can_have_give_no_negative_xyz():
    bands = np.random.default_rng(1).uniform(0.0, 1.0, (200, 3))
    assert (to_xyz(bands) >= 0.0).all()


def test_the_usual_press_prints_nearly_the_solids_of_the_offset_standard():
    """ISO 12647-2:2004/Amd 1:2007, paper types 1 and 2, on white backing (from memory)."""
    solids = {
        (100, 0, 0, 0): (55, -37, -50),
        (0, 100, 0, 0): (48, 74, -3),
        (0, 0, 100, 0): (89, -5, 93),
        (0, 0, 0, 100): (16, 0, 0),
    }
    nominal = np.array(list(solids), dtype=np.float64) / 100.0
    printed = xyz_to_lab(PRIOR.layout.prints(PRIOR.mean, nominal).xyz)
    assert delta_e_2000(printed, np.array(list(solids.values()), dtype=np.float64)).max() < 6.0


def test_the_usual_residual_follows_its_table():
    nominal, offsets = usual_offsets()
    assert len(nominal) == 76
    assert nominal.sum(axis=1).max() <= 3.0
    found = usual_residual(PRIOR.layout, PRIOR.mean).mean(nominal)
    assert np.abs(found - offsets).max() < 0.3
    assert np.sqrt(np.mean(offsets**2)) < 1.0


def test_paper_alone_gives_a_press_that_prints_like_others():
    paper = np.array([[93.0, 0.0, 1.0]])
    model = fit(
        Readings(Drive.CMYK, np.zeros((1, 4)), lab_to_xyz(paper), np.zeros(1, int), np.full(1, 0.3))
    )
    assert delta_e_2000(model.predict_lab(np.zeros((1, 4))), paper)[0] < 0.3
    solid = np.array([[0.0, 0.0, 0.0, 100.0]])
    assert model.predict_lab(solid)[0, 0] < 30.0
    assert model.bound(solid)[0] > 4.0


def test_far_from_all_readings_the_bound_grows_by_more_than_the_kernel_says():
    nominal = np.random.default_rng(3).uniform(0.0, 0.3, (30, 4))
    data = Data(
        nominal, np.zeros((30, 3)), Noise.plain(np.full(30, 0.05)), np.zeros(30, dtype=np.int_)
    )
    kernel = usual_kernel(PRIOR)
    sure = replace(PRIOR, rest=replace(PRIOR.rest, remote=0.0))
    near, far = nominal[:1], np.array([[1.0, 0.9, 0.9, 0.0]])
    plain, grown = (Posterior.of(kind, PRIOR.mean, kernel, data) for kind in (sure, PRIOR))

    def growth(build):
        more, less = (kind.covariance(build)[1][0] for kind in (grown, plain))
        return np.trace(more - less)

    assert 0.0 <= growth(near) < 0.3 * growth(far)


def test_variances_grow_only_where_predictions_miss_by_more_than_they_say():
    rng = np.random.default_rng(4)
    count = 400
    even = np.column_stack([rng.uniform(30, 80, count), rng.normal(0, 10, (count, 2))])
    data = Data(
        np.zeros((count, 4)),
        even,
        Noise.plain(np.full(count, 0.01)),
        np.zeros(count, dtype=np.int_),
    )
    good = np.ones(count, dtype=np.bool_)
    spread = np.full((count, 3), 0.25)

    def missed_by(times):
        return LeftOut(even + times * 0.5 * rng.normal(size=(count, 3)), spread, np.zeros(count))

    assert overconfidence(missed_by(0.5), data, good) == 1.0
    assert overconfidence(missed_by(1.0), data, good) == pytest.approx(1.15, abs=0.3)
    assert overconfidence(missed_by(2.0), data, good) == pytest.approx(4.0 * 1.15, rel=0.3)
    assert overconfidence(missed_by(2.0), data, ~good) == 1.0
