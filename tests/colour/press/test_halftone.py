"""Tone curves, mixing and coordinates: bounds, inverses and derivatives."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inkaccord.colour.builds import Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.perceptual import even_jacobian, even_to_lab, lab_to_even
from inkaccord.colour.press.population import populations
from inkaccord.colour.press.residual import Kernel
from inkaccord.colour.press.tone import curve_by_shape, curves


def spread_lab(rng, count):
    return np.column_stack([rng.uniform(3, 97, count), rng.uniform(-80, 80, (count, 2))])


LAB = spread_lab(np.random.default_rng(7), 60)


def central(function, point, step):
    """Return derivatives along the last axis by central differences."""
    size = point.shape[-1]
    return np.stack(
        [
            (function(point + step * e) - function(point - step * e)) / (2 * step)
            for e in np.eye(size)
        ],
        axis=-1,
    )


@settings(max_examples=40, deadline=None)
@given(st.lists(st.floats(-1.5, 1.5), min_size=6, max_size=6))
def test_a_tone_curve_runs_from_0_to_1_and_always_rises(shape):
    t = np.linspace(0, 1, 173)
    value, slope = (r[:, 0] for r in curves(t[:, None], np.array([shape])))
    assert value[0] == pytest.approx(0.0, abs=1e-12)
    assert value[-1] == pytest.approx(1.0, abs=1e-9)
    assert (np.diff(value) > 0).all()
    assert (slope > 0).all()


def test_a_tone_curve_knows_its_derivatives():
    shape, t = np.array([0.4, -0.2, 0.1]), np.array([0.013, 0.31, 0.5, 0.987])

    def curve(at, coefficients):
        return curves(at[:, None], coefficients[None])[0][:, 0]

    slope = curves(t[:, None], shape[None])[1][:, 0]
    by_shape = curve_by_shape(t, shape)
    assert slope == pytest.approx(
        (curve(t + 1e-5, shape) - curve(t - 1e-5, shape)) / 2e-5, rel=1e-4
    )
    assert by_shape == pytest.approx(central(lambda s: curve(t, s), shape, 1e-5), abs=2e-4)


def test_even_coordinates_have_an_inverse_and_derivatives():
    assert even_to_lab(lab_to_even(LAB)) == pytest.approx(LAB, abs=1e-9)
    grey = np.array([[50.0, 0.0, 0.0]])
    assert even_to_lab(lab_to_even(grey)) == pytest.approx(grey, abs=1e-9)
    assert even_jacobian(LAB) == pytest.approx(central(lab_to_even, LAB, 1e-5), abs=1e-6)


def test_a_step_in_even_coordinates_looks_about_equally_large_everywhere():
    rng = np.random.default_rng(7)
    lab = spread_lab(rng, 2000)
    steps = rng.normal(size=lab.shape)
    steps *= 0.5 / np.linalg.norm(steps, axis=1, keepdims=True)
    seen = delta_e_2000(even_to_lab(lab_to_even(lab) + steps), lab) / 0.5
    seen_lab = delta_e_2000(lab + steps, lab) / 0.5
    assert seen.std() / seen.mean() < 0.25
    assert seen.std() / seen.mean() < 0.5 * seen_lab.std() / seen_lab.mean()


KINDS = [kind for drive in Drive for kind in populations(drive)]


@pytest.mark.parametrize("prior", KINDS, ids=lambda kind: type(kind.layout).__name__)
def test_a_model_of_colours_knows_its_derivatives(prior):
    rng = np.random.default_rng(7)
    layout = prior.layout
    parameters = prior.mean + 0.05 * rng.normal(size=layout.size)
    nominal = rng.uniform(0.02, 0.98, (4, layout.inks))
    printed = layout.prints(parameters, nominal, by_parameter=True)
    by_coverage = central(lambda t: layout.prints(parameters, t).xyz, nominal, 1e-5)
    assert printed.by_coverage == pytest.approx(by_coverage, abs=1e-3)
    numeric = central(lambda p: layout.prints(p, nominal).xyz, parameters, 1e-5)
    own = 3 * layout.per_value
    assert printed.by_shared == pytest.approx(numeric[:, :, own:], abs=0.01)
    blocks = numeric[:, :, :own].reshape(4, 3, 3, layout.per_value)
    by_own = np.einsum("xb,nbp->nxbp", printed.by_band, printed.by_parameter)
    assert by_own == pytest.approx(blocks, abs=0.01)


def test_the_population_is_a_proper_gaussian_of_darkening_inks():
    for prior in KINDS:
        assert np.linalg.eigvalsh(prior.covariance).min() > 0
        ramp = np.linspace(0, 1, 11)
        for ink in range(prior.layout.inks):
            nominal = np.zeros((11, prior.layout.inks))
            nominal[:, ink] = ramp
            xyz = prior.layout.prints(prior.mean, nominal).xyz
            assert (np.diff(xyz, axis=0) < 0).all()


def test_a_kernel_knows_its_derivatives():
    rng = np.random.default_rng(7)
    a, b = rng.uniform(size=(5, 4)), rng.uniform(size=(6, 4))
    length = np.array([0.3, 0.5, 0.8, 0.4])
    kernel = Kernel(np.ones(3), length)
    shape, slopes = kernel.shape_slopes(a, b)
    assert shape == pytest.approx(kernel.shape(a, b))
    whole, by_length = kernel.shape_by_length(a)
    assert np.diag(whole) == pytest.approx(np.ones(5))
    for ink in range(4):
        step = 1e-6 * np.eye(4)[ink]
        assert slopes[ink] == pytest.approx(
            (kernel.shape(a + step, b) - kernel.shape(a - step, b)) / 2e-6, abs=1e-6
        )
        more, less = (Kernel(np.ones(3), length * np.exp(s)) for s in (step, -step))
        assert by_length[ink] == pytest.approx(
            (more.shape(a, a) - less.shape(a, a)) / 2e-6, abs=1e-6
        )
