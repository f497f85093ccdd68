"""How large, how far-reaching and how noisy the residual is: learned by marginal likelihood.

Each even coordinate's readings are Gaussian with covariance J P Jᵀ + process + noise, where J P Jᵀ
is what the prior of the halftone parameters allows. The likelihood of the three is added up and
climbed by its gradient, with broad priors on what it depends on (Rasmussen & Williams 2006, ch. 5).
"""

import numpy as np
from scipy.linalg import LinAlgError, cho_solve, cholesky

from inkaccord.colour.arrays import Array
from inkaccord.colour.press.fitting import Data, linearise
from inkaccord.colour.press.priors import Prior
from inkaccord.colour.press.residual import Kernel

_WANDERS = 0.8
"""Standard deviation of the logarithm of how much devices wander, as a factor on the variance."""
MOST = 160
"""The likelihood is taken on at most this many readings: its cost grows with their cube."""


def usual_kernel(prior: Prior) -> Kernel:
    """Return the residual that is expected before any reading."""
    rest = prior.rest
    return Kernel(np.full(3, prior.residual * rest.scale), np.full(prior.layout.inks, rest.length))


def learn(
    prior: Prior, data: Data, parameters: Array, coverages: Array
) -> tuple[Kernel, float, float]:
    """Return the kernel that the readings speak for, and the factors on two variances.

    That of the noise, and that of the sheets' drifts (1 for a single sheet).

    Parameters
    ----------
    prior, data, parameters
        The halftone model and what it was fitted to.
    coverages
        (n, k) effective coverages of the readings.
    """
    from scipy.optimize import minimize  # noqa: PLC0415 - slow to load, and fits are recalled

    inks = coverages.shape[1]
    if len(data) > MOST:
        # The readings are in canonical order, so this choice depends on nothing but them.
        chosen = np.sort(np.random.default_rng(0).permutation(len(data))[:MOST])
        data = data.of(chosen)
        coverages = coverages[chosen]
    linear = linearise(prior, parameters, data.nominal, data.sheet)
    offset = linear.by_parameter @ (parameters - prior.mean)
    residual = (data.even - linear.even).T + offset
    size = prior.layout.size
    allowed, drifted = (
        linear.by_parameter[:, :, part]
        @ prior.covariance[part, part]
        @ linear.by_parameter[:, :, part].transpose(0, 2, 1)
        for part in (slice(0, size), slice(size, None))
    )
    usual = usual_kernel(prior)
    # How much a device wanders is asked anew at each look, about what is usual.
    middle = np.log(np.concatenate([usual.scale, usual.length, [1.0, 1.0 / prior.wander]]))
    spread = np.append(np.repeat(prior.rest.spreads, (3, inks, 1)), _WANDERS)

    def unlikely(point: Array) -> tuple[float, Array]:
        scale, length = np.exp(point[:3]), np.exp(point[3 : 3 + inks])
        noise, wander = np.exp(point[-2:]).tolist()
        shape, by_length = Kernel(scale, length).shape_by_length(coverages)
        value = 0.5 * float(np.sum(((point - middle) / spread) ** 2))
        slope = (point - middle) / spread**2
        for coordinate in range(3):
            process = scale[coordinate] ** 2
            matrix = allowed[coordinate] + wander * drifted[coordinate] + process * shape
            matrix[np.diag_indices_from(matrix)] += noise * data.variance
            try:
                lower = cholesky(matrix, lower=True, check_finite=False)
            except LinAlgError:
                return 1e12, slope
            inverse = cho_solve((lower, True), np.eye(len(matrix)), check_finite=False)
            weight = inverse @ residual[coordinate]
            value += 0.5 * float(residual[coordinate] @ weight)
            value += float(np.sum(np.log(np.diag(lower))))
            # d value / dh = ½ tr((Σ⁻¹ − Σ⁻¹ r rᵀ Σ⁻¹) dΣ/dh)
            core = inverse - np.outer(weight, weight)
            slope[coordinate] += process * float(np.sum(core * shape))
            slope[3 : 3 + inks] += 0.5 * process * np.einsum("ij,kij->k", core, by_length)
            slope[-2] += 0.5 * noise * float(np.diag(core) @ data.variance)
            slope[-1] += 0.5 * wander * float(np.sum(core * drifted[coordinate]))
        return value, slope

    found = minimize(unlikely, middle, jac=True, method="L-BFGS-B", options={"maxiter": 25}).x
    kernel = Kernel(np.exp(found[:3]), np.exp(found[3 : 3 + inks]))
    return kernel, float(np.exp(found[-2])), float(np.exp(found[-1]))
