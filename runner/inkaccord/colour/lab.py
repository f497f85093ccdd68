"""CIELAB of one colour as a value."""

from collections.abc import Iterable

Lab = tuple[float, float, float]
"""CIELAB of one colour, D50 and 2° unless said otherwise: a value to compare and to keep."""


def as_lab(values: Iterable[float]) -> Lab:
    """Return CIELAB (3,) as a value, to a thousandth."""
    lightness, a, b = (round(float(value), 3) for value in values)
    return (lightness, a, b)
