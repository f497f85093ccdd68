"""What is mended of how a scanner sees, and how sure that is."""

import numpy as np
import pytest
from scipy.optimize import least_squares

from inkaccord.colour.builds import Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.glass import assumed_lab, assumed_xyz
from inkaccord.colour.seeing import read_learnt, seeing_of, signs_of, terms
from inkaccord.colour.spectra import spectra_to_xyz
from inkaccord.sheets.controls import control_builds

NM = np.arange(400.0, 701.0, 10.0)
DYES = np.exp(-0.5 * ((NM - np.array([[630.0], [545.0], [440.0]])) / 40.0) ** 2)
BLACK = np.ones((1, len(NM)))


def printed(amounts):
    """Return spectra of prints of three dyes and a black, invented here: smooth and banded."""
    return 0.86 * 10.0 ** -(np.asarray(amounts) @ np.concatenate([1.2 * DYES, BLACK]) + 0.02)


def matching(spectrum):
    """Return the print of the three dyes that a person takes for a thing."""
    wanted = spectra_to_xyz(spectrum, NM)
    found = least_squares(
        lambda dyes: spectra_to_xyz(printed([*dyes, 0.0]), NM) - wanted, [0.4, 0.4, 0.4]
    )
    assert found.cost < 1e-6
    return printed([*found.x, 0.0])


def scan(spectra, peaks):
    """Return linear RGB as three LEDs give it, brought to sRGB by dull paints alone."""
    leds = np.stack([np.exp(-0.5 * ((NM - peak) / 10.0) ** 2) for peak in peaks], -1)
    leds /= leds.sum(axis=0)
    slopes = (NM - 550.0) / 400.0
    dull = np.array([0.4 + a * slopes + b * slopes**2 for a in (-0.5, 0, 0.5) for b in (-1, 0, 1)])
    sought = spectra_to_xyz(dull, NM) / 100 @ np.linalg.inv(assumed_xyz(np.eye(3)) / 100)
    matrix = np.linalg.lstsq(dull @ leds, sought, rcond=None)[0]
    return np.maximum(spectra @ leds @ matrix, 1e-4)


@pytest.mark.parametrize("peaks", [(630.0, 525.0, 465.0), (620.0, 530.0, 455.0)])
def test_three_leds_see_smooth_things_nearer_to_print_once_they_are_mended(peaks):
    builds = np.array([build.values for build in control_builds(Drive.CMYK)]) / 100
    seeing = seeing_of(scan(printed(builds), peaks))
    tilt = (NM - 550.0) / 300.0
    things = np.array([0.3 + a * tilt for a in (-0.2, 0.0, 0.2, 0.35)])
    prints = np.array([matching(thing) for thing in things])
    looks = assumed_lab(scan(things, peaks))
    as_prints = assumed_lab(scan(prints, peaks))
    before = delta_e_2000(looks, as_prints)
    after = delta_e_2000(seeing.as_print(looks), as_prints)
    assert before.mean() > 2.0
    assert after.mean() < 0.75 * before.mean()
    assert all(off < 1.6 * seeing.error(look) for off, look in zip(after, looks, strict=True))


def test_a_usual_scanner_is_mended_as_the_table_has_it_on_the_whole():
    learnt = read_learnt()
    seeing = learnt.seeing(learnt.middle)
    lab = np.array([[55.0, 0.0, 0.0], [70.0, 20.0, 30.0]])
    assert seeing.as_print(lab) == pytest.approx(
        lab + terms(lab) @ learnt.weights[0].reshape(10, 3)
    )
    assert 1.0 < seeing.error(lab[0]) < 5.0


def test_a_scanner_like_none_that_is_known_is_mended_less_and_is_less_sure():
    learnt = read_learnt()
    lab = np.array([50.0, 10.0, 10.0])
    usual = learnt.seeing(learnt.middle)
    known = learnt.seeing(learnt.middle + learnt.scale)
    odd = learnt.seeing(learnt.middle + 40.0 * learnt.scale)
    from_usual = [np.linalg.norm(it.offsets - usual.offsets) for it in (known, odd)]
    assert from_usual[1] < 3.0 * from_usual[0]  # forty times as odd
    assert usual.error(lab) < odd.error(lab) <= 11.0  # no drawn scanner errs by more


def test_terms_are_not_taken_on_beyond_what_things_look_like():
    far = np.array([[50.0, 500.0, 0.0], [50.0, 80.0, 0.0]])
    assert terms(far)[0] == pytest.approx(terms(far)[1])


def test_signs_are_told_by_the_paper_s_own_light():
    controls = np.random.default_rng(1).uniform(0.02, 0.9, (12, 3))
    assert signs_of(controls * [0.5, 0.8, 1.1]) == pytest.approx(signs_of(controls))
    assert len(signs_of(controls)) == len(read_learnt().middle)
