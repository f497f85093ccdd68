"""Tone curves: from the nominal to the effective coverage of an ink.

A curve is a(t) = ∫₀ᵗ exp g / ∫₀¹ exp g with g(t) = Σ cₖ cos(kπt): it runs from 0 to 1, it always
rises, and plain Gaussian priors on the cₖ make it smooth. c₁ > 0 is dot gain.
"""

from functools import cache

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_STEPS = 200
_GRID = np.linspace(0.0, 1.0, _STEPS + 1)


def curve(nominal: Array, shape: Array) -> tuple[Array, Array]:
    """Return the effective coverage and its slope.

    Parameters
    ----------
    nominal
        (n,) nominal coverages, 0 to 1.
    shape
        (modes,) the coefficients cₖ.

    Returns
    -------
    effective, slope : (n,)
        The slope is by the nominal coverage.
    """
    density = np.exp(_waves(len(shape)) @ shape)
    area = _running(density)
    effective, slope = area / area[-1], density / area[-1]
    left, t = _place(nominal)
    # Cubic Hermite between grid points: smooth, and exact at whole and half percents.
    h = 1.0 / _STEPS
    value = (
        (2 * t**3 - 3 * t**2 + 1) * effective[left]
        + (t**3 - 2 * t**2 + t) * h * slope[left]
        + (3 * t**2 - 2 * t**3) * effective[left + 1]
        + (t**3 - t**2) * h * slope[left + 1]
    )
    return value, (1 - t) * slope[left] + t * slope[left + 1]


def curve_by_shape(nominal: Array, shape: Array) -> Array:
    """Return the derivatives (n, modes) of the effective coverage by the coefficients."""
    waves = _waves(len(shape))
    density = np.exp(waves @ shape)
    area = _running(density)
    moments = _running(density[:, None] * waves) / area[-1]
    by_shape = moments - (area / area[-1])[:, None] * moments[-1]
    left, t = _place(nominal)
    return np.asarray((1 - t)[:, None] * by_shape[left] + t[:, None] * by_shape[left + 1])


@cache
def _waves(modes: int) -> Array:
    """Return cos(kπt) on the grid, (201, modes)."""
    return np.cos(np.pi * np.outer(_GRID, np.arange(1, modes + 1)))


def _running(values: Array) -> Array:
    """Return the running integral along the first axis (trapezium rule), from 0."""
    steps = 0.5 * (values[1:] + values[:-1]) / _STEPS
    return np.concatenate([np.zeros((1, *values.shape[1:])), np.cumsum(steps, axis=0)])


def _place(nominal: Array) -> tuple[NDArray[np.int64], Array]:
    """Return the grid point to the left of each coverage, and the share of the step beyond it."""
    place = np.clip(nominal, 0.0, 1.0) * _STEPS
    left = np.minimum(place.astype(np.int64), _STEPS - 1)
    return left, place - left
