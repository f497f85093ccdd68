"""Where the residual of a device driven in RGB sees a build."""

import numpy as np

from inkaccord.colour.arrays import Array

_STRETCH = 2.0


def stretched(nominal: Array) -> tuple[Array, Array]:
    """Return coverages (n, k) with the light tones stretched, and the slopes (n, k).

    A step of RGB shows most where little ink lies: ln(1 + 2t) / ln 3 runs from 0 to 1 and is three
    times as steep on bare paper as on full ink.
    """
    whole = np.log1p(_STRETCH)
    return np.log1p(_STRETCH * nominal) / whole, _STRETCH / (whole * (1.0 + _STRETCH * nominal))
