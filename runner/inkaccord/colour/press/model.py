"""The press model of a pair: what a build looks like, how its colour changes, how sure that is."""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from inkaccord.colour.arrays import Array
from inkaccord.colour.builds import CHANNELS, FULL_SCALE, Drive
from inkaccord.colour.press.evidence import learn, usual_kernel
from inkaccord.colour.press.faults import (
    LeftOut,
    Suspect,
    contradicted,
    describe,
    distrust,
    overconfidence,
)
from inkaccord.colour.press.fitting import Data, Whitener, climb
from inkaccord.colour.press.kin import DISTANT, NEAR, carried_over
from inkaccord.colour.press.kriging import Posterior
from inkaccord.colour.press.noise import Noise, noise_variance
from inkaccord.colour.press.population import populations
from inkaccord.colour.press.prepare import nominal_coverages, prepare
from inkaccord.colour.press.priors import Prior
from inkaccord.colour.press.rgb_screen import Screen
from inkaccord.colour.press.unlike import own_scale_doubt, unlikeness
from inkaccord.colour.readings import Readings
from inkaccord.colour.uncertainty import delta_e_bound
from inkaccord.diagnostics import Diagnostic, note, warning
from inkaccord.errors import OrderError

_MISFIT = 0.4
"""Variance of the halftone model's own error while the process is not yet known."""
_LOOKS = 3
"""How often bad readings are looked for, each time with what was learned without them."""
_FINEST_REPEAT = 0.3
"""ΔE00 within which an instrument repeats, by which a print is taken to be checked."""


@dataclass(frozen=True, eq=False)
class PressModel:
    """What a pair prints. Made by :func:`fit`; it never changes.

    Builds are (n, k) in device units: percent, or RGB 0 to 255.
    """

    drive: Drive
    posterior: Posterior
    repeat: float
    """Root mean square ΔE00 between two readings' truth and a reading: what a check repeats to."""
    suspects: tuple[Suspect, ...] = ()
    """Readings that the others contradict."""
    findings: tuple[Diagnostic, ...] = ()
    """What is odd about the readings, suspects included."""

    @cached_property
    def paper_lab(self) -> Array:
        """CIELAB (3,) of the bare paper."""
        bare = 0.0 if self.drive is Drive.CMYK else FULL_SCALE[self.drive]
        return np.asarray(self.predict_lab(np.full((1, len(CHANNELS[self.drive])), bare))[0])

    def predict_lab(self, builds: Array) -> Array:
        """Return CIELAB (n, 3)."""
        return self.posterior.lab(nominal_coverages(self.drive, builds))

    def jacobian_lab(self, builds: Array) -> Array:
        """Return the derivatives (n, 3, k) of CIELAB by device units."""
        return self.lab_and_jacobian(builds)[1]

    def lab_and_jacobian(self, builds: Array) -> tuple[Array, Array]:
        """Return :meth:`predict_lab` and :meth:`jacobian_lab` together, at the cost of one."""
        lab, by_coverage = self.posterior.jacobian(nominal_coverages(self.drive, builds))
        per_unit = (1.0 if self.drive is Drive.CMYK else -1.0) / FULL_SCALE[self.drive]
        return lab, by_coverage * per_unit

    def covariance_lab(self, builds: Array) -> Array:
        """Return the covariance (n, 3, 3) of the prediction's error in CIELAB."""
        return self.posterior.covariance(nominal_coverages(self.drive, builds))[1]

    def bound(self, builds: Array) -> Array:
        """Return the ΔE00 (n,) within which a print, once read, lies with 95 % probability.

        The prediction's own uncertainty, parameters included, and how well a reading repeats.
        """
        lab, covariance = self.posterior.covariance(nominal_coverages(self.drive, builds))
        return delta_e_bound(lab, covariance, repeat=self.repeat)

    def with_sheet(self, builds: Array, noise: float) -> "PressModel":
        """Return the model as sure as it would be, were builds (r, k) of one more sheet read too.

        Its predictions stay. ``noise`` is the root mean square ΔE00 of a reading.
        """
        nominal = nominal_coverages(self.drive, builds)
        read = Noise.plain(noise_variance(np.full(len(nominal), noise)))
        return replace(self, posterior=self.posterior.with_sheet(nominal, read))


def fit(readings: Readings, *, prior: PressModel | None = None) -> PressModel:
    """Fit a press model to the readings of a pair.

    Parameters
    ----------
    readings
        From 1 reading (the paper) to thousands, of one or several sheets.
    prior
        The model of a related pair (same device, other stock), if there is one.

    Returns
    -------
    PressModel
        The same for the same readings in any order.

    Raises
    ------
    OrderError
        ``no-readings``, ``bad-readings``, ``wrong-kin``.
    """
    ready = prepare(readings)
    # Of several kinds of device the one is kept that the readings are likeliest under.
    kinds = [_learn(known, ready.data) for known in populations(readings.drive)]
    learned = max(kinds, key=lambda kind: kind.posterior.evidence)
    findings = list(ready.findings)
    if prior is not None:
        learned, kinship = _with_kin(learned, prior, ready.data, readings.drive)
        findings.append(kinship)
    layout = learned.posterior.prior.layout
    if isinstance(layout, Screen) and layout.enhances(learned.posterior.parameters):
        findings.append(
            warning(
                "driver-enhances",
                "this driver changes colours by itself, to make them livelier",
                hint="switch that off in the driver and print a new first sheet, or go on: "
                "builds are found for the driver as it is",
            )
        )
    findings += contradicted(ready.data.noise, learned.noise)
    suspects = describe(learned.left_out, ready.data, learned.flagged, ready.rows)
    return PressModel(
        drive=readings.drive,
        posterior=learned.posterior,
        repeat=min(_FINEST_REPEAT, float(np.median(readings.noise)))
        * float(learned.noise[0, 0] ** 0.5),
        suspects=suspects,
        findings=(*findings, *(suspect.finding() for suspect in suspects)),
    )


def _with_kin(
    alone: "_Learned", prior: PressModel, data: Data, drive: Drive
) -> tuple["_Learned", Diagnostic]:
    """Return the likeliest of no kin, distant kin and near kin, and which it is."""
    if prior.drive is not drive:
        raise OrderError.of(
            "wrong-kin",
            f"the related pair is driven in {prior.drive}, this one in {drive}",
            hint="take a pair of the same device with the same driver setting",
        )
    layout = prior.posterior.prior.layout
    known = next(kind for kind in populations(drive) if kind.layout == layout)
    best, chosen = alone, None
    for relation in (DISTANT, NEAR):
        kin = carried_over(prior.posterior, known, data, relation)
        learned = _learn(kin, data)
        if learned.posterior.evidence > best.posterior.evidence:
            best, chosen = learned, relation
    if chosen is None:
        return best, note(
            "kin-dropped",
            "what the same device printed on another stock was no help: what was read on this one "
            "speaks against it",
        )
    alike = "much" if chosen is NEAR else "somewhat"
    return best, note(
        "kin-used", f"what the same device printed on another stock helped: it prints {alike} alike"
    )


@dataclass(frozen=True, eq=False)
class _Learned:
    posterior: Posterior
    noise: Array
    """Factors (2, s), as in :meth:`Noise.scaled`."""
    flagged: NDArray[np.bool_]
    left_out: LeftOut


def _learn(known: Prior, data: Data) -> _Learned:
    """Find parameters, kernel, noise, and the readings that do not fit."""
    known = known.with_sheets(data.sheets if data.sheets > 1 else 0)
    found = climb(known, data, known.mean, Whitener.plain(data.noise.variance + _MISFIT), steps=15)
    coverages, _ = known.layout.places(found, data.nominal)
    # Learned from all readings, a bad one would pass for a rough press: look with the usual first.
    kernel, noise = usual_kernel(known), data.noise.usual
    before: NDArray[np.bool_] | None = None
    for _ in range(_LOOKS):
        noisy = data.with_noise(data.noise.scaled(noise))
        flagged, noisy, left_out = distrust(known, noisy, found, kernel, coverages)
        if before is not None and np.array_equal(flagged, before):
            break
        if before is None:
            unlike = unlikeness(left_out.misfit)
        before = flagged
        stated = data.with_noise(noisy.noise.scaled(1.0 / noise))
        kernel, noise, wander = learn(known, stated, found, coverages)
        known = known.wandering(wander)
    trusted = data.with_noise(stated.noise.scaled(noise))
    found = climb(known, trusted, found, Whitener.of(kernel, coverages, trusted.noise), steps=4)
    inflation = known.doubt * overconfidence(left_out, trusted, ~flagged)
    inflation *= own_scale_doubt(unlike, len(data))
    # What widens the rest says nothing of how far sheets drift apart.
    known = known.wandering(1.0 / inflation)
    if data.sheets == 1:
        # A sheet alone says nothing of its drift: it is taken as none, and left in doubt.
        known = known.with_sheets(1)
        found = np.concatenate([found, np.zeros(known.mean.size - found.size)])
    posterior = Posterior.of(known, found, kernel, trusted, inflation)
    return _Learned(posterior, noise, flagged, left_out)
