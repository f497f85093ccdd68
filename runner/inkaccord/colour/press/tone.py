"""Tone curves: from the nominal to the effective coverage of an ink.

A curve is a(t) = ∫₀ᵗ exp g / ∫₀¹ exp g with g(t) = Σ cₖ cos(kπt): it runs from 0 to 1, it always
rises, and plain Gaussian priors on the cₖ make it smooth. c₁ > 0 is dot gain.
"""

from functools import cache

import numpy as np
from numpy.typing import NDArray

from inkaccord.colour.arrays import Array

_STEPS = 200
_GRID = np.linspace(0.0, 1.0, _STEPS + 1)


def curves(nominal: Array, shapes: Array) -> tuple[Array, Array]:
    """Return effective coverages and their slopes.

    Parameters
    ----------
    nominal
        (n, k) nominal coverages, 0 to 1.
    shapes
        (..., k, modes) the coefficients cₖ; leading axes are sets of curves.

    Returns
    -------
    effective, slope : (..., n, k)
        The slope is by the nominal coverage.
    """
    density = np.exp(_waves(shapes.shape[-1]) @ np.swapaxes(shapes, -1, -2))  # (..., 201, k)
    area = _running(density)
    whole = area[..., -1:, :]
    effective, slope = area / whole, density / whole
    left, t = _place(nominal)
    inks = np.arange(nominal.shape[1])
    low, high = effective[..., left, inks], effective[..., left + 1, inks]
    low_slope, high_slope = slope[..., left, inks], slope[..., left + 1, inks]
    # Cubic Hermite between grid points: smooth, and exact at whole and half percents.
    h, t2 = 1.0 / _STEPS, t * t
    rest = 1.0 - t
    value = low + t2 * (3.0 - 2.0 * t) * (high - low)
    value += h * t * rest * (rest * low_slope - t * high_slope)
    return value, rest * low_slope + t * high_slope


def curve_by_shape(nominal: Array, shape: Array) -> Array:
    """Return the derivatives (..., n, modes) of effective coverages by coefficients (..., modes).

    ``nominal`` is (n,); leading axes are sets of curves.
    """
    waves = _waves(shape.shape[-1])
    density = np.exp(waves @ shape[..., None])  # (..., 201, 1)
    area = _running(density)
    moments = _running(density * waves) / area[..., -1:, :]
    by_shape = moments - area / area[..., -1:, :] * moments[..., -1:, :]
    left, t = _place(nominal)
    low, high = by_shape[..., left, :], by_shape[..., left + 1, :]
    return np.asarray((1 - t)[:, None] * low + t[:, None] * high)


@cache
def _waves(modes: int) -> Array:
    """Return cos(kπt) on the grid, (201, modes)."""
    return np.cos(np.pi * np.outer(_GRID, np.arange(1, modes + 1)))


def _running(values: Array) -> Array:
    """Return the running integral along the last axis but one (trapezium rule), from 0."""
    result = np.zeros_like(values)
    steps = 0.5 * (values[..., 1:, :] + values[..., :-1, :]) / _STEPS
    np.cumsum(steps, axis=-2, out=result[..., 1:, :])
    return result


def _place(nominal: Array) -> tuple[NDArray[np.int64], Array]:
    """Return the grid point to the left of each coverage, and the share of the step beyond it."""
    place = np.clip(nominal, 0.0, 1.0) * _STEPS
    left = np.minimum(place.astype(np.int64), _STEPS - 1)
    return left, place - left
