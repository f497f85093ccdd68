"""The mean of a residual that readings have pinned down: what to add to the halftone model."""

from dataclasses import dataclass

import numpy as np

from inkaccord.colour.arrays import Array
from inkaccord.colour.press.residual import Kernel
from inkaccord.colour.press.surface import Surface


@dataclass(frozen=True, eq=False)
class Process:
    """The residual's mean, given readings."""

    layout: Surface
    parameters: Array
    """(p,) of the halftone model: its tone curves say where builds lie."""
    kernel: Kernel
    coverages: Array
    """(n, k) of the readings."""
    pull: Array
    """(3, n): what each reading adds to a prediction, per unit of covariance with it."""

    def mean(self, nominal: Array) -> Array:
        """Return what to add (m, 3), in even coordinates, at nominal coverages (m, k)."""
        coverages, _ = self.layout.places(self.parameters, nominal)
        shape = self.kernel.shape(coverages, self.coverages)
        return np.asarray((shape @ self.pull.T) * self.kernel.scale**2)

    def mean_slopes(self, nominal: Array) -> tuple[Array, Array]:
        """Return what to add (m, 3), and its derivatives by nominal coverage (m, 3, k)."""
        coverages, rise = self.layout.places(self.parameters, nominal)
        shape, slopes = self.kernel.shape_slopes(coverages, self.coverages)
        power = self.kernel.scale**2
        by_effective = ((slopes @ self.pull.T) * power).transpose(1, 2, 0)
        return (shape @ self.pull.T) * power, by_effective * rise[:, None, :]
