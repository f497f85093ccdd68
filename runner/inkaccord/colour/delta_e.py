"""CIEDE2000: how far apart two colours look, and its local shape for searches.

Source: ISO/CIE 11664-6; formulae as written out by G. Sharma, W. Wu, E. N. Dalal, 'The CIEDE2000
color-difference formula: implementation notes, supplementary test data, and mathematical
observations', Color Research & Application 30(1):21-30, 2005. kL = kC = kH = 1.
"""

import numpy as np
from numpy.typing import ArrayLike

from inkaccord.colour.arrays import Array

_C7 = 25.0**7


def delta_e_2000(lab_a: ArrayLike, lab_b: ArrayLike) -> Array:
    """Return the CIEDE2000 difference between colours.

    Parameters
    ----------
    lab_a, lab_b
        (..., 3) CIELAB; the leading shapes broadcast, so a table of all differences is
        ``delta_e_2000(lab[:, None], lab[None, :])``.

    Returns
    -------
    Array
        (...) ΔE00, never negative.

    Notes
    -----
    The formula jumps where the two hues lie 180° apart (pair 14 of Sharma et al., Table 1): a
    rounding error may give either side. Searches should start close to the aim.

    Examples
    --------
    >>> float(delta_e_2000([50, 2.6772, -79.7751], [50, 0, -82.7485]).round(4))
    2.0425
    """
    lightness, chroma, hue, rotation = _terms(lab_a, lab_b)
    squared = lightness**2 + chroma**2 + hue**2 + rotation * chroma * hue
    return np.asarray(np.sqrt(np.maximum(squared, 0.0)), dtype=np.float64)


def delta_e_2000_parts(lab: ArrayLike, aim: ArrayLike) -> Array:
    """Return three signed residuals whose root sum of squares is ΔE00.

    Parameters
    ----------
    lab, aim
        (..., 3) CIELAB; the leading shapes broadcast.

    Returns
    -------
    Array
        (..., 3): lightness, chroma and hue parts, positive where ``lab`` is lighter, stronger,
        or turned to greater hue angles. The rotation term of the formula, which couples chroma
        and hue in the blues, is completed to a square: (c + R h / 2)² + (1 − R² / 4) h², which
        is positive since |R| ≤ 2 sin 60°.
    """
    lightness, chroma, hue, rotation = _terms(aim, lab)
    return np.stack(
        [lightness, chroma + 0.5 * rotation * hue, np.sqrt(1.0 - 0.25 * rotation**2) * hue],
        axis=-1,
    )


def delta_e_2000_slopes(lab: ArrayLike, aim: ArrayLike) -> tuple[Array, Array]:
    """Return the parts of the difference, (..., 3), and their derivatives by ``lab``, (..., 3, 3).

    Forward differences: the formula's own derivatives are long, and no search needs more digits.
    """
    colour, target = np.broadcast_arrays(np.asarray(lab, float), np.asarray(aim, float))
    step = 1e-4
    moves = np.concatenate([np.zeros((1, 3)), step * np.eye(3)])
    parts = delta_e_2000_parts(colour[..., None, :] + moves, target[..., None, :])
    slopes = (parts[..., 1:, :] - parts[..., :1, :]) / step
    return parts[..., 0, :], np.asarray(np.swapaxes(slopes, -1, -2))


def delta_e_2000_metric(lab: ArrayLike) -> Array:
    """Return the metric of CIEDE2000 at a colour: ΔE00² ≈ dᵀ M d for a small step d in CIELAB.

    Parameters
    ----------
    lab
        (..., 3) CIELAB.

    Returns
    -------
    Array
        (..., 3, 3), symmetric and positive definite. Its determinant's root is the number of
        ΔE00 cells in a unit of CIELAB volume.
    """
    lab = np.asarray(lab, dtype=np.float64)
    a, b = lab[..., 1], lab[..., 2]
    s_l, s_c, s_h, rotation, gain = _weights(lab[..., 0], np.hypot(a, b), a, b)
    a_scaled = gain * a
    chroma = np.hypot(a_scaled, b)
    # At grey the hue has no direction, and s_c = s_h = 1: any will do.
    grey = chroma < 1e-12
    safe = np.where(grey, 1.0, chroma)
    cos_h, sin_h = np.where(grey, 1.0, a_scaled / safe), np.where(grey, 0.0, b / safe)
    step = np.zeros((*lab.shape[:-1], 3, 3))
    step[..., 0, 0] = 1.0 / s_l
    step[..., 1, 1], step[..., 1, 2] = gain * cos_h / s_c, sin_h / s_c
    step[..., 2, 1], step[..., 2, 2] = -gain * sin_h / s_h, cos_h / s_h
    form = np.zeros_like(step)
    form[..., [0, 1, 2], [0, 1, 2]] = 1.0
    form[..., 1, 2] = form[..., 2, 1] = 0.5 * rotation
    return np.asarray(np.swapaxes(step, -1, -2) @ form @ step, dtype=np.float64)


def _terms(lab_a: ArrayLike, lab_b: ArrayLike) -> tuple[Array, Array, Array, Array]:
    """Return ΔL'/S_L, ΔC'/S_C, ΔH'/S_H (from a to b) and the rotation R_T."""
    first, second = np.asarray(lab_a, dtype=np.float64), np.asarray(lab_b, dtype=np.float64)
    l_1, a_1, b_1 = first[..., 0], first[..., 1], first[..., 2]
    l_2, a_2, b_2 = second[..., 0], second[..., 1], second[..., 2]

    gain = _gain(0.5 * (np.hypot(a_1, b_1) + np.hypot(a_2, b_2)))
    a_1, a_2 = gain * a_1, gain * a_2
    c_1, c_2 = np.hypot(a_1, b_1), np.hypot(a_2, b_2)
    h_1, h_2 = np.arctan2(b_1, a_1) % (2 * np.pi), np.arctan2(b_2, a_2) % (2 * np.pi)

    coloured = (c_1 * c_2) != 0.0
    turn = h_2 - h_1
    half_way = 0.5 * (h_1 + h_2)
    wrapped = np.abs(turn) > np.pi
    turn = np.where(wrapped, turn - np.sign(turn) * 2 * np.pi, turn)
    turn = np.where(coloured, turn, 0.0)
    # A wrapped mean goes to the other side; with one grey colour the hue is the other's.
    mean_h = np.where(wrapped, half_way + np.where(half_way < np.pi, np.pi, -np.pi), half_way)
    mean_h = np.where(coloured, mean_h, h_1 + h_2)

    s_l, s_c, s_h, rotation = _scales(0.5 * (l_1 + l_2), 0.5 * (c_1 + c_2), mean_h)
    hue = 2.0 * np.sqrt(c_1 * c_2) * np.sin(0.5 * turn)
    return (l_2 - l_1) / s_l, (c_2 - c_1) / s_c, hue / s_h, rotation


def _gain(mean_chroma: Array) -> Array:
    """Return 1 + G, by which a* is stretched near grey."""
    power = mean_chroma**7
    return np.asarray(1.5 - 0.5 * np.sqrt(power / (power + _C7)))


def _weights(lightness: Array, chroma: Array, a: Array, b: Array) -> tuple[Array, ...]:
    """Return S_L, S_C, S_H, R_T and 1 + G at a single colour."""
    gain = _gain(chroma)
    scaled = gain * a
    angle = np.arctan2(b, scaled) % (2 * np.pi)
    return (*_scales(lightness, np.hypot(scaled, b), angle), gain)


def _scales(lightness: Array, chroma: Array, hue: Array) -> tuple[Array, Array, Array, Array]:
    """Return S_L, S_C, S_H and R_T for mean lightness, chroma and hue (radians)."""
    t = (
        1.0
        - 0.17 * np.cos(hue - np.radians(30.0))
        + 0.24 * np.cos(2.0 * hue)
        + 0.32 * np.cos(3.0 * hue + np.radians(6.0))
        - 0.20 * np.cos(4.0 * hue - np.radians(63.0))
    )
    from_50 = (lightness - 50.0) ** 2
    s_l = 1.0 + 0.015 * from_50 / np.sqrt(20.0 + from_50)
    s_c = 1.0 + 0.045 * chroma
    s_h = 1.0 + 0.015 * chroma * t
    spread = np.radians(30.0) * np.exp(-(((np.degrees(hue) - 275.0) / 25.0) ** 2))
    power = chroma**7
    rotation = -2.0 * np.sqrt(power / (power + _C7)) * np.sin(2.0 * spread)
    return s_l, s_c, s_h, rotation
