"""A chart of colours on which a distance is about ΔE00, near the colour that it is drawn round.

It is DIN99o, stretched as CIEDE2000 has it at that colour: DIN99o bends as colour does, CIEDE2000
has the lengths. People's matches scatter as CIEDE2000 says (B. Oicherman, M. R. Luo,
A. R. Robertson, 'Observer metamerism and colorimetric additivity failures in soft-proofing', IS&T
14th Color and Imaging Conference, 2006, abstract).
"""

from dataclasses import dataclass

import numpy as np

from inkaccord.colour.arrays import Array
from inkaccord.colour.delta_e import delta_e_2000_metric
from inkaccord.colour.perceptual import even_jacobian, even_to_lab, lab_to_even


@dataclass(frozen=True, eq=False)
class EvenChart:
    """Places (n, 3) for colours; the colour that it is drawn round lies at zero."""

    _middle: Array
    _stretch: Array

    @classmethod
    def round(cls, lab: Array) -> "EvenChart":
        """Return the chart round a colour, (3,) CIELAB."""
        away = np.linalg.inv(even_jacobian(lab))
        metric = away.T @ delta_e_2000_metric(lab) @ away
        return cls(lab_to_even(lab), np.linalg.cholesky(metric).T)

    def place(self, labs: Array) -> Array:
        """Return the places (n, 3) of (n, 3) CIELAB."""
        return np.asarray((lab_to_even(labs) - self._middle) @ self._stretch.T)

    def lab(self, places: Array) -> Array:
        """Return the CIELAB (n, 3) of (n, 3) places."""
        return even_to_lab(self._middle + np.linalg.solve(self._stretch, places.T).T)

    def slopes(self, lab: Array) -> Array:
        """Return the derivatives (3, 3) of a place by CIELAB."""
        return np.asarray(self._stretch @ even_jacobian(lab))
