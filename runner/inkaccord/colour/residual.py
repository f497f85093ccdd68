"""What the halftone model leaves over, as a Gaussian process over effective coverages.

The kernel is a product over the inks, each factor part constant and part Matérn 5/2 (M. L. Stein,
'Interpolation of Spatial Data', Springer 1999; C. E. Rasmussen, C. K. I. Williams, 'Gaussian
Processes for Machine Learning', MIT Press 2006, ch. 4). The constant lets an ink's own error show
in all its mixtures, so the error splits into main effects and interactions.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_SQRT5 = np.sqrt(5.0)


@dataclass(frozen=True, eq=False)
class Kernel:
    """How strongly the left-over errors of two builds go together.

    Attributes
    ----------
    scale
        (3,) standard deviation in each even coordinate.
    length
        (k,) effective coverage over which an error forgets itself, for each ink.
    share
        (k,) the part of each factor that changes with the ink; the rest is constant.
    """

    scale: Array
    length: Array
    share: Array

    def shape(self, a: Array, b: Array) -> Array:
        """Return the correlations (n, m) of coverages (n, k) and (m, k)."""
        result = np.ones((len(a), len(b)))
        for ink in range(a.shape[1]):
            distance = np.abs(a[:, ink, None] - b[None, :, ink]) * (_SQRT5 / self.length[ink])
            factor = (1.0 + distance + distance**2 / 3.0) * np.exp(-distance)
            result *= 1.0 + self.share[ink] * (factor - 1.0)
        return result

    def shape_slopes(self, a: Array, b: Array) -> tuple[Array, Array]:
        """Return the correlations (n, m), and their derivatives by ``a`` (k, n, m)."""
        inks = a.shape[1]
        factors = np.empty((inks, len(a), len(b)))
        slopes = np.empty_like(factors)
        for ink in range(inks):
            rate = _SQRT5 / self.length[ink]
            signed = (a[:, ink, None] - b[None, :, ink]) * rate
            distance = np.abs(signed)
            fade = np.exp(-distance)
            factor = (1.0 + distance + distance**2 / 3.0) * fade
            factors[ink] = 1.0 + self.share[ink] * (factor - 1.0)
            slopes[ink] = -self.share[ink] * rate / 3.0 * signed * (1.0 + distance) * fade
        for ink in range(inks):
            for other in range(inks):
                if other != ink:
                    slopes[ink] *= factors[other]
        return np.prod(factors, axis=0), slopes

    def shape_by_length(self, a: Array) -> tuple[Array, Array]:
        """Return the correlations (n, n), and their derivatives by ln length (k, n, n)."""
        inks = a.shape[1]
        factors = np.empty((inks, len(a), len(a)))
        slopes = np.empty_like(factors)
        for ink in range(inks):
            distance = np.abs(a[:, ink, None] - a[None, :, ink]) * (_SQRT5 / self.length[ink])
            fade = np.exp(-distance)
            factor = (1.0 + distance + distance**2 / 3.0) * fade
            factors[ink] = 1.0 + self.share[ink] * (factor - 1.0)
            slopes[ink] = self.share[ink] * distance**2 * (1.0 + distance) / 3.0 * fade
        whole = np.prod(factors, axis=0)
        return whole, slopes * (whole / factors)
