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
_UNTOLD = 0.05
"""The same of what builds share that are alike in a scan: of a scan alone its calibration says
more of that than its own readings."""
MOST = 160
"""The likelihood is taken on at most this many readings: its cost grows with their cube."""


def usual_kernel(prior: Prior) -> Kernel:
    """Return the residual that is expected before any reading."""
    rest = prior.rest
    return Kernel(np.full(3, prior.residual * rest.scale), np.full(prior.layout.inks, rest.length))


def learn(
    prior: Prior, data: Data, parameters: Array, coverages: Array
) -> tuple[Kernel, Array, float]:
    """Return the kernel that the readings speak for, and factors on variances.

    Those of the noise (2, s), as in :meth:`Noise.scaled`, and that of the sheets' drifts (1 for a
    single sheet).

    Parameters
    ----------
    prior, data, parameters
        The halftone model and what it was fitted to.
    coverages
        (n, k) effective coverages of the readings.
    """
    from scipy.optimize import minimize  # noqa: PLC0415 - slow to load, and fits are recalled

    inks, as_stated = coverages.shape[1], data.noise.usual
    if len(data) > MOST:
        # The readings are in canonical order, so this choice depends on nothing but them.
        chosen = np.sort(np.random.default_rng(0).permutation(len(data))[:MOST])
        data = data.of(chosen)
        coverages = coverages[chosen]
    tells = data.noise.source == 0
    # How far a scan lies off says nothing of how much the device wanders, nor does one sheet.
    wanders = tells * (len(np.unique(data.sheet[tells])) > 1)
    by_wander = 0.5 * (wanders[:, None] + wanders)
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
    middle = np.log(
        np.concatenate([usual.scale, usual.length, as_stated.ravel(), [1.0 / prior.wander]])
    )
    scale, length, noise = prior.rest.spreads
    alike = noise if tells.any() else _UNTOLD
    counts = 3, inks, as_stated.shape[1], as_stated.shape[1], 1
    spread = np.repeat([scale, length, noise, alike, _WANDERS], counts)

    def unlikely(point: Array) -> tuple[float, Array]:
        scale, length = np.exp(point[:3]), np.exp(point[3 : 3 + inks])
        noise = data.noise.scaled(np.exp(point[3 + inks : -1]).reshape(as_stated.shape))
        wander = np.exp(point[-1]) ** by_wander
        shape, by_length = Kernel(scale, length).shape_by_length(coverages)
        value = 0.5 * float(np.sum(((point - middle) / spread) ** 2))
        slope = (point - middle) / spread**2
        for coordinate in range(3):
            process = scale[coordinate] ** 2
            matrix = allowed[coordinate] + wander * drifted[coordinate] + process * shape
            noise.add_to(matrix, shape)
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
            slope[3 : 3 + inks] += 0.5 * np.einsum(
                "ij,kij->k", core * (process + noise.common()), by_length
            )
            slope[3 + inks : -1] += 0.5 * noise.by_factor(core, shape, as_stated.shape[1]).ravel()
            slope[-1] += 0.5 * float(np.sum(by_wander * wander * core * drifted[coordinate]))
        return value, slope

    found = minimize(unlikely, middle, jac=True, method="L-BFGS-B", options={"maxiter": 25}).x
    kernel = Kernel(np.exp(found[:3]), np.exp(found[3 : 3 + inks]))
    factors = np.exp(found[3 + inks : -1]).reshape(as_stated.shape)
    return kernel, factors, float(np.exp(found[-1]))
