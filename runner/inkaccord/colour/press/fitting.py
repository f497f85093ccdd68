"""Fitting the halftone model and the process on its residual to readings, as one Bayesian model.

Readings y = f(θ) + g + noise, with a Gaussian prior on θ and a Gaussian process g. θ is found by
Levenberg–Marquardt steps in which the process counts as correlated noise (generalised least
squares), so that the two never explain the same error twice; prediction with its uncertainty then
follows by universal kriging (N. Cressie, 'Statistics for Spatial Data', Wiley 1993, ch. 3).
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cholesky, solve_triangular

from inkaccord.colour.arrays import Array
from inkaccord.colour.perceptual import even_jacobian, lab_to_even
from inkaccord.colour.press.drift_basis import drift_basis
from inkaccord.colour.press.noise import Noise
from inkaccord.colour.press.priors import Prior
from inkaccord.colour.press.residual import Kernel
from inkaccord.colour.press.surface import Printed
from inkaccord.colour.spaces import lab_jacobian, xyz_to_lab


@dataclass(frozen=True, eq=False)
class Data:
    """Readings made ready for the fit."""

    nominal: Array
    """(n, k) nominal coverages, 0 to 1."""
    even: Array
    """(n, 3) even coordinates."""
    noise: Noise
    sheet: NDArray[np.int_]
    """(n,) 0, 1, … for the sheets in the order of their numbers."""

    @property
    def sheets(self) -> int:
        """How many sheets there are."""
        return int(self.sheet.max()) + 1 if len(self.sheet) else 0

    def of(self, chosen: NDArray[np.int_]) -> "Data":
        """Return some of the readings."""
        return replace(
            self,
            nominal=self.nominal[chosen],
            even=self.even[chosen],
            noise=self.noise.of(chosen),
            sheet=self.sheet[chosen],
        )

    def with_noise(self, noise: Noise) -> "Data":
        """Return the readings with another noise."""
        return replace(self, noise=noise)

    def __len__(self) -> int:
        return len(self.nominal)


@dataclass(frozen=True, eq=False)
class Linear:
    """The halftone model near its parameters, in even coordinates."""

    even: Array
    """(n, 3)"""
    by_parameter: Array
    """(3, n, p): even coordinate by parameter."""


def linearise(
    prior: Prior, parameters: Array, nominal: Array, sheet: NDArray[np.int_] | None = None
) -> Linear:
    """Return the halftone model's colours and their derivatives by all parameters.

    Without ``sheet`` they are those of the press in its usual state.
    """
    printed = prior.layout.prints(parameters, nominal, by_parameter=True)
    lab, chain = even_chain(printed)
    # (n, 3 even, 3 bands) with (n, 3 bands, parameters of each) gives (n, 3 even, all).
    by_band = chain @ printed.by_band
    full = (by_band[:, :, :, None] * printed.by_parameter[:, None]).reshape(len(nominal), 3, -1)
    full = np.concatenate([full, chain @ printed.by_shared], axis=2)
    even = lab_to_even(lab)
    for process in prior.carried:
        even = even + process.mean(nominal)
    if prior.sheets:
        drift = np.zeros((len(nominal), 3, prior.sheets, 2 * prior.layout.inks))
        if sheet is not None:
            basis = drift_basis(nominal, chain @ printed.by_coverage)
            drift[np.arange(len(nominal)), :, sheet] = basis
        flat = drift.reshape(len(nominal), 3, -1)
        even = even + flat @ parameters[prior.layout.size :]
        full = np.concatenate([full, flat], axis=2)
    return Linear(even, np.ascontiguousarray(full.transpose(1, 0, 2)))


def even_chain(printed: Printed) -> tuple[Array, Array]:
    """Return CIELAB (n, 3) and the derivatives of even coordinates by XYZ (n, 3, 3)."""
    lab = xyz_to_lab(printed.xyz)
    return lab, np.asarray(even_jacobian(lab) @ lab_jacobian(printed.xyz))


@dataclass(frozen=True, eq=False)
class Whitener:
    """What turns the noise of the readings, process included, into white noise."""

    lower: tuple[Array, ...]
    """Cholesky factors (n, n) for the three coordinates; or one (n,) of standard deviations."""

    @classmethod
    def plain(cls, variance: Array) -> "Whitener":
        """Return the one for noise that is independent between readings."""
        return cls((np.sqrt(variance),))

    @classmethod
    def of(
        cls, kernel: Kernel, coverages: Array, noise: Noise, known: Array | None = None
    ) -> "Whitener":
        """Return the one for process plus noise, less what earlier readings tell of the process.

        ``known`` is (3, m, n): what m earlier readings tell of these n, whitened.
        """
        shape = kernel.shape(coverages, coverages)
        lower = []
        for coordinate, scale in enumerate(kernel.scale):
            matrix = shape * scale**2
            if known is not None:
                matrix -= known[coordinate].T @ known[coordinate]
            noise.add_to(matrix, shape)
            # LAPACK works in place on columns; the matrix is symmetric, so its transpose will do.
            lower.append(cholesky(matrix.T, lower=True, overwrite_a=True, check_finite=False))
        return cls(tuple(lower))

    def followed_by(self, fresh: "Whitener", covered: Array) -> "Whitener":
        """Return the one for these readings and fresh ones, which :meth:`of` was given them for."""
        return Whitener(
            tuple(
                np.block([[old, np.zeros_like(cross)], [cross.T, new]])
                for old, new, cross in zip(self.lower, fresh.lower, covered, strict=True)
            )
        )

    def __call__(self, blocks: Array) -> Array:
        """Return the whitened (3, n, …) blocks."""
        if len(self.lower) == 1:
            deviations = self.lower[0]
            return np.asarray(blocks / deviations.reshape(1, -1, *(1,) * (blocks.ndim - 2)))
        return np.stack(
            [
                solve_triangular(low, block, lower=True, check_finite=False)
                for low, block in zip(self.lower, blocks, strict=True)
            ]
        )


def climb(prior: Prior, data: Data, start: Array, whiten: Whitener, *, steps: int) -> Array:
    """Return the parameters (p,) of greatest posterior probability near ``start``.

    Parameters
    ----------
    prior, data
        What is known, and what was read.
    start
        (p,) where to begin.
    whiten
        Carries the noise of the readings and the process.
    steps
        How many Levenberg–Marquardt steps at most.
    """
    root = cholesky(prior.covariance, lower=True)
    z = solve_triangular(root, start - prior.mean, lower=True)
    size = len(z)

    def look(point: Array) -> tuple[float, Array, Linear]:
        linear = linearise(prior, prior.mean + root @ point, data.nominal, data.sheet)
        residual = whiten((data.even - linear.even).T)
        return float(np.sum(residual**2) + point @ point), residual, linear

    cost, residual, linear = look(z)
    damping = 1e-3
    for _ in range(steps):
        slopes = whiten(linear.by_parameter @ root).reshape(-1, size)
        normal = slopes.T @ slopes + np.eye(size)
        pull = slopes.T @ residual.ravel() - z
        before = cost
        for _ in range(6):
            step = np.linalg.solve(normal + damping * np.diag(np.diag(normal)), pull)
            trial = look(z + step)
            if trial[0] <= cost:
                z, (cost, residual, linear) = z + step, trial
                damping *= 0.2
                break
            damping = max(damping, 1e-4) * 8.0
        if before - cost < 1e-3:
            break
    return np.asarray(prior.mean + root @ z)
