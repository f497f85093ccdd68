"""From a scanner's RGB to CIELAB, fitted on swatches of the same scan whose readings are known.

A scanner sees with filters that are not the eye's, so no fixed conversion serves; but on one
sheet, one set of inks, a smooth map does. It starts from what the RGB would be if the scanner
wrote sRGB, but for its curve and its stray light, and corrects that in CIELAB by a quadratic map.
The correction is linear regression with a Gaussian prior on its weights and a gamma one on the
precision of what it leaves, in closed form (C. M. Bishop, 'Pattern Recognition and Machine
Learning', Springer 2006, ch. 3.3 and exercise 3.12, from memory), so that it tells of every colour
how far off it may be. What it leaves counts in ΔE00. (Tried beside it, a matrix fitted in linear
light, with and without root terms: better for a scanner that is such a matrix, half as good on the
spectra of real inks.)
"""

from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from inkaccord.colour.arrays import Array
from inkaccord.colour.delta_e import delta_e_2000_metric
from inkaccord.colour.glass import assumed_lab
from inkaccord.colour.uncertainty import expected_delta_e
from inkaccord.errors import OrderError
from inkaccord.words import counted

FEWEST = 6
"""Known swatches that a calibration needs."""
LEAST_NOISE = 1.0
"""ΔE00 that a calibrated scan is never believed to be better than."""

_CURVES = (0.8, 0.9, 1.0, 1.1, 1.25)
_CURVE_SPREAD = 0.12
"""Standard deviation of the logarithm of a scanner's curve."""
_FLARES = (0.0, 0.006, 0.012)
_TERMS = np.repeat([6.0, 20.0, 3.0], [1, 3, 6])
"""Standard deviations of the weights of a shift, of L* a* b*, of their squares and products."""
_LEFT, _LEFT_COUNT = 1.5, 10.0
"""Root mean square ΔE00 that such a map leaves of a swatch, and how many coordinates of residuals
that knowledge weighs as much as. These, and the spreads above, were chosen on drawn scanners and
presses (``tests/benchmarks/calibrating.py``)."""


@dataclass(frozen=True, eq=False)
class Calibration:
    """A map from linear scanner RGB to CIELAB.

    Attributes
    ----------
    curve, flare
        Exponent that straightens the scanner's curve; stray light that it sees on black.
    weights
        (10, 3) coefficients of the correction in CIELAB.
    covariance
        (10, 3, 10, 3) that of their errors.
    left
        Root mean square ΔE00 that the map leaves of a swatch.
    left_out
        (n, 3) CIELAB of the known swatches, each predicted by the others.
    low, high
        (3,) ends of the colours that it was fitted on.
    """

    curve: float
    flare: float
    weights: Array
    covariance: Array
    left: float
    left_out: Array
    low: Array
    high: Array

    def lab(self, linear: Array) -> Array:
        """Return (n, 3) CIELAB of (n, 3) linear scanner RGB."""
        start = _start(linear, self.curve, self.flare)
        return start + _terms(start) @ self.weights

    def noise(self, linear: Array) -> float:
        """Return the root mean square ΔE00 by which colours (n, 3) are missed, 1 at least."""
        terms = _terms(_start(linear, self.curve, self.flare))
        spread = np.einsum("nk,kilj,nl->nij", terms, self.covariance, terms)
        doubt = expected_delta_e(self.lab(linear), spread)
        return max(float(np.sqrt(np.mean(doubt**2) + self.left**2)), LEAST_NOISE)

    def outside(self, linear: Array, margin: float = 12.0) -> NDArray[np.bool_]:
        """Tell which colours lie beyond those that it was fitted on."""
        start = assumed_lab(linear)
        return np.asarray(((start < self.low - margin) | (start > self.high + margin)).any(axis=-1))


def calibrate(linear: Array, known_lab: Array) -> Calibration:
    """Fit a calibration to known swatches, with the curve and stray light that are likeliest.

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
    # the root of the metric turns an error in CIELAB into three coordinates of unit variance
    root = np.linalg.cholesky(delta_e_2000_metric(known_lab)).swapaxes(1, 2) * 3.0**0.5 / _LEFT
    found = (
        _fitted(linear, known_lab, root, curve, flare) for curve, flare in product(_CURVES, _FLARES)
    )
    return max(found, key=lambda each: each[0])[1]


def _fitted(
    linear: Array, known_lab: Array, root: Array, curve: float, flare: float
) -> tuple[float, Calibration]:
    """Return how likely (a logarithm) known colours are with a curve and stray light, and the map.

    ``root`` (n, 3, 3) whitens errors in CIELAB.
    """
    start = _start(linear, curve, flare)
    offset = np.einsum("nij,nj->ni", root, known_lab - start)
    terms = np.einsum("nij,nk->nikj", root, _terms(start) * _TERMS)
    terms = terms.reshape(len(linear), 3, -1)
    flat = terms.reshape(offset.size, -1)
    normal = np.eye(flat.shape[1]) + flat.T @ flat
    inverse = np.linalg.inv(normal)
    weights = inverse @ (flat.T @ offset.ravel())
    residual = offset - terms @ weights
    shape = 0.5 * (_LEFT_COUNT + offset.size)
    rate = 0.5 * (_LEFT_COUNT + float(np.sum(offset * residual)))
    variance = rate / (shape - 1.0)
    likely = -shape * np.log(rate) - 0.5 * np.linalg.slogdet(normal)[1]
    likely -= 0.5 * (np.log(curve) / _CURVE_SPREAD) ** 2
    # leaving a swatch out, in closed form: (1 - leverage)⁻¹ residual
    leverage = np.einsum("nip,pq,njq->nij", terms, inverse, terms)
    missed = np.linalg.solve((np.eye(3) - leverage) @ root, residual[..., None])[..., 0]
    by_term = np.repeat(_TERMS, 3)
    return float(likely), Calibration(
        curve=curve,
        flare=flare,
        weights=(weights * by_term).reshape(-1, 3),
        covariance=(variance * inverse * np.outer(by_term, by_term)).reshape(2 * (len(_TERMS), 3)),
        left=_LEFT * float(variance**0.5),
        left_out=known_lab - missed,
        low=start.min(axis=0),
        high=start.max(axis=0),
    )


def _start(linear: Array, curve: float, flare: float) -> Array:
    return assumed_lab(np.maximum(linear - flare, 1e-4) ** curve)


def _terms(start: Array) -> Array:
    """Return the terms (n, 10) of the correction: 1; L* a* b*; their squares and products."""
    scaled = (start - np.array([50.0, 0.0, 0.0])) / 50.0
    first, second = np.triu_indices(3)
    return np.column_stack([np.ones(len(scaled)), scaled, scaled[:, first] * scaled[:, second]])
