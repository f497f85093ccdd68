"""Post and legibility: USPS Publication 25 §10-3, Royal Mail's limits, WCAG 2."""

import numpy as np
import pytest

from benchmarks.virtual_pairs import KRITA, raw_set
from inkaccord.colour.legibility import (
    GREEN_NM,
    RED_NM,
    ROYAL_MAIL_NM,
    Known,
    band_reflectance,
    contrast_ratio,
    estimated_reflectances,
    lightness_step,
    luminance_contrast,
    post_contrast_from_lab,
    post_contrast_from_spectra,
    reflectance_contrast,
    reflectance_difference,
    royal_mail_passes,
)
from inkaccord.colour.spectra import spectra_to_lab
from outside import need_file


def test_royal_mail_values():
    # R_b .85, R_i .10 → 75 and 88.2; R_b .25, R_i .03 → contrast 88 passes, difference 22 fails.
    assert abs(reflectance_difference(0.85, 0.10) - 0.75) < 1e-12
    assert abs(reflectance_contrast(0.85, 0.10) - 0.882) < 5e-4
    assert royal_mail_passes(0.85, 0.10)
    assert abs(reflectance_contrast(0.25, 0.03) - 0.88) < 1e-12
    assert not royal_mail_passes(0.25, 0.03)
    assert not royal_mail_passes(0.80, 0.45)
    assert reflectance_contrast(0.0, 0.0) == 0.0


@pytest.mark.parametrize(("grey", "ratio"), [(0x00, 21.0), (0x76, 4.542), (0x77, 4.478)])
def test_wcag_values_on_white(grey, ratio):
    # sRGB to relative luminance as in WCAG 2.
    share = grey / 255
    luminance = share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4
    assert abs(luminance_contrast(1.0, luminance) - ratio) < 5e-4


def test_contrast_of_print():
    assert abs(contrast_ratio([100, 0, 0], [0, 0, 0]) - 21) < 1e-9
    assert contrast_ratio([20, 0, 0], [95, 0, 0]) == contrast_ratio([95, 0, 0], [20, 0, 0])
    assert lightness_step([95, 0, 0], [60, 10, 10]) == 35


def test_usps_difference_from_spectra():
    nm = np.arange(380, 731, 10.0)
    white = np.full(36, 0.85)
    # A red ink reflects red: it fails there, whatever it does in green.
    red = np.where(nm >= 590, 0.75, 0.08)
    assert not post_contrast_from_spectra(white, red, nm).usps_passes
    black = post_contrast_from_spectra(white, np.full(36, 0.04), nm)
    assert black.usps_passes
    assert black.known is Known.READ
    assert abs(black.difference_red - 0.81) < 1e-12
    assert abs(black.difference_green - 0.81) < 1e-12
    with pytest.raises(ValueError, match="wavelength"):
        band_reflectance(white[:5], nm[:5], RED_NM)


def test_estimates_from_lab():
    black = post_contrast_from_lab([93, 0, -3], [18, 0, 0])
    assert black.usps_passes
    assert black.known is Known.ESTIMATED
    assert not post_contrast_from_lab([93, 0, -3], [50, 70, 45]).usps_passes
    assert np.allclose(estimated_reflectances([50, 0, 0]), 0.184, atol=1e-3)


def test_estimates_against_read_spectra():
    """The errors that the docstring states, on the set that the weights come from."""
    readings = raw_set(need_file(KRITA, "krita-data"))
    estimated = estimated_reflectances(spectra_to_lab(readings.spectra, readings.wavelengths))
    for column, (band, rms, largest) in enumerate(
        [(RED_NM, 0.033, 0.15), (GREEN_NM, 0.010, 0.035), (ROYAL_MAIL_NM, 0.008, 0.055)]
    ):
        read = band_reflectance(readings.spectra, readings.wavelengths, band)
        error = estimated[:, column] - read
        assert np.sqrt(np.mean(error**2)) < rms
        assert np.abs(error).max() < largest
