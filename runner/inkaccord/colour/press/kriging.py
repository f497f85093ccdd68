"""Prediction from a fitted press model, with everything that is uncertain about it."""

from dataclasses import dataclass, replace

import numpy as np
from scipy.linalg import block_diag, cho_solve, cholesky, solve_triangular

from inkaccord.colour.arrays import Array
from inkaccord.colour.perceptual import even_jacobian, even_to_lab, lab_to_even
from inkaccord.colour.press.fitting import Data, Whitener, even_chain, linearise
from inkaccord.colour.press.noise import Noise
from inkaccord.colour.press.priors import Prior
from inkaccord.colour.press.process import Process
from inkaccord.colour.press.residual import Kernel

_CHUNK = 512
"""How many builds are predicted at a time, so that memory stays bounded."""


@dataclass(frozen=True, eq=False)
class Posterior:
    """The halftone parameters and the process, given the readings."""

    prior: Prior
    parameters: Array
    kernel: Kernel
    coverages: Array
    """(n, k) of the readings."""
    pull: Array
    """(3, n): what each reading adds to a prediction, per unit of covariance with it."""
    whiten: Whitener
    slopes: Array
    """(3, n, p): the readings' derivatives by the whitened parameters, whitened."""
    root: Array
    """(p, p): Cholesky factor of the prior's covariance."""
    information: Array
    """(p, p): Cholesky factor of the whitened parameters' inverse covariance."""
    inflation: float
    """Factor on all covariances, from how well each reading was predicted by the others."""
    evidence: float
    """ln of the kind's odds times the readings' marginal likelihood, but for a constant (Laplace's
    approximation)."""

    @classmethod
    def of(
        cls,
        prior: Prior,
        parameters: Array,
        kernel: Kernel,
        data: Data,
        inflation: float = 1.0,
    ) -> "Posterior":
        """Condition on the readings at the parameters found."""
        coverages, _ = prior.layout.places(parameters, data.nominal)
        whiten = Whitener.of(kernel, coverages, data.noise)
        linear = linearise(prior, parameters, data.nominal, data.sheet)
        root = cholesky(prior.covariance, lower=True)
        slopes = whiten(linear.by_parameter @ root)
        residual = (data.even - linear.even).T
        pull = np.stack(
            [
                cho_solve((low, True), one, check_finite=False)
                for low, one in zip(whiten.lower, residual, strict=True)
            ]
        )
        stacked = slopes.reshape(-1, len(parameters))
        information = cholesky(stacked.T @ stacked + np.eye(len(parameters)), lower=True)
        surprise = float(np.sum(residual * pull))
        departure = solve_triangular(root, parameters - prior.mean, lower=True)
        logs = [np.log(np.diag(factor)).sum() for factor in (*whiten.lower, information)]
        unlikely = 0.5 * (surprise + float(departure @ departure)) + float(np.sum(logs))
        return cls(
            prior=prior,
            parameters=parameters,
            kernel=kernel,
            coverages=coverages,
            pull=pull,
            whiten=whiten,
            slopes=slopes,
            root=root,
            information=information,
            inflation=inflation,
            evidence=prior.odds - unlikely,
        )

    def with_sheet(self, nominal: Array, noise: Noise) -> "Posterior":
        """Condition on one more sheet, whose readings come out just as predicted.

        Predictions stay; how sure they are is what it would be. Exact but for what a fit learns
        anew: parameters, kernel and noise.

        Parameters
        ----------
        nominal
            (r, k) nominal coverages on the sheet. It gets a drift of its own, as in a fit.
        noise
            Of r readings.
        """
        prior = self.prior.with_sheets(1)
        own = prior.covariance[len(self.parameters) :, len(self.parameters) :]
        parameters = np.concatenate([self.parameters, np.zeros(len(own))])
        root = block_diag(self.root, np.sqrt(own))
        coverages, _ = prior.layout.places(parameters, nominal)
        sheet = np.full(len(nominal), prior.sheets - 1)
        free = linearise(prior, parameters, nominal, sheet).by_parameter @ root
        known = np.concatenate([self.slopes, np.zeros((*self.slopes.shape[:2], len(own)))], axis=2)
        covered = self.covered(self.kernel.shape(coverages, self.coverages))
        fresh = Whitener.of(self.kernel, coverages, noise, known=covered)
        slopes = fresh(free - covered.transpose(0, 2, 1) @ known)
        flat = slopes.reshape(-1, len(parameters))
        before = block_diag(self.information, np.eye(len(own)))
        return replace(
            self,
            prior=prior,
            parameters=parameters,
            coverages=np.concatenate([self.coverages, coverages]),
            pull=np.concatenate([self.pull, np.zeros((3, len(nominal)))], axis=1),
            whiten=self.whiten.followed_by(fresh, covered),
            slopes=np.concatenate([known, slopes], axis=1),
            root=root,
            information=cholesky(before @ before.T + flat.T @ flat, lower=True),
        )

    def covered(self, shape: Array) -> Array:
        """Return (3, n, m): what the n readings tell of the process where ``shape`` (m, n) is."""
        return self.whiten(shape.T[None] * self.kernel.scale[:, None, None] ** 2)

    @property
    def processes(self) -> tuple[Process, ...]:
        """What is added to the halftone model: the residual of the kin, if any, then its own."""
        own = Process(self.prior.layout, self.parameters, self.kernel, self.coverages, self.pull)
        return (*self.prior.carried, own)

    def lab(self, nominal: Array) -> Array:
        """Return CIELAB (m, 3) of nominal coverages (m, k)."""
        return np.concatenate([self._lab(part) for part in _parts(nominal)])

    def _lab(self, nominal: Array) -> Array:
        even = lab_to_even(self.prior.layout.prints(self.parameters, nominal).lab)
        for process in self.processes:
            even = even + process.mean(nominal)
        return even_to_lab(even)

    def jacobian(self, nominal: Array) -> tuple[Array, Array]:
        """Return CIELAB (m, 3) and its derivatives by nominal coverages (m, 3, k)."""
        parts = [self._jacobian(part) for part in _parts(nominal)]
        return np.concatenate([p[0] for p in parts]), np.concatenate([p[1] for p in parts])

    def _jacobian(self, nominal: Array) -> tuple[Array, Array]:
        printed = self.prior.layout.prints(self.parameters, nominal)
        plain, chain = even_chain(printed)
        even, slopes = lab_to_even(plain), chain @ printed.by_coverage
        for process in self.processes:
            more, more_slopes = process.mean_slopes(nominal)
            even, slopes = even + more, slopes + more_slopes
        lab = even_to_lab(even)
        return lab, np.asarray(np.linalg.solve(even_jacobian(lab), slopes), dtype=np.float64)

    def covariance(self, nominal: Array) -> tuple[Array, Array]:
        """Return CIELAB (m, 3) and the covariance (m, 3, 3) of its error."""
        parts = [self._covariance(part) for part in _parts(nominal)]
        return np.concatenate([p[0] for p in parts]), np.concatenate([p[1] for p in parts])

    def _covariance(self, nominal: Array) -> tuple[Array, Array]:
        linear = linearise(self.prior, self.parameters, nominal)
        coverages, _ = self.prior.layout.places(self.parameters, nominal)
        shape = self.kernel.shape(coverages, self.coverages)
        power = self.kernel.scale**2
        even = linear.even + (shape @ self.pull.T) * power
        covered = self.covered(shape)
        free = linear.by_parameter @ self.root - covered.transpose(0, 2, 1) @ self.slopes
        size = len(self.parameters)
        spread = solve_triangular(
            self.information, free.reshape(-1, size).T, lower=True, check_finite=False
        ).reshape(size, 3, -1)
        covariance = np.einsum("pim,pjm->mij", spread, spread)
        left = np.maximum(power[:, None] - np.sum(covered**2, axis=1), 0.0)
        left *= self.prior.caution * (1.0 + self.prior.rest.remote * left / power[:, None])
        covariance[:, [0, 1, 2], [0, 1, 2]] += left.T
        lab = even_to_lab(even)
        back = np.linalg.inv(even_jacobian(lab))
        return lab, np.asarray(self.inflation * (back @ covariance @ back.transpose(0, 2, 1)))


def _parts(nominal: Array) -> list[Array]:
    """Return the builds in chunks (one empty chunk where there are none)."""
    return [nominal[at : at + _CHUNK] for at in range(0, max(len(nominal), 1), _CHUNK)]
