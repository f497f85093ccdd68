"""The ways in which one print of a press differs from another: half tones and solids wander.

Each ink has two: dot gain, largest at half tone, and strength, largest at the solid. How much a
colour moves then follows from how it changes with the inks.
"""

import numpy as np

from inkaccord.colour.arrays import Array

_GAIN = 0.006
"""Standard deviation of the coverage at half tone between sheets. No source: with it the bounds of
one sheet, as of two, hold in 95 of 100 cases on presses that wander (docs/colour-method.md)."""
_STRENGTH = 0.006
"""The same of a solid, as a share of its effect."""


def drift_deviations(inks: int) -> Array:
    """Return the standard deviations (2k,) of the coefficients: gains, then strengths."""
    return np.repeat([_GAIN, _STRENGTH], inks)


def drift_basis(nominal: Array, by_coverage: Array) -> Array:
    """Return how colours move by the coefficients.

    Parameters
    ----------
    nominal
        (n, k) nominal coverages.
    by_coverage
        (n, 3, k) derivatives of any three colour coordinates by them.

    Returns
    -------
    Array
        (n, 3, 2k)
    """
    gain = by_coverage * (4.0 * nominal * (1.0 - nominal))[:, None, :]
    return np.concatenate([gain, by_coverage * nominal[:, None, :]], axis=2)
