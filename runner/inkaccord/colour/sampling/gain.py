"""What reading some swatches more would be worth, before they are printed.

How sure a model is depends on where one reads and not on what one will read, so the bound after a
sheet is known beforehand. What the readings will say is not: it is spread as the model's own doubt
has it, which gives the chance that a verdict is sure afterwards (preposterior analysis: H. Raiffa,
R. Schlaifer, 'Applied Statistical Decision Theory', Harvard 1961; from memory).
"""

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtri

from inkaccord.colour.agreement.differences import BOUND_TO_SIGMA, SURE, differences
from inkaccord.colour.arrays import Array
from inkaccord.colour.conditions import INSTRUMENT_NOISE
from inkaccord.colour.press.drift import Drifted
from inkaccord.colour.press.model import PressModel

_SHIFTS = ndtri((np.arange(200) + 0.5) / 200)
"""Equally likely outcomes of a reading, in standard deviations."""


def bound_after(
    model: PressModel | Drifted,
    at_builds: ArrayLike,
    read_builds: ArrayLike,
    noise: float = INSTRUMENT_NOISE,
) -> Array:
    """Return how sure a model would be, were some swatches of one more sheet read too.

    Parameters
    ----------
    model
        Fitted to what has been read.
    at_builds
        (m, k) builds that the bound is wanted for.
    read_builds
        (r, k) builds that would be read. The controls that every sheet carries count too: give
        them along with the others.
    noise
        Root mean square ΔE00 of a reading.

    Returns
    -------
    Array
        (m,) 95 % bounds, ΔE00. Parameters, kernel and noise stay as they were learned; a fit with
        the readings learns these anew, and may come out a little surer or less sure.
    """
    at = np.atleast_2d(np.asarray(at_builds, dtype=np.float64))
    read = np.atleast_2d(np.asarray(read_builds, dtype=np.float64))
    if not read.size:
        return model.bound(at)
    return model.with_sheet(read, noise).bound(at)


def chance_decided(
    delta_e_00: ArrayLike,
    bound_now: ArrayLike,
    bound_after: ArrayLike,
    tolerance: ArrayLike,
    floor: ArrayLike = 0.0,
) -> tuple[Array, Array]:
    """Return the chances that a distance will surely be inside, and surely outside, its tolerance.

    Parameters
    ----------
    delta_e_00
        The distance as predicted now.
    bound_now, bound_after
        95 % bound of its error now, and once the readings are in (:func:`bound_after`).
    tolerance
        ΔE00.
    floor
        What of the distance stays however well the pairs are known, because an aim lies out of
        reach; 0 where all aims are in reach. Whatever the readings say, builds are matched anew to
        them: within reach the prediction comes out as near as it is now. Out of reach it does not:
        how far the edge of the reach lies from the aim moves by what is learned.

    Returns
    -------
    inside, outside
        Arrays of the shape that all arguments together have.
    """
    given = delta_e_00, bound_now, bound_after, tolerance, floor
    apart, now, after, limit, by_nature = np.broadcast_arrays(
        *(np.asarray(it, dtype=np.float64) for it in given)
    )
    learned = np.sqrt(np.maximum(now**2 - after**2, 0.0)) / BOUND_TO_SIGMA
    moved = by_nature[..., None] + learned[..., None] * _SHIFTS
    outcome = np.where(by_nature[..., None] > 0.0, np.maximum(moved, 0.0), apart[..., None])
    found = differences(outcome, after[..., None], limit[..., None])
    return np.mean(found.within >= SURE, axis=-1), np.mean(found.beyond >= SURE, axis=-1)
