"""Which swatches teach most: greedy I-optimal design over a press model.

Each step takes the swatch whose reading is expected to lower the mean variance of the prediction
most where builds will be used (D. Cohn, Z. Ghahramani, M. Jordan, 'Active learning with
statistical models', Journal of Artificial Intelligence Research 4, 1996; from memory). Variances
depend on where one reads and not on what one will read, so the whole sheet is planned ahead.
"""

from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.linalg import cholesky, solve_triangular

from inkaccord.colour.arrays import Array
from inkaccord.colour.builds import CHANNELS, FULL_SCALE, Drive
from inkaccord.colour.press.evidence import usual_kernel
from inkaccord.colour.press.fitting import linearise
from inkaccord.colour.press.kriging import Posterior
from inkaccord.colour.press.noise import EVEN_STEP, noise_variance
from inkaccord.colour.press.population import populations
from inkaccord.colour.press.priors import Prior
from inkaccord.colour.press.residual import Kernel
from inkaccord.colour.spaces import lab_jacobian, lab_to_xyz


class Belief(Protocol):
    """How errors of the prediction go together, in the three even coordinates."""

    def covariance(self, some: slice, others: slice) -> Array:
        """Return (3, m, n): of the errors at some of the builds with those at others."""
        ...

    @property
    def variance(self) -> Array:
        """(3, n)."""
        ...


@dataclass(frozen=True, eq=False)
class LowRank:
    """Covariance as a sum: features times features, plus a kernel, less what is known of it."""

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

    def covariance(self, some: slice, others: slice) -> Array:
        """Return (3, m, n) covariances of some of the builds with others."""
        result = self.features[:, some] @ self.features[:, others].transpose(0, 2, 1)
        result -= self.known[:, some] @ self.known[:, others].transpose(0, 2, 1)
        shape = self.kernel.shape(self.coverages[some], self.coverages[others])
        result += self.kernel.scale[:, None, None] ** 2 * shape
        return np.asarray(result)


@dataclass(frozen=True, eq=False)
class GenericPress:
    """A press that nothing is known of but its drive and perhaps its paper.

    It predicts like the population's mean: good enough to say where builds will lie and how they
    act together, not what they will look like.
    """

    drive: Drive
    prior: Prior

    @classmethod
    def of(
        cls, drive: Drive, paper_lab: ArrayLike | None = None, prior: Prior | None = None
    ) -> "GenericPress":
        """Return the generic press on a paper (population's paper where none is given).

        ``prior`` is that of its kind; without one, of the kind to plan with.
        """
        prior = prior or populations(drive)[0]
        if paper_lab is None:
            return cls(drive, prior)
        mean = prior.mean.copy()
        paper = np.log(np.maximum(prior.layout.bands(lab_to_xyz(paper_lab)), 5e-4))
        mean[: 3 * prior.layout.per_value : prior.layout.per_value] = paper
        return cls(drive, replace(prior, mean=mean))

    def _nominal(self, builds: Array) -> Array:
        share = np.asarray(builds, dtype=np.float64) / FULL_SCALE[self.drive]
        return share if self.drive is Drive.CMYK else 1.0 - share

    @property
    def paper_lab(self) -> Array:
        """(3,) CIELAB of the paper."""
        blank = np.zeros((1, len(CHANNELS[self.drive])))
        return np.asarray(self.predict_lab(blank if self.drive is Drive.CMYK else blank + 255.0)[0])

    def predict_lab(self, builds: Array) -> Array:
        """Return (n, 3) CIELAB."""
        printed = self.prior.layout.prints(self.prior.mean, self._nominal(builds))
        return printed.lab

    def lab_and_jacobian(self, builds: Array) -> tuple[Array, Array]:
        """Return (n, 3) CIELAB, and (n, 3, k) its derivatives by one unit of each channel."""
        printed = self.prior.layout.prints(self.prior.mean, self._nominal(builds))
        sign = 1.0 if self.drive is Drive.CMYK else -1.0
        by_build = lab_jacobian(printed.xyz) @ printed.by_coverage
        return printed.lab, by_build * (sign / FULL_SCALE[self.drive])

    def bound(self, builds: Array) -> Array:
        """Return (n,) 95 % bounds: some 15 ΔE00, since nothing has been read."""
        variance = self.belief(builds).variance.sum(axis=0)
        return np.asarray(1.6 * np.sqrt(variance) / EVEN_STEP)

    def belief(self, builds: Array) -> LowRank:
        """Return how the errors at these builds go together."""
        nominal = self._nominal(builds)
        linear = linearise(self.prior, self.prior.mean, nominal)
        root = cholesky(self.prior.covariance, lower=True)
        coverages, _ = self.prior.layout.places(self.prior.mean, nominal)
        kernel = usual_kernel(self.prior)
        empty = np.zeros((3, len(nominal), 0))
        return LowRank(linear.by_parameter @ root, empty, kernel, coverages)


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


def choose(
    belief: Belief,
    count: int,
    *,
    candidates: int,
    weights: Array,
    noise: float,
    first: NDArray[np.int_] | None = None,
) -> NDArray[np.int_]:
    """Return which candidates to print, in order of what they teach.

    Parameters
    ----------
    belief
        Over n builds: the ``candidates`` first ones, then those where builds will be used.
    count
        How many to choose, ``first`` included.
    candidates
        How many of the builds may be chosen.
    weights
        (n - candidates,) how much the prediction matters at each of the others.
    noise
        Standard deviation of a reading, ΔE00.
    first
        Candidates that are taken in any case.

    Returns
    -------
    NDArray
        (count,) or fewer where the candidates run out.
    """
    of_reading = noise_variance(np.array(noise))
    variance = belief.variance[:, :candidates].copy()
    total = belief.variance.shape[1]
    told = np.zeros((count, 3, total))
    used = np.zeros(candidates, dtype=bool)
    chosen: list[int] = []
    forced = [] if first is None else first.tolist()
    cross: Array | None = None
    while len(chosen) < min(count, candidates):
        if len(chosen) < len(forced):
            pick = forced[len(chosen)]
        else:
            if cross is None:
                cross = _cross(belief, candidates, told[: len(chosen)])
            gain = np.einsum("ecf,f->ec", cross**2, weights) / (variance + of_reading)
            pick = int(np.where(used, -np.inf, gain.sum(axis=0)).argmax())
        column = belief.covariance(slice(pick, pick + 1), slice(None))[:, 0]
        column -= np.einsum("te,ten->en", told[: len(chosen), :, pick], told[: len(chosen)])
        column /= np.sqrt(np.maximum(column[:, pick], 0.0) + of_reading)[:, None]
        told[len(chosen)] = column
        variance = np.maximum(variance - column[:, :candidates] ** 2, 0.0)
        if cross is not None:
            cross -= column[:, :candidates, None] * column[:, None, candidates:]
        used[pick] = True
        chosen.append(pick)
    return np.array(chosen, dtype=np.int_)


def _cross(belief: Belief, candidates: int, told: Array) -> Array:
    """Return (3, candidates, used) covariances, given what is already told."""
    cross = belief.covariance(slice(candidates), slice(candidates, None))
    cross -= np.einsum("tec,tef->ecf", told[:, :, :candidates], told[:, :, candidates:])
    return np.asarray(cross)
