"""How far readings are off: each by itself, and those of one scan together."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from inkaccord.colour.arrays import Array

EVEN_STEP = 1.15
"""Even coordinates in one ΔE00, on the average over print colours."""
ALIKE = 0.9
"""Share of a scan's variance that builds have in common which are alike: its filters are not the
eye's, and its calibration bends between the swatches that taught it; by themselves its swatches
hardly scatter (a choice, no source)."""


def noise_variance(noise: Array) -> Array:
    """Return the variance in each even coordinate of root mean square noise (n,) in ΔE00."""
    return np.asarray((noise * EVEN_STEP) ** 2 / 3.0)


def noise_delta_e(variance: Array) -> float:
    """Return the root mean square ΔE00 of noise of these variances (n,)."""
    return float(np.sqrt(3.0 * np.mean(variance))) / EVEN_STEP


@dataclass(frozen=True, eq=False)
class Noise:
    """The noise of n readings in each even coordinate."""

    own: Array
    """(n,) variance of each by itself."""
    alike: Array
    """(n,) variance of what is the same on builds that are alike, within one scan."""
    source: NDArray[np.int_]
    """(n,) 0 for an instrument; 1, 2, … for each scan. How noisy each is, is learned apart."""

    @classmethod
    def plain(cls, variance: Array) -> "Noise":
        """Return that of an instrument."""
        return cls(variance, np.zeros_like(variance), np.zeros(len(variance), dtype=np.int_))

    @property
    def variance(self) -> Array:
        """The whole variance (n,)."""
        return self.own + self.alike

    @property
    def usual(self) -> Array:
        """The factors (2, s) that change nothing: on ``own`` and on ``alike``, for each source."""
        return np.ones((2, int(self.source.max()) + 1))

    def of(self, chosen: NDArray[np.int_]) -> "Noise":
        """Return that of some of the readings."""
        return Noise(self.own[chosen], self.alike[chosen], self.source[chosen])

    def scaled(self, factors: Array) -> "Noise":
        """Return it with factors (2, s) on the variances."""
        own, alike = factors[:, self.source]
        return replace(self, own=self.own * own, alike=self.alike * alike)

    def mistrusted(self, more: Array) -> "Noise":
        """Return it with ``more`` variance (n,) of each reading by itself."""
        return replace(self, own=self.own + more)

    def common(self) -> Array:
        """Return the covariance (n, n), were all builds alike; 0 without a scan."""
        if not self.alike.any():
            return np.zeros((1, 1))
        root = np.sqrt(self.alike)
        return np.asarray(np.outer(root, root) * (self.source[:, None] == self.source))

    def add_to(self, matrix: Array, shape: Array) -> None:
        """Add its covariance to ``matrix`` (n, n), builds being alike by ``shape`` (n, n)."""
        matrix[np.diag_indices_from(matrix)] += self.own
        if self.alike.any():
            matrix += self.common() * shape

    def by_factor(self, core: Array, shape: Array, sources: int) -> Array:
        """Return the sums (2, s) of ``core`` (n, n) times what each factor is on."""
        parts = np.diag(core) * self.own, (core * self.common() * shape).sum(axis=1)
        return np.stack([np.bincount(self.source, part, minlength=sources) for part in parts])
