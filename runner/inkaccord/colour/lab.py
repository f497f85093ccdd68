"""CIELAB of one colour as a value."""

from collections.abc import Iterable

Lab = tuple[float, float, float]
"""CIELAB of one colour, D50 and 2° unless said otherwise: a value to compare and to keep."""


def as_lab(values: Iterable[float]) -> Lab:
    """Return CIELAB (3,) as a value, to a thousandth."""
    lightness, a, b = (round(float(value), 3) for value in values)
    return (lightness, a, b)


def is_of_a_print(lab: Iterable[float]) -> bool:
    """Tell whether CIELAB (3,) can be a print's or a paper's, one that fluoresces included.

    Common practice, no source.
    """
    lightness, a, b = lab
    return -0.5 <= lightness <= 105 and abs(a) <= 140 and abs(b) <= 140


def is_reflectance(spectrum: Iterable[float]) -> bool:
    """Tell whether factors, 1 for a perfect white, can be a print's, one that fluoresces included.

    Common practice, no source.
    """
    return all(-0.02 <= value <= 1.6 for value in spectrum)
