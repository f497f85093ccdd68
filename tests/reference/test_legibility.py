"""Post and legibility: USPS Publication 25 §10-3, Royal Mail's limits, WCAG 2.

The limits are checked in the code that `check` and `run` ask: `usps_shortfalls` and
`royal_mail_shortfalls`, whose findings artwork/preflight/post.py words.
"""

import numpy as np
import pytest

from benchmarks.virtual_pairs import KRITA, raw_set
from inkaccord.colour.legibility import (
    Measure,
    Reflectances,
    contrast_ratio,
    estimated_reflectances,
    royal_mail_shortfalls,
    usps_shortfalls,
)
from inkaccord.colour.spaces import xyz_to_lab
from inkaccord.colour.spectra import spectra_to_lab
from outside import need_file

BANDS_NM = (600.0, 700.0), (500.0, 570.0), (590.0, 610.0)


def alike(reflectance):
    return Reflectances(reflectance, reflectance, reflectance)


@pytest.mark.parametrize(
    ("paper", "ink", "missed"),
    [
        # R_b .85, R_i .10: difference 75, contrast 88.2. R_b .25, R_i .03: contrast 88 passes.
        (0.85, 0.10, {}),
        (0.25, 0.03, {Measure.PAPER: 0.25, Measure.DIFFERENCE: 0.22}),
        (0.80, 0.45, {Measure.CONTRAST: 0.4375}),
        (0.0, 0.0, {Measure.PAPER: 0.0, Measure.DIFFERENCE: 0.0, Measure.CONTRAST: 0.0}),
        (0.35, 0.05, {}),  # each limit is itself enough
        (0.60, 0.30, {}),
    ],
)
def test_royal_mail_limits(paper, ink, missed):
    found = {
        short.measure: short.reached for short in royal_mail_shortfalls(alike(paper), alike(ink))
    }
    assert found == pytest.approx(missed)


def test_usps_limits():
    white = alike(0.85)
    # A red ink reflects red: it fails there, whatever it does in green.
    (short,) = usps_shortfalls(white, Reflectances(0.75, 0.08, 0.5))
    assert (short.measure, short.band, short.least) == (Measure.DIFFERENCE, "in red", 0.30)
    assert short.reached == pytest.approx(0.10)
    assert [it.band for it in usps_shortfalls(white, Reflectances(0.1, 0.75, 0.1))] == ["in green"]
    assert list(usps_shortfalls(white, alike(0.55))) == []  # 30 percent is enough


@pytest.mark.parametrize(("grey", "ratio"), [(0x00, 21.0), (0x76, 4.542), (0x77, 4.478)])
def test_wcag_values_on_white(grey, ratio):
    # sRGB to relative luminance as in WCAG 2.
    share = grey / 255
    luminance = share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4
    lab = xyz_to_lab(luminance * np.array([96.422, 100.0, 82.521]))
    assert abs(contrast_ratio([100, 0, 0], lab) - ratio) < 5e-4
    assert contrast_ratio(lab, [100, 0, 0]) == contrast_ratio([100, 0, 0], lab)


def test_estimates_from_lab():
    paper = Reflectances.estimate([93, 0, -3])
    assert list(usps_shortfalls(paper, Reflectances.estimate([18, 0, 0]))) == []
    assert list(usps_shortfalls(paper, Reflectances.estimate([50, 70, 45])))
    # Grey of L* 50: Y = 18.42 (CIE 15, from its formula), in every band.
    assert np.allclose(estimated_reflectances([50, 0, 0]), 0.184, atol=1e-3)


def test_estimates_against_read_spectra():
    """The errors that the docstring states, on the set that the weights come from."""
    readings = raw_set(need_file(KRITA, "krita-data"))
    nm = np.asarray(readings.wavelengths)
    estimated = estimated_reflectances(spectra_to_lab(readings.spectra, nm))
    for column, (rms, largest) in enumerate([(0.033, 0.15), (0.010, 0.035), (0.008, 0.055)]):
        least, most = BANDS_NM[column]
        read = np.asarray(readings.spectra)[:, (nm >= least) & (nm <= most)].mean(axis=1)
        error = estimated[:, column] - read
        assert np.sqrt(np.mean(error**2)) < rms
        assert np.abs(error).max() < largest
