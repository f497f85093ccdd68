"""Halftone mixing: Demichel's weights and the Yule–Nielsen modified Neugebauer equations.

Sources: M. E. Demichel, Procédé 26, 1924 (the weights); H. E. J. Neugebauer, 'Die theoretischen
Grundlagen des Mehrfarbenbuchdrucks', Zeitschrift für wissenschaftliche Photographie 36, 1937
(the mixing); J. A. C. Yule, W. J. Nielsen, 'The penetration of light into paper and its effect on
halftone reproduction', TAGA Proceedings 3, 1951 (the exponent). All three from memory.
"""

import numpy as np
from numpy.typing import NDArray

from inkaccord.colour.arrays import Array


def overprints(inks: int) -> NDArray[np.bool_]:
    """Return which inks lie in each of the 2^k overprints, (2^k, k), paper first.

    Ink i is bit i, so with C, M, Y, K row 1 is C, row 2 M, row 3 C + M, row 15 all four.
    """
    codes = np.arange(2**inks)
    return np.asarray((codes[:, None] >> np.arange(inks)) % 2 == 1)


def demichel(coverages: Array) -> Array:
    """Return the share of the area that each overprint takes.

    Parameters
    ----------
    coverages
        (..., k) effective coverages, 0 to 1, of inks laid independently of each other.

    Returns
    -------
    Array
        (..., 2^k), in the order of :func:`overprints`; the shares sum to 1.

    Examples
    --------
    >>> demichel(np.array([0.4, 0.3, 0.2, 0.1]))[[0, 1, 15]].round(4).tolist()
    [0.3024, 0.2016, 0.0024]
    """
    inks = coverages.shape[-1]
    weights = np.ones((*coverages.shape[:-1], 2**inks))
    for ink, size in enumerate(2 ** np.arange(inks)):
        without, share = weights[..., :size], coverages[..., ink, None]
        np.multiply(without, share, out=weights[..., size : 2 * size])
        without *= 1.0 - share
    return weights


def mix(coverages: Array, roots: Array) -> Array:
    """Return Σ w_P · root_P, the mixture on the Yule–Nielsen scale (reflectance to 1/n)."""
    return np.asarray(demichel(coverages) @ roots)


def mix_slopes(coverages: Array, roots: Array) -> Array:
    """Return the derivatives of :func:`mix` by each coverage, (..., n, k).

    Parameters
    ----------
    coverages
        (..., n, k).
    roots
        (..., 2^k), for each set of coverages its own.

    Notes
    -----
    The mixture is linear in every single coverage, so its slope is the difference between the
    ink being everywhere and nowhere.
    """
    slopes = np.empty_like(coverages)
    inks = np.arange(coverages.shape[-1])
    for ink in inks:
        around = roots.reshape(*roots.shape[:-1], -1, 2, 2**ink)
        change = (around[..., 1, :] - around[..., 0, :]).reshape(*roots.shape[:-1], -1, 1)
        slopes[..., ink] = (demichel(coverages[..., inks != ink]) @ change)[..., 0]
    return slopes
