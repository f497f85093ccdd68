"""Tone value: how much of the way from paper to solid a tint has gone.

Sources: ISO 20654:2017, 'Measurement and calculation of spot colour tone value' (formula known
second-hand); Murray–Davies from density: A. Murray, Journal of the Franklin Institute 221(6), 1936
(from memory).
"""

import numpy as np
from numpy.typing import ArrayLike

from inkaccord.colour.arrays import Array


def spot_tone_value(paper_lab: ArrayLike, tint_lab: ArrayLike, solid_lab: ArrayLike) -> Array:
    """Return the spot colour tone value of ISO 20654 in percent.

    100 · ‖V_tint − V_paper‖ / ‖V_solid − V_paper‖ with V = 116 f(·) − 16 of X, Y and Z.

    Parameters
    ----------
    paper_lab, tint_lab, solid_lab
        (..., 3) CIELAB, all under the same conditions.

    Examples
    --------
    >>> float(spot_tone_value([95, 0, -2], [72, 36, -4], [48, 74, -3]).round(4))
    48.1995
    """
    paper, tint, solid = (_values(lab) for lab in (paper_lab, tint_lab, solid_lab))
    far = np.linalg.norm(solid - paper, axis=-1)
    gone = np.linalg.norm(tint - paper, axis=-1)
    return np.asarray(100.0 * np.divide(gone, far, out=np.full(far.shape, np.nan), where=far > 0))


def tone_value_from_density(tint: ArrayLike, solid: ArrayLike) -> Array:
    """Return the Murray–Davies tone value in percent, from densities above the paper."""
    tint, solid = np.asarray(tint, dtype=np.float64), np.asarray(solid, dtype=np.float64)
    return np.asarray(100.0 * (1.0 - 10.0**-tint) / (1.0 - 10.0**-solid))


def tint_lab(paper_lab: ArrayLike, solid_lab: ArrayLike, tone_value: ArrayLike) -> Array:
    """Return the CIELAB on the straight way from paper to solid with this tone value.

    The inverse of :func:`spot_tone_value`: the aim of a tint of which only the percent is known.
    V is linear in CIELAB, so the way is straight in both.

    Parameters
    ----------
    paper_lab, solid_lab
        (..., 3) CIELAB.
    tone_value
        (...) percent.
    """
    paper, solid = np.asarray(paper_lab, dtype=np.float64), np.asarray(solid_lab, dtype=np.float64)
    share = np.asarray(tone_value, dtype=np.float64)[..., None] / 100.0
    return np.asarray(paper + share * (solid - paper))


def carry_tint(
    paper_lab: ArrayLike,
    tint_lab: ArrayLike,
    solid_lab: ArrayLike,
    new_paper_lab: ArrayLike,
    new_solid_lab: ArrayLike,
) -> Array:
    """Return the aim of a tint on another pair: as far from its paper to its solid as before.

    The share of the way is kept in each of V_X, V_Y and V_Z, so that a tint that leaves the
    straight way (most do: dots scatter light) leaves it alike on the other pair. Where paper and
    solid hardly differ in one of them, the shift from the paper is kept instead.

    Parameters
    ----------
    paper_lab, tint_lab, solid_lab
        (..., 3) CIELAB on the pair that the tint is known on.
    new_paper_lab, new_solid_lab
        (..., 3) CIELAB on the other pair.
    """
    paper, tint, solid, new_paper, new_solid = (
        _values(lab) for lab in (paper_lab, tint_lab, solid_lab, new_paper_lab, new_solid_lab)
    )
    way, shift = solid - paper, tint - paper
    clear = np.abs(way) > 5.0
    share = np.divide(shift, way, out=np.zeros(np.broadcast(shift, way).shape), where=clear)
    return _lab(new_paper + np.where(clear, share * (new_solid - new_paper), shift))


def _values(lab: ArrayLike) -> Array:
    """Return V_X, V_Y, V_Z of CIELAB: V_Y = L*, V_X = L* + 0.232 a*, V_Z = L* − 0.58 b*."""
    lab = np.asarray(lab, dtype=np.float64)
    lightness = lab[..., 0]
    return np.stack(
        [lightness + 0.232 * lab[..., 1], lightness, lightness - 0.58 * lab[..., 2]], axis=-1
    )


def _lab(values: Array) -> Array:
    x, y, z = values[..., 0], values[..., 1], values[..., 2]
    return np.stack([y, (x - y) / 0.232, (y - z) / 0.58], axis=-1)
