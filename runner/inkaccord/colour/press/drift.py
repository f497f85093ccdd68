"""How far a press has wandered, from the control swatches that every sheet repeats.

A sheet's drift is taken for what presses do: each ink's dot gain and strength move. A few controls
then say how every colour moved, with how much is left uncertain; a pair that has drifted can be
used again from its controls alone, until it is read in full.
"""

from dataclasses import dataclass, replace

import numpy as np

from inkaccord.colour.arrays import Array
from inkaccord.colour.builds import FULL_SCALE, Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.press.drift_basis import drift_basis, drift_deviations
from inkaccord.colour.press.faults import Suspect
from inkaccord.colour.press.kriging import Posterior
from inkaccord.colour.press.model import PressModel, fit
from inkaccord.colour.press.prepare import nominal_coverages, prepare
from inkaccord.colour.readings import Readings
from inkaccord.colour.spaces import lab_to_xyz, xyz_to_lab
from inkaccord.colour.uncertainty import delta_e_bound, expected_delta_e, noise_covariance
from inkaccord.diagnostics import Diagnostic
from inkaccord.errors import OrderError

_WIDER = 6.0
"""A press that is checked for drift may have moved this much more than sheets of one day do."""


@dataclass(frozen=True, eq=False)
class SheetDrift:
    """What one print of a pair does otherwise than the model.

    Attributes
    ----------
    mean, covariance
        (2k,) and (2k, 2k): gains at half tone, then strengths, as shares of coverage.
    unexplained
        Root mean square ΔE00 of the controls that it does not explain.
    """

    mean: Array
    covariance: Array
    unexplained: float


def sheet_drift(model: PressModel, controls: Readings) -> SheetDrift:
    """Return the drift of a sheet from the readings of its control swatches.

    Parameters
    ----------
    model
        The pair as it was.
    controls
        Readings of one print; paper, solids and half tones serve best.

    Raises
    ------
    OrderError
        ``wrong-drive``, and those of :func:`inkaccord.colour.press.prepare.prepare`.
    """
    if controls.drive is not model.drive:
        raise OrderError.of(
            "wrong-drive", f"controls in {controls.drive} for a pair driven in {model.drive}"
        )
    prepare(controls)
    basis = _lab_basis(model, controls.builds)  # (n, 3, 2k)
    predicted = model.predict_lab(controls.builds)
    moved = xyz_to_lab(controls.xyz) - predicted
    doubt = model.covariance_lab(controls.builds) + noise_covariance(predicted, controls.noise)
    weight = np.linalg.inv(doubt)
    deviations = _WIDER * drift_deviations(basis.shape[2] // 2)
    normal = np.einsum("nip,nij,njq->pq", basis, weight, basis) + np.diag(deviations**-2.0)
    covariance = np.linalg.inv(normal)
    mean = covariance @ np.einsum("nip,nij,nj->p", basis, weight, moved)
    left = delta_e_2000(predicted + moved, predicted + basis @ mean)
    return SheetDrift(mean, covariance, float(np.sqrt(np.mean(left**2))))


@dataclass(frozen=True, eq=False)
class Drifted:
    """A pair that has drifted: a press model of its earlier readings, moved to where it is now.

    Predicts as :class:`~inkaccord.colour.press.model.PressModel` does, with a wider bound: what is
    uncertain about the drift is wrong for all earlier readings at once.
    """

    base: PressModel
    """Fitted to the earlier readings as moved, and to the new ones."""
    drift: SheetDrift

    @property
    def drive(self) -> Drive:
        """How the device is driven."""
        return self.base.drive

    @property
    def posterior(self) -> Posterior:
        """What was learned, the drift taken for known."""
        return self.base.posterior

    @property
    def suspects(self) -> tuple[Suspect, ...]:
        """Readings that the others contradict: the earlier ones come first, then the new ones."""
        return self.base.suspects

    @property
    def findings(self) -> tuple[Diagnostic, ...]:
        """What is odd about the readings."""
        return self.base.findings

    @property
    def paper_lab(self) -> Array:
        """CIELAB (3,) of the bare paper."""
        return self.base.paper_lab

    def predict_lab(self, builds: Array) -> Array:
        """Return CIELAB (n, 3)."""
        return self.base.predict_lab(builds)

    def jacobian_lab(self, builds: Array) -> Array:
        """Return the derivatives (n, 3, k) of CIELAB by device units."""
        return self.base.jacobian_lab(builds)

    def lab_and_jacobian(self, builds: Array) -> tuple[Array, Array]:
        """Return both of the above, at the cost of one."""
        return self.base.lab_and_jacobian(builds)

    def covariance_lab(self, builds: Array) -> Array:
        """Return the covariance (n, 3, 3) of the prediction's error in CIELAB."""
        basis = _lab_basis(self.base, builds)
        common = np.einsum("nip,pq,njq->nij", basis, self.drift.covariance, basis)
        return np.asarray(self.base.covariance_lab(builds) + common)

    def bound(self, builds: Array) -> Array:
        """Return the ΔE00 (n,) within which a print, once read, lies with 95 % probability."""
        covariance = self.covariance_lab(builds)
        return delta_e_bound(self.predict_lab(builds), covariance, repeat=self.base.repeat)

    def with_sheet(self, builds: Array, noise: float) -> "Drifted":
        """Return the model as sure as it would be, were builds (r, k) of one more sheet read too.

        Its predictions stay. ``noise`` is the root mean square ΔE00 of a reading.
        """
        basis = _lab_basis(self.base, builds)
        lab = self.base.predict_lab(builds)
        doubt = self.base.covariance_lab(builds) + noise_covariance(lab, np.full(len(lab), noise))
        told = np.einsum("nip,nij,njq->pq", basis, np.linalg.inv(doubt), basis)
        covariance = np.linalg.inv(np.linalg.inv(self.drift.covariance) + told)
        return Drifted(
            self.base.with_sheet(builds, noise), replace(self.drift, covariance=covariance)
        )


def re_anchor(model: PressModel, earlier: Readings, now: Readings) -> Drifted:
    """Return the pair as it is now, from its earlier readings and a few new ones.

    The new ones tell the drift; the earlier ones are moved by it, with what is uncertain about it
    as further noise, and a model is fitted to both. So a few swatches beside the controls teach
    as much as they do for any pair, and none of them counts twice.

    Parameters
    ----------
    model
        Fitted to ``earlier``.
    earlier, now
        Readings from before and after the drift; the controls alone will do for ``now``.

    Raises
    ------
    OrderError
        As :func:`sheet_drift` and :func:`inkaccord.colour.press.model.fit` do.
    """
    drift = sheet_drift(model, now)
    basis = _lab_basis(model, earlier.builds)
    lab = xyz_to_lab(earlier.xyz) + basis @ drift.mean
    spread = np.einsum("nip,pq,njq->nij", basis, drift.covariance, basis)
    doubt = expected_delta_e(lab, spread) ** 2 + drift.unexplained**2
    both = Readings(
        drive=now.drive,
        builds=np.concatenate([earlier.builds, now.builds]),
        xyz=np.concatenate([lab_to_xyz(lab), now.xyz]),
        sheet=np.concatenate([earlier.sheet, now.sheet + earlier.sheet.max() + 1]),
        noise=np.concatenate([np.sqrt(earlier.noise**2 + doubt), now.noise]),
        scanned=np.concatenate([earlier.by_scan, now.by_scan]),
        conditions=now.conditions,
    )
    return Drifted(fit(both), drift)


@dataclass(frozen=True)
class Wandering:
    """How far apart two prints of the same builds are."""

    typical: float
    """Root mean square ΔE00, the readings' noise taken off."""
    largest: float
    """Of the single swatches, as read."""
    noise: float
    """Root mean square ΔE00 that two readings of one print would show."""
    swatches: int

    @property
    def seen(self) -> bool:
        """Whether the difference stands out of the noise (at about 95 %)."""
        spread = self.noise**2 * np.sqrt(2.0 / (3.0 * self.swatches))
        return bool(self.typical**2 > 1.645 * spread)


def drift_between(before: Readings, after: Readings) -> Wandering:
    """Return how far the swatches that two sheets have in common lie apart.

    Raises
    ------
    OrderError
        ``nothing-in-common``, ``conditions-differ``, and those of
        :func:`inkaccord.colour.press.prepare.prepare`.
    """
    for readings in (before, after):
        prepare(readings)
    clash = before.conditions.clash(after.conditions)
    if clash is not None:
        raise OrderError.of(
            "conditions-differ", f"drift can't be told from {clash}", hint="read both alike"
        )
    first, second = _by_build(before), _by_build(after)
    common = sorted(first.keys() & second.keys())
    if not common:
        raise OrderError.of(
            "nothing-in-common",
            "the two sheets have no build in common",
            hint="leave the control swatches on every sheet",
        )
    apart = np.array([delta_e_2000(first[key][0], second[key][0]) for key in common])
    noise = float(np.sqrt(np.mean([first[key][1] + second[key][1] for key in common])))
    typical = float(np.sqrt(max(float(np.mean(apart**2)) - noise**2, 0.0)))
    return Wandering(typical, float(apart.max()), noise, len(common))


def _by_build(readings: Readings) -> dict[tuple[float, ...], tuple[Array, float]]:
    """Return the mean colour of each build, and the variance of its noise in ΔE00²."""
    lab = xyz_to_lab(readings.xyz)
    builds, which = np.unique(readings.builds.round(6), axis=0, return_inverse=True)
    which = which.ravel()
    return {
        tuple(build.tolist()): (
            lab[which == row].mean(axis=0),
            float(np.mean(readings.noise[which == row] ** 2) / np.sum(which == row)),
        )
        for row, build in enumerate(builds)
    }


def _lab_basis(model: PressModel, builds: Array) -> Array:
    """Return how CIELAB moves (n, 3, 2k) by the coefficients of a drift."""
    sign = 1.0 if model.drive is Drive.CMYK else -1.0
    by_coverage = model.jacobian_lab(builds) * (sign * FULL_SCALE[model.drive])
    return drift_basis(nominal_coverages(model.drive, builds), by_coverage)
