"""From the best build to the best build in whole numbers."""

from itertools import product

import numpy as np

from inkaccord.colour.arrays import Array
from inkaccord.colour.delta_e import delta_e_2000_parts, delta_e_2000_slopes
from inkaccord.colour.predictor import Predictor

_REACH = 2
"""Neighbours up to this many whole steps away are weighed."""
_TRIED = 8
"""So many of them, the best by the linear estimate, are judged by the model."""
_EQUAL = 0.01
"""ΔE00 below which two neighbours count as equal and the policy decides."""


def whole_builds(
    model: Predictor,
    aims: Array,
    unrounded: Array,
    *,
    lower: Array,
    upper: Array,
    cap: float,
    goal: Array,
) -> Array:
    """Return whole-number builds near the given ones that print the aims best.

    Channels that are 0 stay 0: a new ink of one percent is below what a device prints reliably.

    Parameters
    ----------
    model
        What the pair prints.
    aims
        (m, 3) CIELAB.
    unrounded, upper, goal
        (m, k): where to search, the limits, and what is preferred among equals (NaN: no wish).
    lower
        (k,) the least of each channel.
    cap
        Largest sum of a build.
    """
    count, channels = unrounded.shape
    base = np.rint(unrounded)
    offsets = np.array(list(product(range(-_REACH, _REACH + 1), repeat=channels)), dtype=np.float64)
    lab, jacobian = model.lab_and_jacobian(unrounded)
    parts, by_lab = delta_e_2000_slopes(lab, aims)
    slopes = by_lab @ jacobian
    start = parts + np.einsum("mij,mj->mi", slopes, base - unrounded)
    estimate = start[:, None, :] + np.einsum("mij,oj->moi", slopes, offsets)
    squared = (estimate**2).sum(axis=-1)
    builds = base[:, None, :] + offsets
    allowed = np.all((builds >= lower) & (builds <= upper[:, None, :] + 1e-9), axis=-1)
    allowed &= builds.sum(axis=-1) <= cap + 1e-9
    allowed &= ~np.any((unrounded[:, None, :] < 1e-6) & (builds > 0), axis=-1)
    squared[~allowed] = np.inf
    short = np.argsort(squared, axis=1, kind="stable")[:, :_TRIED]
    rows = np.arange(count)[:, None]
    tried = builds[rows, short]
    possible = allowed[rows, short]

    predicted = model.predict_lab(tried.reshape(-1, channels)).reshape(count, -1, 3)
    parts = delta_e_2000_parts(predicted, aims[:, None, :])
    distance = np.where(possible, np.linalg.norm(parts, axis=-1), np.inf)
    equal = distance <= distance.min(axis=1, keepdims=True) + _EQUAL
    away = np.nansum((tried - goal[:, None, :]) ** 2, axis=-1) + 1e-3 * distance
    choice = np.where(equal & possible, away, np.inf).argmin(axis=1)
    return np.asarray(tried[rows[:, 0], choice])
