"""From a scanner's RGB to CIELAB, fitted on swatches of the same scan whose readings are known.

A scanner sees with filters that are not the eye's, so no fixed conversion serves; but on one
sheet, one set of inks, a smooth map does. It starts from what the RGB would be if the scanner
wrote sRGB, but for its curve and its stray light, and corrects that in CIELAB by as much as the
known swatches support. (Tried beside it, a matrix fitted in linear light, with and without root
terms: better for a scanner that is such a matrix, half as good on the spectra of real inks.)
"""

from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from inkaccord.colour.arrays import Array
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.glass import assumed_lab
from inkaccord.errors import OrderError
from inkaccord.words import counted

FEWEST = 6
"""Known swatches that a calibration needs."""
LEAST_NOISE = 1.0
"""ΔE00 that a calibrated scan is never believed to be better than."""

_CURVES = (0.8, 0.9, 1.0, 1.1, 1.25)
_FLARES = (0.0, 0.006, 0.012)
_RIDGES = (1e-3, 1e-2, 1e-1, 1.0)


@dataclass(frozen=True, eq=False)
class Calibration:
    """A map from linear scanner RGB to CIELAB.

    Attributes
    ----------
    curve, flare
        Exponent that straightens the scanner's curve; stray light that it sees on black.
    weights, degree
        The correction in CIELAB: coefficients and degree of its terms.
    low, high
        (3,) ends of the colours that it was fitted on.
    noise
        Root mean square ΔE00 of leaving each known swatch out in turn, 1 at least.
    left_out
        (n, 3) CIELAB of the known swatches, each predicted by the others.
    known_count
        n.
    """

    curve: float
    flare: float
    weights: Array
    degree: int
    noise: float
    left_out: Array
    known_count: int
    low: Array
    high: Array

    def lab(self, linear: Array) -> Array:
        """Return (n, 3) CIELAB of (n, 3) linear scanner RGB."""
        start = _start(linear, self.curve, self.flare)
        return start + _terms(start, self.degree) @ self.weights

    def outside(self, linear: Array, margin: float = 12.0) -> NDArray[np.bool_]:
        """Tell which colours lie beyond those that it was fitted on."""
        start = assumed_lab(linear)
        return np.asarray(((start < self.low - margin) | (start > self.high + margin)).any(axis=-1))


def calibrate(linear: Array, known_lab: Array) -> Calibration:
    """Fit a calibration to known swatches.

    Curve, stray light, the degree of the correction (a shift, an affine map, a quadratic one) and
    how far it is held back are those that predict a swatch best that was left out.

    Parameters
    ----------
    linear
        (n, 3) mean linear RGB of the known swatches.
    known_lab
        (n, 3) their CIELAB.

    Raises
    ------
    OrderError
        ``too-few-known`` for fewer than six.
    """
    count = len(linear)
    if count < FEWEST:
        raise OrderError.of(
            "too-few-known",
            f"of {counted(count, 'swatch')} in this scan alone a reading is known; a calibration "
            f"needs {FEWEST}",
            hint="record an instrument's reading of a sheet of this pair first",
        )
    best: Calibration | None = None
    least = np.inf
    for curve, flare, degree, ridge in product(_CURVES, _FLARES, range(3), _RIDGES):
        start = _start(linear, curve, flare)
        wanted, terms = known_lab - start, _terms(start, degree)
        held = np.full(terms.shape[1], ridge * count)
        held[0] = 1e-6  # the shift is not held back
        gain = np.linalg.solve(terms.T @ terms + np.diag(held), terms.T)
        weights = gain @ wanted
        # leaving one out, in closed form: residual / (1 - leverage)
        leverage = np.minimum(np.einsum("ij,ji->i", terms, gain), 0.999)
        left_out = known_lab - (wanted - terms @ weights) / (1.0 - leverage)[:, None]
        error = float(np.sqrt(np.mean(delta_e_2000(known_lab, left_out) ** 2)))
        if error < least:
            least = error
            best = Calibration(
                curve=curve,
                flare=flare,
                weights=weights,
                degree=degree,
                noise=max(error, LEAST_NOISE),
                left_out=left_out,
                known_count=count,
                low=start.min(axis=0),
                high=start.max(axis=0),
            )
    assert best is not None  # noqa: S101 -- the product is not empty
    return best


def _start(linear: Array, curve: float, flare: float) -> Array:
    return assumed_lab(np.maximum(linear - flare, 1e-4) ** curve)


def _terms(start: Array, degree: int) -> Array:
    """Return the terms of the correction: 1; L* a* b*; their squares and products."""
    scaled = (start - np.array([50.0, 0.0, 0.0])) / 50.0
    columns = [np.ones(len(scaled))]
    if degree >= 1:
        columns += list(scaled.T)
    if degree >= 2:
        columns += [scaled[:, one] * scaled[:, two] for one in range(3) for two in range(one, 3)]
    return np.column_stack(columns)
