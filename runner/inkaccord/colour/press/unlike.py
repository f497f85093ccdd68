"""Noticing that a device is unlike those that the priors were learned from.

Its own readings say so: under what is known of any device, the usual residual included, they are
less likely than theirs. How large and how far-reaching its residual is, is then known from its own
few readings alone, and a normal quantile is too near: Student's t takes its place (that of a scale
which is itself only estimated: Gosset, Biometrika 6(1), 1908, from memory).
"""

import numpy as np
from scipy.special import expit, stdtrit

from inkaccord.colour.arrays import Array
from inkaccord.colour.press.faults import FEWEST

_LARGER = 1.5
"""By how much larger the variances of an unlike device are taken to be, to weigh the two (no
source)."""
_ODDS = 2.0
"""ln of the odds that a device is unlike, before any reading: the priors know presses, and most
people print on something else (no source)."""
_LEARNED, _LEAST = 11, 5
"""What is learned of residual and noise takes so many degrees of freedom from the readings, and
leaves these at least. Chosen on the invented devices that ``tests/benchmarks/unlike_devices.py``
lists for it, not on those that judge."""


def unlikeness(misfit: Array) -> float:
    """Return the probability that a device is unlike the population.

    Parameters
    ----------
    misfit
        (n,) χ² of all readings (three values each) under what is known beforehand, shared out.
    """
    if len(misfit) < FEWEST:
        return 0.0
    values = 3.0 * len(misfit)
    surplus = (1.0 - 1.0 / _LARGER) * float(misfit.sum()) - values * np.log(_LARGER)
    return float(expit(0.5 * surplus + _ODDS))


def own_scale_doubt(unlike: float, count: int) -> float:
    """Return the factor on all variances for a scale known from so many readings alone.

    ``unlike`` is the probability that it is.
    """
    freedom = max(count - _LEARNED, _LEAST)
    tail = float(stdtrit(freedom, 0.975) / stdtrit(np.inf, 0.975)) ** 2
    return 1.0 + unlike * (tail - 1.0)
