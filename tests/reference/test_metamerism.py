"""Metamerism index for change of illuminant, ISO 18314-4:2024, against colour-science."""

import numpy as np
import pytest

from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.metamerism import metamerism_index
from inkaccord.colour.spectra import light_white, spectra_to_lab, spectra_to_xyz

NM = np.arange(380, 731, 10.0)


def _bumps(*centres, height=0.5, floor=0.08, width=40.0):
    return floor + sum(height * np.exp(-(((NM - c) / width) ** 2)) for c in centres)


SAMPLE = np.stack([_bumps(450, 620), _bumps(520), _bumps(600, width=80)])
STANDARD = np.stack([_bumps(455, 610), _bumps(530, width=35), _bumps(590, 640)])


def seen(sample, standard, light):
    """CIELAB of both under a light, as a pair's model under that light has it."""
    return tuple(spectra_to_lab(it, NM, light=light) for it in (sample, standard))


def index(sample, standard, light="A"):
    """The index as the stage `agree` asks for it."""
    return metamerism_index(seen(sample, standard, "D50"), seen(sample, standard, light))


@pytest.mark.parametrize("light", ["A", "FL11", "LED-B3"])
def test_index_against_colour_science(light):
    from colour.difference import XYZ_to_metamerism_index

    from colour import XYZ_to_xy

    found = index(SAMPLE, STANDARD, light)
    theirs = XYZ_to_metamerism_index(
        spectra_to_xyz(SAMPLE, NM, light=light) / 100,
        spectra_to_xyz(STANDARD, NM, light=light) / 100,
        spectra_to_xyz(SAMPLE, NM) / 100,
        spectra_to_xyz(STANDARD, NM) / 100,
        correction="Multiplicative",
        method="CIE 2000",
        illuminant=XYZ_to_xy(light_white(light)),
    )
    assert np.allclose(found, theirs, atol=1e-6)


def test_equal_spectra_are_no_metamers():
    assert np.allclose(index(SAMPLE, SAMPLE), 0, atol=1e-9)


def test_spectra_in_proportion_do_not_count():
    """A lighter print of the same ink differs under every light, but is no metamer."""
    assert np.all(delta_e_2000(*seen(0.9 * SAMPLE, SAMPLE, "D50")) > 1)
    assert np.allclose(index(0.9 * SAMPLE, SAMPLE), 0, atol=1e-6)


def test_different_spectra_that_match_under_d50_part_under_a_filament_lamp():
    from scipy.optimize import least_squares

    grey = np.full(len(NM), 0.3)
    waves = np.stack([_bumps(c, height=1, floor=0) for c in (440, 540, 610)])

    def miss(height):
        return spectra_to_xyz(height @ waves + 0.05, NM) - spectra_to_xyz(grey, NM)

    pair = least_squares(miss, [0.2, 0.2, 0.2]).x @ waves + 0.05
    assert delta_e_2000(*seen(pair, grey, "D50")) < 0.01
    assert index(pair, grey) > 1
    assert abs(index(pair, grey) - delta_e_2000(*seen(pair, grey, "A"))) < 0.05
