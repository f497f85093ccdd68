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


# ISO 13655:1996, weights for D50 and the 2° observer, every 10 nm from 380 nm: X to 720 nm and Y to
# 690 nm, as a public program quotes them (the standard itself was not at hand).
PRINTED_X = """
    0.004 0.012 0.060 0.234 0.775 1.610 2.453 2.777 2.500 1.717 0.861 0.283 0.040 0.088 0.593 1.590
    2.799 4.207 5.657 7.132 8.540 9.255 9.835 9.469 8.009 5.926 4.171 2.609 1.541 0.855 0.434 0.194
    0.097 0.050 0.022
"""
PRINTED_Y = """
    0.000 0.000 0.002 0.006 0.023 0.066 0.162 0.313 0.514 0.798 1.239 1.839 2.948 4.632 6.587 8.308
    9.197 9.650 9.471 8.902 8.112 6.829 5.838 4.753 3.573 2.443 1.629 0.984 0.570 0.313 0.158 0.070
"""


@pytest.mark.parametrize(("axis", "printed"), [(0, PRINTED_X), (1, PRINTED_Y)])
def test_weights_are_those_of_a_printed_table(axis, printed):
    rows = np.array(printed.split(), dtype=float)
    nm = np.arange(380.0, 731.0, 10.0)
    lines = np.eye(len(nm))[: len(rows)]  # a spectrum of one line has that line's weight as its XYZ
    # The table was made of the CIE's 5 nm values, ours are of its 1 nm values.
    assert np.abs(spectra_to_xyz(lines, nm)[:, axis] - rows).max() < 0.015
    white = spectra_to_xyz(np.ones(len(nm)), nm)
    assert np.allclose(white, [96.422, 100.0, 82.521], atol=0.01)  # ASTM E308, white of D50 and 2°


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
