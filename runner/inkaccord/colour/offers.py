"""What a pick by eye says, given the swatches that there were to choose from.

The swatch that looks nearest is at best as near as the swatches lie close, and says little more
than a direction where it stands at their rim.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from inkaccord.colour.arrays import Array
from inkaccord.colour.builds import FULL_SCALE
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.predictor import Predictor

FEWEST = 6
"""Swatches round a colour from which on a pick among them can be called settled."""
UNOFFERED = 12.0
"""ΔE00 by which a swatch may miss that was picked from a sheet not made for its colour."""
_INSIDE = 0.6
"""How far out a pick may stand, as a share of how far the offered swatches reach."""
_STEPS_OFF = 0.15
"""How wrong the steps between swatches may be, as a share of the bound on what they look like:
swatches that nobody has read stand in other places than the model has them (measured by
``tests/benchmarks/picks.py``)."""
_AT_END = 0.04
"""A channel this near to none or full, as a share of its scale, leaves no room beyond."""
_VARIES = 0.02
"""Less than this, and a channel is the same in all swatches."""


@dataclass(frozen=True)
class Offer:
    """What there was to choose from.

    Attributes
    ----------
    settled
        Whether the pick lay well inside swatches that surround it.
    spacing
        Half the mean distance to the three nearest neighbours, ΔE00 by the model.
    doubt
        How far the wanted colour may lie from the picked swatch, ΔE00, were the eye perfect.
    """

    settled: bool
    spacing: float
    doubt: float


NO_OFFER = Offer(settled=False, spacing=UNOFFERED, doubt=UNOFFERED)
"""Of a swatch that was picked from a sheet not made for its colour."""


def judge_offer(model: Predictor, builds: ArrayLike, picked: int) -> Offer:
    """Return what a pick among offered swatches is worth.

    Parameters
    ----------
    model
        What the pair is thought to print.
    builds
        (n, k) what was offered for the colour; one that was printed twice counts once.
    picked
        Which of them was picked.
    """
    builds, place = np.unique(np.asarray(builds, dtype=np.float64), axis=0, return_inverse=True)
    picked = int(place.ravel()[picked])
    if len(builds) < FEWEST:
        return NO_OFFER
    labs = model.predict_lab(builds)
    spacing = float(np.sort(delta_e_2000(labs, labs[picked]))[1:4].mean()) / 2.0
    from_middle = delta_e_2000(labs, labs.mean(axis=0))
    reach = float(from_middle.max())
    inside = bool(from_middle[picked] <= _INSIDE * reach)
    settled = inside and surrounded(builds, picked, FULL_SCALE[model.drive])
    steps = _STEPS_OFF * float(model.bound(builds[picked : picked + 1])[0])
    return Offer(settled, spacing, float(np.hypot(spacing if settled else reach, steps)))


def surrounded(builds: Array, picked: int, full: float) -> bool:
    """Tell whether swatches lie on both sides of the picked one, in every channel that varies.

    A side on which the channel has come to its end needs none: nothing can be printed there.
    """
    own = builds[picked]
    varies = np.ptp(builds, axis=0) > _VARIES * full
    below = (builds.min(axis=0) < own) | (own <= _AT_END * full)
    above = (builds.max(axis=0) > own) | (own >= (1.0 - _AT_END) * full)
    return bool(((below & above) | ~varies).all())
