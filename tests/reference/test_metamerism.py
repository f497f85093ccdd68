"""Metamerism index for change of illuminant, ISO 18314-4:2024, against colour-science."""

import numpy as np
import pytest

from inkaccord.colour.metamerism import metamerism, metamerism_index
from inkaccord.colour.spaces import xyz_to_lab
from inkaccord.colour.spectra import light_white, spectra_to_xyz

NM = np.arange(380, 731, 10.0)


def _bumps(*centres, height=0.5, floor=0.08, width=40.0):
    return floor + sum(height * np.exp(-(((NM - c) / width) ** 2)) for c in centres)


SAMPLE = np.stack([_bumps(450, 620), _bumps(520), _bumps(600, width=80)])
STANDARD = np.stack([_bumps(455, 610), _bumps(530, width=35), _bumps(590, 640)])


@pytest.mark.parametrize("light", ["A", "FL11", "LED-B3"])
def test_index_against_colour_science(light):
    from colour.difference import XYZ_to_metamerism_index

    from colour import XYZ_to_xy

    found = metamerism(SAMPLE, STANDARD, NM, light=light)
    theirs = XYZ_to_metamerism_index(
        spectra_to_xyz(SAMPLE, NM, light=light) / 100,
        spectra_to_xyz(STANDARD, NM, light=light) / 100,
        spectra_to_xyz(SAMPLE, NM) / 100,
        spectra_to_xyz(STANDARD, NM) / 100,
        correction="Multiplicative",
        method="CIE 2000",
        illuminant=XYZ_to_xy(light_white(light)),
    )
    assert np.allclose(found.index, theirs, atol=1e-6)


def test_the_index_from_cielab_is_that_from_spectra():
    """The correction is a ratio, so whichever white CIELAB is relative to cancels."""
    light = "A"
    here, there = (
        [
            xyz_to_lab(spectra_to_xyz(it, NM, light=name), light_white(name))
            for it in (SAMPLE, STANDARD)
        ]
        for name in ("D50", light)
    )
    from_lab = metamerism_index((here[0], here[1]), (there[0], there[1]))
    assert np.allclose(from_lab, metamerism(SAMPLE, STANDARD, NM, light=light).index, atol=1e-9)


def test_equal_spectra_are_no_metamers():
    found = metamerism(SAMPLE, SAMPLE, NM)
    assert np.allclose(found.index, 0, atol=1e-9)
    assert np.allclose(found.plain, 0, atol=1e-9)


def test_spectra_in_proportion_do_not_count():
    """A lighter print of the same ink differs under every light, but is no metamer."""
    found = metamerism(0.9 * SAMPLE, SAMPLE, NM)
    assert np.all(found.under_reference > 1)
    assert np.allclose(found.index, 0, atol=1e-6)


def test_different_spectra_that_match_under_d50_part_under_a_filament_lamp():
    from scipy.optimize import least_squares

    grey = np.full(len(NM), 0.3)
    waves = np.stack([_bumps(c, height=1, floor=0) for c in (440, 540, 610)])

    def miss(height):
        return spectra_to_xyz(height @ waves + 0.05, NM) - spectra_to_xyz(grey, NM)

    pair = least_squares(miss, [0.2, 0.2, 0.2]).x @ waves + 0.05
    found = metamerism(pair, grey, NM, light="A")
    assert found.under_reference < 0.01
    assert found.index > 1
    assert abs(found.index - found.plain) < 0.05
