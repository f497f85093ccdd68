"""The press model of a pair: what a build looks like, how its colour changes, how sure that is."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from inkaccord.colour.builds import CHANNELS, FULL_SCALE, Drive
from inkaccord.colour.evidence import Habits, learn
from inkaccord.colour.fitting import Data, Whitener, climb
from inkaccord.colour.halftone import effective_coverages
from inkaccord.colour.kriging import Posterior
from inkaccord.colour.perceptual import lab_to_even
from inkaccord.colour.priors import Prior, population
from inkaccord.colour.readings import Readings
from inkaccord.colour.spaces import lab_to_xyz, xyz_to_lab
from inkaccord.colour.uncertainty import delta_e_bound, expected_delta_e
from inkaccord.diagnostics import Diagnostic

Array = NDArray[np.float64]

_EVEN_STEP = 1.15
"""Even coordinates in one ΔE00, on the average over print colours."""
_MISFIT = 0.4
"""Variance of the halftone model's own error while the process is not yet known."""


@dataclass(frozen=True, eq=False)
class PressModel:
    """What a pair prints. Made by :func:`fit`; it never changes."""

    drive: Drive
    posterior: Posterior
    noise: float
    """Factor on the stated variance of the readings that the readings speak for."""
    findings: tuple[Diagnostic, ...] = field(default=())

    @property
    def paper_lab(self) -> Array:
        """CIELAB (3,) of the bare paper as predicted."""
        top = 0.0 if self.drive is Drive.CMYK else FULL_SCALE[self.drive]
        return self.predict_lab(np.full((1, len(CHANNELS[self.drive])), top))[0]

    def predict_lab(self, builds: Array) -> Array:
        """Return CIELAB (n, 3) of builds (n, k) in device units."""
        return self.posterior.lab(nominal_coverages(self.drive, builds))

    def predict_xyz(self, builds: Array) -> Array:
        """Return XYZ (n, 3), perfect white Y = 100, of builds (n, k) in device units."""
        return lab_to_xyz(self.predict_lab(builds))

    def jacobian_lab(self, builds: Array) -> Array:
        """Return the derivatives (n, 3, k) of CIELAB by device units."""
        _, by_coverage = self.posterior.jacobian(nominal_coverages(self.drive, builds))
        return by_coverage * _coverage_per_unit(self.drive)

    def covariance_lab(self, builds: Array) -> Array:
        """Return the covariance (n, 3, 3) of the prediction's error in CIELAB."""
        return self.posterior.covariance(nominal_coverages(self.drive, builds))[1]

    def bound(self, builds: Array) -> Array:
        """Return the ΔE00 (n,) that the prediction's error stays below with 95 % probability."""
        return delta_e_bound(*self.posterior.covariance(nominal_coverages(self.drive, builds)))

    def expected_error(self, builds: Array) -> Array:
        """Return the root mean square ΔE00 (n,) of the prediction's error."""
        return expected_delta_e(*self.posterior.covariance(nominal_coverages(self.drive, builds)))


def nominal_coverages(drive: Drive, builds: Array) -> Array:
    """Return builds (n, k) as nominal coverages 0 to 1; RGB as the complement."""
    share = np.asarray(builds, dtype=np.float64) / FULL_SCALE[drive]
    return share if drive is Drive.CMYK else 1.0 - share


def _coverage_per_unit(drive: Drive) -> float:
    return (1.0 if drive is Drive.CMYK else -1.0) / FULL_SCALE[drive]


def fit(readings: Readings, *, prior: PressModel | None = None) -> PressModel:
    """Fit a press model to the readings of a pair.

    Parameters
    ----------
    readings
        From 1 reading (the paper) to thousands.
    prior
        The model of a related pair (same device, other stock), if there is one.

    Returns
    -------
    PressModel
        The same for the same readings in any order.
    """
    data = _prepare(readings)
    known = population(readings.drive)
    return _fit(readings.drive, data, known)


def _fit(drive: Drive, data: Data, known: Prior) -> PressModel:
    first = climb(known, data, known.mean, Whitener.plain(data.variance + _MISFIT), steps=15)
    coverages, _ = effective_coverages(known.layout, first, data.nominal)
    kernel, noise = learn(known, data, first, coverages, Habits())
    data = Data(data.nominal, data.even, data.variance * noise)
    whiten = Whitener.of(kernel, coverages, data.variance)
    found = climb(known, data, first, whiten, steps=4)
    return PressModel(drive, Posterior.of(known, found, kernel, data), noise)


def _prepare(readings: Readings) -> Data:
    """Return the readings in canonical order and in the model's own coordinates."""
    lab = xyz_to_lab(readings.xyz)
    order = np.lexsort((*lab.T, *readings.builds.T))
    nominal = nominal_coverages(readings.drive, readings.builds[order])
    variance = (readings.noise[order] * _EVEN_STEP) ** 2 / 3.0
    return Data(nominal, lab_to_even(lab[order]), variance)
