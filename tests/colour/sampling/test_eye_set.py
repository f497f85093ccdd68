"""Ladders of swatches for the eye: apart, in order, within what the pair prints."""

import numpy as np
import pytest

from inkaccord.colour.builds import Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.drivers import other_drivers
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.press.model import fit
from inkaccord.colour.readings import Readings
from inkaccord.colour.sampling.eye_set import APART, COARSE, FINEST, WIDEST, eye_set, steps_of
from inkaccord.colour.spaces import lab_to_lch, lab_to_xyz

CASES = {
    "pale yellow": (Drive.CMYK, (94.0, 0.0, -2.0), (2, 8, 35, 0)),
    "near paper": (Drive.CMYK, (94.0, 0.0, -2.0), (3, 1, 2, 0)),
    "bare paper": (Drive.CMYK, (94.0, 0.0, -2.0), (0, 0, 0, 0)),
    "dark": (Drive.CMYK, (94.0, 0.0, -2.0), (60, 50, 50, 80)),
    "edge of the reach": (Drive.CMYK, (94.0, 0.0, -2.0), (0, 100, 100, 0)),
    "kraft": (Drive.CMYK, (70.0, 8.0, 20.0), (10, 20, 45, 5)),
    "pale by RGB": (Drive.RGB, (94.0, 0.0, -2.0), (255, 240, 180)),
    "dark by RGB": (Drive.RGB, (94.0, 0.0, -2.0), (20, 30, 40)),
}
POLICY = InkPolicy(total_ink_limit=240)


def unread(drive, paper):
    blank = np.full((1, 4 if drive is Drive.CMYK else 3), 0.0 if drive is Drive.CMYK else 255.0)
    xyz = lab_to_xyz(np.array([paper]))
    return fit(Readings(drive, blank, xyz, np.zeros(1, dtype=np.int_), np.array([0.5])))


@pytest.fixture(scope="module")
def models():
    return {key: unread(*key) for key in {(drive, paper) for drive, paper, _ in CASES.values()}}


@pytest.mark.parametrize("step", [COARSE, FINEST], ids=["coarse", "fine"])
@pytest.mark.parametrize("case", CASES)
def test_all_can_be_told_apart_and_the_middle_stands_twice(models, case, step):
    drive, paper, middle = CASES[case]
    model = models[drive, paper]
    builds = eye_set(model, middle, POLICY, (step,) * 3)
    assert POLICY.allows(builds, drive).all()
    assert np.array_equal(builds, np.rint(builds))
    assert (builds == middle).all(axis=1).sum() == 2
    once = np.unique(builds, axis=0)
    assert len(once) == len(builds) - 1
    apart = delta_e_2000(model.predict_lab(once)[:, None], model.predict_lab(once)[None])
    apart[np.diag_indices(len(once))] = np.inf
    assert apart.min() >= APART
    # No swatch is left alone: each has a neighbour one step on.
    assert apart.min(axis=1).max() < 2.2 * step
    assert len(builds) >= 9
    assert eye_set(model, middle, POLICY, (step,) * 3).tobytes() == builds.tobytes()


def test_it_reads_as_ladders(models):
    """On kraft nothing is cut off: dark to light, weak to strong, one hue to the other."""
    drive, paper, middle = CASES["kraft"]
    model = models[drive, paper]
    lab = model.predict_lab(eye_set(model, middle, POLICY))
    lightness, strength, hue = lab[:5], lab[5:10], lab[10:14]
    assert (np.diff(lightness[:, 0]) > 2.0).all()
    assert (np.diff(lab_to_lch(strength)[:, 1]) > 2.0).all()
    assert (np.diff(lab_to_lch(hue)[:, 2]) > 2.0).all()
    for ladder in (lightness, strength):
        steps = delta_e_2000(ladder[1:], ladder[:-1])
        assert ((steps > 2.0) & (steps < 6.0)).all()
        # Little but its own quality changes along a ladder.
        assert delta_e_2000(ladder[0], ladder[-1]) > 0.9 * steps.sum()


def test_a_grey_has_ladders_too(models):
    model = models[Drive.CMYK, (94.0, 0.0, -2.0)]
    lab = model.predict_lab(eye_set(model, (30, 22, 20, 10), POLICY))
    spread = np.ptp(lab, axis=0)
    assert (spread > 8.0).all()


def test_it_is_finer_where_less_is_unknown_but_never_finer_than_the_eye(models):
    model = models[Drive.CMYK, (70.0, 8.0, 20.0)]
    lightness, chroma, hue = steps_of((0.1, 2.0, 30.0))
    assert (lightness, hue) == (FINEST, WIDEST)
    assert FINEST < chroma < COARSE
    lab = model.predict_lab(eye_set(model, (10, 20, 45, 5), POLICY, (FINEST, 4.0, 2.0)))
    assert delta_e_2000(lab[0], lab[4]) < 0.6 * delta_e_2000(lab[5], lab[9])


@pytest.mark.parametrize("middle", [(28, 80, 123), (144, 69, 85), (89, 188, 102)])
def test_what_a_pair_may_be_as_well_puts_its_swatches_last(models, middle):
    drive, paper, _ = CASES["dark by RGB"]
    model, others = models[drive, paper], other_drivers(drive, paper)
    alone, among = (eye_set(model, middle, POLICY, others=it) for it in ((), others))
    assert np.array_equal(among[: len(alone)], alone)
    assert len(alone) < len(among) <= len(alone) + len(others)
    lab = model.predict_lab(among)
    for at in range(len(alone), len(among)):
        assert delta_e_2000(lab[:at], lab[at]).min() > COARSE
