"""Tone value: how much of the way from paper to solid a tint has gone.

Source: ISO 20654:2017, 'Measurement and calculation of spot colour tone value' (formula known
second-hand).
"""

import numpy as np
from numpy.typing import ArrayLike

from inkaccord.colour.arrays import Array


def tint_lab(paper_lab: ArrayLike, solid_lab: ArrayLike, tone_value: ArrayLike) -> Array:
    """Return the CIELAB on the straight way from paper to solid with this tone value.

    The aim of a tint of which only the percent is known. The standard's tone value is
    100 · ‖V_tint − V_paper‖ / ‖V_solid − V_paper‖ with V = 116 f(·) − 16 of X, Y and Z. V is linear
    in CIELAB, so the way is straight in both.

    Parameters
    ----------
    paper_lab, solid_lab
        (..., 3) CIELAB, both under the same conditions.
    tone_value
        (...) percent.

    Examples
    --------
    >>> tint_lab([95, 0, -2], [48, 74, -3], 50).tolist()
    [71.5, 37.0, -2.5]
    """
    paper, solid = np.asarray(paper_lab, dtype=np.float64), np.asarray(solid_lab, dtype=np.float64)
    share = np.asarray(tone_value, dtype=np.float64)[..., None] / 100.0
    return np.asarray(paper + share * (solid - paper))
