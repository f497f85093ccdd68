"""How the errors of a press model's predictions go together, from one build to another."""

from dataclasses import dataclass, replace

import numpy as np
from scipy.linalg import solve_triangular

from inkaccord.colour.arrays import Array
from inkaccord.colour.press.fitting import linearise
from inkaccord.colour.press.kriging import Posterior
from inkaccord.colour.press.residual import Kernel


@dataclass(frozen=True, eq=False)
class LowRank:
    """How errors of a prediction go together, in the three even coordinates.

    The covariance is a sum: features times features, plus a kernel, less what is known of it.
    """

    features: Array
    """(3, n, p): what uncertain parameters do to each build."""
    known: Array
    """(3, n, q): what readings have already told of the kernel's part."""
    kernel: Kernel
    coverages: Array
    """(n, k) effective coverages."""

    @property
    def variance(self) -> Array:
        """(3, n) variances before the planned readings."""
        own = self.kernel.scale[:, None] ** 2
        return np.asarray(
            (self.features**2).sum(axis=2) + np.maximum(own - (self.known**2).sum(axis=2), 0.0)
        )

    def covariance_with(self, index: int) -> Array:
        """Return (3, n) covariances of one build with all."""
        shape = self.kernel.shape(self.coverages[index : index + 1], self.coverages)[0]
        result = np.einsum("enp,ep->en", self.features, self.features[:, index])
        result -= np.einsum("enq,eq->en", self.known, self.known[:, index])
        return np.asarray(result + self.kernel.scale[:, None] ** 2 * shape)

    def widened(self, by: float, residual: float) -> "LowRank":
        """Return it with all variances ``by`` times as large, the kernel's ``residual`` times."""
        process = np.sqrt(by * residual)
        return replace(
            self,
            features=self.features * np.sqrt(by),
            known=self.known * process,
            kernel=replace(self.kernel, scale=self.kernel.scale * process),
        )


def posterior_belief(posterior: Posterior, nominal: Array) -> LowRank:
    """Return how the errors of a fitted model go together at nominal coverages (n, k)."""
    linear = linearise(posterior.prior, posterior.parameters, nominal)
    coverages, _ = posterior.prior.layout.places(posterior.parameters, nominal)
    kernel = posterior.kernel
    shape = kernel.shape(coverages, posterior.coverages)
    covered = posterior.covered(shape)
    free = linear.by_parameter @ posterior.root - covered.transpose(0, 2, 1) @ posterior.slopes
    size = len(posterior.parameters)
    spread = solve_triangular(
        posterior.information, free.reshape(-1, size).T, lower=True, check_finite=False
    )
    features = spread.T.reshape(3, len(nominal), size)
    return LowRank(features, covered.transpose(0, 2, 1), kernel, coverages)
