"""Tone curves: from the nominal to the effective coverage of an ink.

A curve is a(t) = ∫₀ᵗ exp g / ∫₀¹ exp g with g(t) = Σ cₖ cos(kπt): it runs from 0 to 1, it always
rises, and plain Gaussian priors on the cₖ make it smooth. c₁ > 0 is dot gain.
"""

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_STEPS = 200
_GRID = np.linspace(0.0, 1.0, _STEPS + 1)


def _waves(modes: int) -> Array:
    """Return cos(kπt) on the grid, (201, modes)."""
    return np.cos(np.pi * np.outer(_GRID, np.arange(1, modes + 1)))


def _running(values: Array) -> Array:
    """Return the running integral along the first axis (trapezium rule), from 0."""
    steps = 0.5 * (values[1:] + values[:-1]) / _STEPS
    return np.concatenate([np.zeros((1, *values.shape[1:])), np.cumsum(steps, axis=0)])


@lru_cache(maxsize=128)
def _tables(shape: bytes) -> tuple[Array, Array, Array]:
    """Return effective coverage (201,), slope (201,) and by_shape (201, modes) on the grid.

    Kept, because a fitted model asks for the same twelve curves again and again.
    """
    coefficients = np.frombuffer(shape)
    waves = _waves(len(coefficients))
    density = np.exp(waves @ coefficients)
    area = _running(density)
    whole = area[-1]
    effective, slope = area / whole, density / whole
    moments = _running(density[:, None] * waves) / whole
    return effective, slope, moments - effective[:, None] * moments[-1]


def curve(nominal: Array, shape: Array) -> tuple[Array, Array, Array]:
    """Return the effective coverage with its derivatives.

    Parameters
    ----------
    nominal
        (n,) nominal coverages, 0 to 1.
    shape
        (modes,) the coefficients cₖ.

    Returns
    -------
    effective : (n,)
    slope : (n,)
        By the nominal coverage.
    by_shape : (n, modes)
        By the coefficients.
    """
    effective, slope, by_shape = _tables(shape.tobytes())
    place = np.clip(nominal, 0.0, 1.0) * _STEPS
    left = np.minimum(place.astype(np.int64), _STEPS - 1)
    t = place - left
    # Cubic Hermite between grid points: smooth, and exact at whole and half percents.
    h = 1.0 / _STEPS
    value = (
        (2 * t**3 - 3 * t**2 + 1) * effective[left]
        + (t**3 - 2 * t**2 + t) * h * slope[left]
        + (3 * t**2 - 2 * t**3) * effective[left + 1]
        + (t**3 - t**2) * h * slope[left + 1]
    )
    rise = (1 - t) * slope[left] + t * slope[left + 1]
    shapes = (1 - t)[:, None] * by_shape[left] + t[:, None] * by_shape[left + 1]
    return value, rise, shapes
