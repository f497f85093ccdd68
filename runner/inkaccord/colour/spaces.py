"""Conversions between XYZ, CIELAB and screen colours.

Everything is D50, 2° observer, XYZ on the scale where the perfect white has Y = 100, as
ISO 13655 asks for graphic arts. Spectra are in :mod:`inkaccord.colour.spectra`.
"""

from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from inkaccord.colour.arrays import Array

D50_WHITE = np.array([96.422, 100.0, 82.521])
"""The white of the graphic arts' CIELAB (ISO 13655; the numbers from ASTM E308's tables)."""
D50_WHITE.flags.writeable = False

_EPSILON = (6 / 29) ** 3
_SLOPE = (29 / 6) ** 2 / 3

# Bradford cone responses, the transform of ICC.1's 'chad' tag.
_BRADFORD = np.array(
    [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]]
)
# IEC 61966-2-1: XYZ (D65, white Y = 1) to linear sRGB.
_XYZ_TO_SRGB = np.array(
    [[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]]
)
_D65_WHITE = np.array([0.3127 / 0.3290, 1.0, (1 - 0.3127 - 0.3290) / 0.3290])


def xyz_to_lab(xyz: ArrayLike, white: ArrayLike = D50_WHITE) -> Array:
    """Return CIELAB of (..., 3) XYZ (CIE 15; negative values follow the straight part)."""
    ratio = np.asarray(xyz, dtype=np.float64) / np.asarray(white, dtype=np.float64)
    f = np.where(ratio > _EPSILON, np.cbrt(ratio), _SLOPE * ratio + 4 / 29)
    f_x, f_y, f_z = f[..., 0], f[..., 1], f[..., 2]
    return np.stack([116.0 * f_y - 16.0, 500.0 * (f_x - f_y), 200.0 * (f_y - f_z)], axis=-1)


def lab_to_xyz(lab: ArrayLike) -> Array:
    """Return XYZ of (..., 3) CIELAB; the inverse of :func:`xyz_to_lab` everywhere."""
    lab = np.asarray(lab, dtype=np.float64)
    f_y = (lab[..., 0] + 16.0) / 116.0
    f = np.stack([f_y + lab[..., 1] / 500.0, f_y, f_y - lab[..., 2] / 200.0], axis=-1)
    ratio = np.where(f > 6 / 29, f**3, (f - 4 / 29) / _SLOPE)
    return np.asarray(ratio * D50_WHITE)


def lab_jacobian(xyz: ArrayLike) -> Array:
    """Return the derivatives of CIELAB by XYZ, (..., 3, 3), rows L* a* b*."""
    ratio = np.asarray(xyz, dtype=np.float64) / D50_WHITE
    safe = np.maximum(ratio, _EPSILON)
    slope = np.where(ratio > _EPSILON, 1.0 / (3.0 * np.cbrt(safe) ** 2), _SLOPE) / D50_WHITE
    result = np.zeros((*ratio.shape[:-1], 3, 3))
    result[..., 0, 1] = 116.0 * slope[..., 1]
    result[..., 1, 0], result[..., 1, 1] = 500.0 * slope[..., 0], -500.0 * slope[..., 1]
    result[..., 2, 1], result[..., 2, 2] = 200.0 * slope[..., 1], -200.0 * slope[..., 2]
    return result


def paper_relative_lab(lab: ArrayLike, paper_lab: ArrayLike) -> Array:
    """Return CIELAB as seen with the paper taken for white.

    XYZ is scaled so that the paper becomes the perfect white: the media-relative colorimetry of
    ICC.1. Side by side, people match neither absolutely nor fully relative to the paper
    (Journal of Imaging Science and Technology 67(5), 050411, 2023), so both are reported.
    """
    return xyz_to_lab(lab_to_xyz(lab), lab_to_xyz(paper_lab))


def lab_to_lch(lab: ArrayLike) -> Array:
    """Return lightness, chroma C*ab and hue angle in degrees (0 to 360), (..., 3)."""
    lab = np.asarray(lab, dtype=np.float64)
    a, b = lab[..., 1], lab[..., 2]
    hue = np.degrees(np.arctan2(b, a)) % 360.0
    return np.stack([lab[..., 0], np.hypot(a, b), hue], axis=-1)


def lab_to_srgb(lab: ArrayLike) -> tuple[Array, NDArray[np.bool_]]:
    """Return screen colours for CIELAB, and which of them a screen can show.

    Parameters
    ----------
    lab
        (..., 3) CIELAB, D50.

    Returns
    -------
    rgb
        (..., 3) sRGB, gamma-encoded, clipped to 0 to 1 (IEC 61966-2-1).
    shown
        (...) True where nothing had to be clipped by more than half an 8-bit step.

    Notes
    -----
    D50 is adapted to the screen's D65 white by the Bradford transform.
    """
    scaled = lab_to_xyz(lab) / 100.0 @ _d50_to_srgb().T
    size = np.abs(scaled)
    encoded = np.where(size <= 0.0031308, 12.92 * size, 1.055 * size ** (1 / 2.4) - 0.055)
    encoded = np.copysign(encoded, scaled)
    half_step = 0.5 / 255
    shown = np.all((encoded >= -half_step) & (encoded <= 1 + half_step), axis=-1)
    return np.clip(encoded, 0.0, 1.0), np.asarray(shown)


def srgb_to_lab(rgb: ArrayLike) -> Array:
    """Return CIELAB, D50, of (..., 3) sRGB from 0 to 1: the inverse of :func:`lab_to_srgb`."""
    light, _ = linear_light(np.asarray(rgb, dtype=np.float64))
    return xyz_to_lab(light @ srgb_to_xyz_matrix().T * 100.0)


def linear_light(encoded: Array) -> tuple[Array, Array]:
    """Return linear sRGB of gamma-encoded sRGB, 0 to 1, and its slope (IEC 61966-2-1)."""
    low = encoded <= 0.04045
    base = (encoded + 0.055) / 1.055
    light = np.where(low, encoded / 12.92, base**2.4)
    return light, np.where(low, 1.0 / 12.92, 2.4 / 1.055 * base**1.4)


def srgb_to_xyz_matrix() -> Array:
    """Return the matrix (3, 3) from linear sRGB to XYZ under D50, white Y = 1."""
    return np.asarray(np.linalg.inv(_d50_to_srgb()), dtype=np.float64)


def adapted_to_d50(xyz: ArrayLike, white: ArrayLike) -> Array:
    """Return XYZ, (..., 3), of what was seen under another white as it is under D50 (Bradford)."""
    adapt = _adaptation(np.asarray(white, dtype=np.float64), D50_WHITE / 100.0)
    return np.asarray(np.asarray(xyz, dtype=np.float64) @ adapt.T)


@cache
def _d50_to_srgb() -> Array:
    """Return the matrix from XYZ under D50 (white Y = 1) to linear sRGB."""
    return np.asarray(_XYZ_TO_SRGB @ _adaptation(D50_WHITE / 100.0, _D65_WHITE), dtype=np.float64)


def _adaptation(from_white: Array, to_white: Array) -> Array:
    """Return the Bradford matrix (3, 3) from one white, as XYZ, to another."""
    gain = (_BRADFORD @ to_white) / (_BRADFORD @ from_white)
    return np.asarray(np.linalg.inv(_BRADFORD) @ np.diag(gain) @ _BRADFORD)
