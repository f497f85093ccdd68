"""Tolerances: the defaults that an order has, against published numbers."""

from inkaccord.order.model import Tolerances


def test_the_default_to_the_aim_is_that_of_solids_in_offset():
    """ISO 12647-2:2013, solids of C, M and Y (via Rochester Institute of Technology, 854)."""
    assert Tolerances().to_aim == 3.5


def test_pieces_are_held_closer_to_each_other():
    """About 2 is a close match side by side (common practice, no source; disputed)."""
    assert Tolerances().between_pieces == 2.0
