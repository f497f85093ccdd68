"""CIELAB, screen colours and spectra against colour-science (its version is in pyproject)."""

import numpy as np
import pytest

from inkaccord.colour.spaces import D50_WHITE, lab_to_srgb, lab_to_xyz, xyz_to_lab
from inkaccord.colour.spectra import light_white, spectra_to_lab, spectra_to_xyz
from inkaccord.errors import OrderError

# colour-science says so whenever a spectrum and its tables differ in their ends.
pytestmark = [
    pytest.mark.filterwarnings("ignore:Aligning"),
    pytest.mark.filterwarnings("ignore:Trimming"),
    pytest.mark.filterwarnings("ignore:.*shape could not be honoured"),
]


def test_lab_and_back():
    import colour

    xyz = np.random.default_rng(0).uniform(0, 100, (1000, 3))
    white = colour.XYZ_to_xy(D50_WHITE)
    assert np.allclose(xyz_to_lab(xyz), colour.XYZ_to_Lab(xyz / 100, white), atol=1e-9)
    lab = xyz_to_lab(xyz)
    assert np.allclose(lab_to_xyz(lab), colour.Lab_to_XYZ(lab, white) * 100, atol=1e-9)


def test_screen_colours():
    import colour

    lab = np.random.default_rng(1).uniform([5, -40, -40], [98, 40, 40], (500, 3))
    xyz = colour.Lab_to_XYZ(lab, colour.XYZ_to_xy(D50_WHITE))
    theirs = colour.XYZ_to_sRGB(
        xyz, colour.XYZ_to_xy(D50_WHITE), chromatic_adaptation_transform="Bradford"
    )
    ours, shown = lab_to_srgb(lab)
    assert shown.sum() > 200
    assert np.abs(ours - theirs.clip(0, 1))[shown].max() < 1e-9
    assert np.all(np.any((theirs < -1e-3) | (theirs > 1 + 1e-3), axis=1)[~shown])


@pytest.mark.parametrize("light", ["D50", "D65", "A", "FL11", "LED-B3"])
@pytest.mark.parametrize(("start", "end"), [(380, 730), (400, 700), (360, 780)])
def test_spectra_by_the_weights_of_astm_e308(light, start, end):
    import colour

    nm = np.arange(start, end + 1, 10.0)
    reflectance = np.random.default_rng(2).uniform(0, 1, len(nm))
    theirs = colour.sd_to_XYZ(
        colour.SpectralDistribution(reflectance, nm),
        illuminant=colour.SDS_ILLUMINANTS[light],
        method="ASTM E308",
    )
    assert np.allclose(spectra_to_xyz(reflectance, nm, light=light), theirs, atol=1e-9)


def test_spectra_by_1_nm():
    import colour

    nm = np.arange(380.0, 731.0)
    reflectance = 0.5 + 0.4 * np.sin(nm / 40)
    theirs = colour.sd_to_XYZ(
        colour.SpectralDistribution(reflectance, nm), illuminant=colour.SDS_ILLUMINANTS["D50"]
    )
    assert np.allclose(spectra_to_xyz(reflectance, nm), theirs, atol=1e-9)


@pytest.mark.parametrize("step", [5.0, 20.0, 10 / 3])
def test_other_spacings_agree_on_smooth_spectra(step):
    nm, tens = np.arange(380, 730.1, step), np.arange(380, 731, 10.0)
    by_step = spectra_to_lab(0.4 + 0.2 * np.sin(nm / 60), nm)
    by_tens = spectra_to_lab(0.4 + 0.2 * np.sin(tens / 60), tens)
    assert np.abs(by_step - by_tens).max() < 0.05


def test_white_of_a_light():
    # D65, 2°: 95.047, 100, 108.883 (ASTM E308, from memory).
    assert np.allclose(light_white("D65"), [95.047, 100, 108.883], atol=2e-3)
    assert np.allclose(light_white("F11"), light_white("FL11"))
    nm = np.arange(380, 731, 10.0)
    assert np.allclose(spectra_to_lab(np.ones(36), nm), [100, 0, 0], atol=0.02)


@pytest.mark.parametrize(
    ("nm", "light", "code"),
    [
        (np.arange(380, 731, 10.0), "moonlight", "unknown-light"),
        (np.r_[380.0:700:10, 705, 730, 740, 745], "D50", "bad-wavelengths"),
        (np.linspace(500, 600, 36), "D50", "bad-wavelengths"),
        (np.arange(380, 731, 10.0)[:-1], "D50", "bad-wavelengths"),
    ],
)
def test_what_cannot_be_converted_is_said(nm, light, code):
    with pytest.raises(OrderError) as caught:
        spectra_to_xyz(np.full(36, 0.5), nm, light=light)
    assert caught.value.findings[0].code == code
