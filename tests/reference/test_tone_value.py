"""Tints by ISO 20654:2017 (formula second-hand)."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from inkaccord.colour.spaces import lab_to_xyz
from inkaccord.colour.tone_value import tint_lab

PAPER, SOLID = [95.0, 0.0, -2.0], [48.0, 74.0, -3.0]
WHITE = np.array([96.422, 100.0, 82.521])
"""D50 as ISO 13655 rounds it."""


def tone_value(tint):
    """The standard's formula from tristimulus values, not by way of CIELAB."""
    paper, printed, solid = (
        116 * np.cbrt(lab_to_xyz(it) / WHITE) - 16 for it in (PAPER, tint, SOLID)
    )
    return 100 * np.linalg.norm(printed - paper) / np.linalg.norm(solid - paper)


@given(st.floats(0, 100))
@settings(max_examples=50, deadline=None)
def test_a_tint_has_the_tone_value_it_was_made_for(percent):
    assert abs(tone_value(tint_lab(PAPER, SOLID, percent)) - percent) < 1e-6
