"""Tone values. ISO 20654:2017 (formula second-hand, number computed from it); Murray-Davies."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from inkaccord.colour.spaces import lab_to_xyz, xyz_to_lab
from inkaccord.colour.tone_value import (
    carry_tint,
    spot_tone_value,
    tint_lab,
    tone_value_from_density,
)

PAPER, TINT, SOLID = [95.0, 0.0, -2.0], [72.0, 36.0, -4.0], [48.0, 74.0, -3.0]


def test_spot_tone_value():
    assert abs(spot_tone_value(PAPER, TINT, SOLID) - 48.1995) < 5e-5
    assert spot_tone_value(PAPER, PAPER, SOLID) == 0
    assert spot_tone_value(PAPER, SOLID, SOLID) == 100


def test_the_values_are_those_of_the_tristimulus_values():
    """V = 116 f(X/Xn) − 16 by the definition, not by way of CIELAB."""
    white = np.array([96.422, 100, 82.521])

    def direct(lab):
        return 116 * np.cbrt(lab_to_xyz(lab) / white) - 16

    p, t, s = direct(PAPER), direct(TINT), direct(SOLID)
    by_hand = 100 * np.linalg.norm(t - p) / np.linalg.norm(s - p)
    assert abs(by_hand - spot_tone_value(PAPER, TINT, SOLID)) < 1e-9


def test_murray_davies():
    assert abs(tone_value_from_density(0.5, 1.4) - 71.21) < 5e-3
    assert tone_value_from_density(0.0, 1.4) == 0


@given(st.floats(0, 100))
@settings(max_examples=50, deadline=None)
def test_a_tint_has_the_tone_value_it_was_made_for(percent):
    assert abs(spot_tone_value(PAPER, tint_lab(PAPER, SOLID, percent), SOLID) - percent) < 1e-6


def test_a_tint_carried_to_its_own_pair_is_itself():
    assert np.allclose(carry_tint(PAPER, TINT, SOLID, PAPER, SOLID), TINT)


def test_a_carried_tint_has_the_same_tone_value_and_lies_between():
    kraft, kraft_solid = np.array([68.0, 8.0, 24.0]), np.array([40.0, 55.0, 18.0])
    carried = carry_tint(PAPER, TINT, SOLID, kraft, kraft_solid)
    assert abs(spot_tone_value(kraft, carried, kraft_solid) - 48.2) < 6
    assert kraft_solid[0] < carried[0] < kraft[0]
    assert np.allclose(carry_tint(PAPER, PAPER, SOLID, kraft, kraft_solid), kraft)
    assert np.allclose(carry_tint(PAPER, SOLID, SOLID, kraft, kraft_solid), kraft_solid, atol=2.5)
    assert np.allclose(xyz_to_lab(lab_to_xyz(carried)), carried)
