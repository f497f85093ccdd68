"""A device unlike all presses is noticed from its own readings, and its bounds hold."""

import numpy as np
import pytest

from inkaccord.colour.press.unlike import own_scale_doubt, unlikeness


def test_readings_as_likely_as_any_press_speaks_for_say_that_it_is_one():
    assert unlikeness(np.full(40, 2.0)) < 0.01
    assert unlikeness(np.full(40, 6.0)) > 0.99
    few, many = (unlikeness(np.full(count, 4.5)) for count in (16, 40))
    assert 0.5 < few < many


def test_a_few_readings_say_nothing_of_a_device():
    assert unlikeness(np.full(11, 30.0)) == 0.0


def test_a_scale_known_from_few_readings_is_known_less():
    # Student's t at 97.5 % beside the normal's 1.960, from a printed table: 5 degrees of freedom
    # 2.571, 13 degrees 2.160 (Abramowitz and Stegun, Handbook, 1964, table 26.10, from memory).
    assert own_scale_doubt(1.0, 16) == pytest.approx((2.571 / 1.960) ** 2, rel=1e-3)
    assert own_scale_doubt(1.0, 24) == pytest.approx((2.160 / 1.960) ** 2, rel=1e-3)
    assert own_scale_doubt(0.0, 16) == 1.0
    assert own_scale_doubt(1.0, 1000) == pytest.approx(1.0, abs=0.01)
