"""The types of numbers that every part of the colour engine takes and gives."""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
"""Floats in the shape that the function names: ``(3,)`` a colour, ``(n, 3)`` colours."""

Lab = tuple[float, float, float]
"""CIELAB of one colour, D50 and 2° unless said otherwise: a value to compare and to keep."""


def as_lab(values: Array) -> Lab:
    """Return CIELAB (3,) as a value, to a thousandth."""
    lightness, a, b = (round(float(value), 3) for value in values)
    return (lightness, a, b)
