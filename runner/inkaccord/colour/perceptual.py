"""Coordinates in which a step of one unit looks about equally large everywhere.

The press model is fitted and its error modelled in DIN99o (DIN 6176:2018; G. Cui, M. R. Luo,
B. Rigg, G. Roesler, K. Witt, 'Uniform colour spaces based on the DIN99 colour-difference
formula', Color Research & Application 27(4), 2002; the constants from memory). There reading
noise is nearly the same in every direction, as it is in ΔE00, and the three coordinates can be
modelled one by one. What is reported is always ΔE00 in CIELAB.
"""

import numpy as np

from inkaccord.colour.arrays import Array

_L_GAIN, _L_CURVE = 303.67, 0.0039
_TURN = np.radians(26.0)
_COS, _SIN = np.cos(_TURN), np.sin(_TURN)
_SQUASH, _C_CURVE, _C_SCALE = 0.83, 0.075, 0.0435
_TINY = 1e-9


def lab_to_even(lab: Array) -> Array:
    """Return DIN99o coordinates of (..., 3) CIELAB."""
    e, f, chroma = _plane(lab)
    ratio = np.log1p(_C_CURVE * chroma) / (_C_SCALE * np.maximum(chroma, _TINY))
    ratio = np.where(chroma < _TINY, _C_CURVE / _C_SCALE, ratio)
    p, q = ratio * e, ratio * f
    lightness = _L_GAIN * np.log1p(_L_CURVE * np.maximum(lab[..., 0], -100.0))
    return np.stack([lightness, _COS * p - _SIN * q, _SIN * p + _COS * q], axis=-1)


def even_to_lab(even: Array) -> Array:
    """Return CIELAB of (..., 3) DIN99o coordinates; the inverse of :func:`lab_to_even`."""
    x, y = even[..., 1], even[..., 2]
    p, q = _COS * x + _SIN * y, -_SIN * x + _COS * y
    size = np.hypot(p, q)
    chroma = np.expm1(_C_SCALE * size) / _C_CURVE
    ratio = np.where(size < _TINY, _C_SCALE / _C_CURVE, chroma / np.maximum(size, _TINY))
    e, f = ratio * p, ratio * q / _SQUASH
    lightness = np.expm1(even[..., 0] / _L_GAIN) / _L_CURVE
    return np.stack([lightness, _COS * e - _SIN * f, _SIN * e + _COS * f], axis=-1)


def even_jacobian(lab: Array) -> Array:
    """Return the derivatives of DIN99o by CIELAB, (..., 3, 3)."""
    e, f, chroma = _plane(lab)
    safe = np.maximum(chroma, 1e-6)
    ratio = np.log1p(_C_CURVE * safe) / (_C_SCALE * safe)
    along = _C_CURVE / (_C_SCALE * (1.0 + _C_CURVE * safe))
    u, v = e / safe, f / safe
    # In the (e, f) plane the radius is stretched by `along`, the arc by `ratio`.
    ee = ratio + (along - ratio) * u * u
    ef = (along - ratio) * u * v
    ff = ratio + (along - ratio) * v * v
    by_a = np.stack([ee * _COS - ef * _SQUASH * _SIN, ef * _COS - ff * _SQUASH * _SIN], axis=-1)
    by_b = np.stack([ee * _SIN + ef * _SQUASH * _COS, ef * _SIN + ff * _SQUASH * _COS], axis=-1)
    turn = np.array([[_COS, -_SIN], [_SIN, _COS]])
    result = np.zeros((*lab.shape[:-1], 3, 3))
    result[..., 0, 0] = _L_GAIN * _L_CURVE / (1.0 + _L_CURVE * np.maximum(lab[..., 0], -100.0))
    result[..., 1:, 1] = by_a @ turn.T
    result[..., 1:, 2] = by_b @ turn.T
    return result


def _plane(lab: Array) -> tuple[Array, Array, Array]:
    a, b = lab[..., 1], lab[..., 2]
    e = _COS * a + _SIN * b
    f = _SQUASH * (-_SIN * a + _COS * b)
    return e, f, np.hypot(e, f)
