"""What is known of any device before a single swatch is read.

Means are those of common process inks on white paper, between coated and uncoated stock; the
spreads are wide enough for office toner, inkjet and offset on either. The numbers are rounded
judgements (common practice, no source), not a fit to any set of readings.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import block_diag

from inkaccord.colour.press.drift_basis import drift_deviations
from inkaccord.colour.press.halftone import Layout
from inkaccord.colour.press.neugebauer import overprints
from inkaccord.colour.press.process import Process
from inkaccord.colour.press.surface import Surface
from inkaccord.colour.spaces import D50_WHITE, lab_to_xyz

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Rest:
    """What residual to expect, log-normal."""

    scale: float
    """Median standard deviation in each even coordinate."""
    length: float
    """Median reach along each channel."""
    spreads: tuple[float, float, float]
    """Standard deviations of the logarithms of scale and length, and of that of a factor on the
    variance that the readings are stated to have."""


@dataclass(frozen=True, eq=False)
class Prior:
    """A Gaussian over the parameters of a :class:`Surface`, and what it leaves over."""

    layout: Surface
    mean: Array
    """(p,)"""
    covariance: Array
    """(p, p)"""
    rest: Rest
    caution: float = 1.0
    """Factor on all variances, for edges that no smooth residual follows."""
    odds: float = 0.0
    """ln of how likely this kind of device is beside others, before any reading."""
    sheets: int = 0
    """How many sheets have a drift of their own; their coefficients follow the layout's."""
    residual: float = 1.0
    """How large a residual to expect beside the usual one of any device."""

    doubt: float = 1.0
    """Factor on all variances of what is predicted from it."""
    carried: tuple[Process, ...] = ()
    """Residuals known from kin."""

    def with_sheets(self, sheets: int) -> "Prior":
        """Return the prior with a drift for each sheet, or itself for a single sheet.

        One sheet says nothing about drift: the model then speaks for the press as it was.
        """
        if sheets < 2:
            return self
        own = np.tile(drift_deviations(self.layout.inks), sheets)
        mean = np.concatenate([self.mean, np.zeros(len(own))])
        covariance = block_diag(self.covariance, np.diag(own**2))
        return replace(self, mean=mean, covariance=covariance, sheets=sheets)


PAPER_SPREAD = 0.12
"""Standard deviation of the logarithm of a paper's X, Y and Z."""


@dataclass(frozen=True)
class Spreads:
    """Standard deviations of the population (and two means), in units of the parameter."""

    paper: float = PAPER_SPREAD
    strength: float = 0.30
    """Of an ink as a share of its density, common to X, Y and Z."""
    solid: float = 0.18
    """Of an ink in each of X, Y and Z."""
    overprint: float = 0.30
    """Of what an overprint departs from the product of its inks, common to X, Y and Z."""
    overprint_hue: float = 0.20
    """The same in each of X, Y and Z."""
    yule_nielsen: float = 0.35
    yule_nielsen_hue: float = 0.10
    gain: float = 0.5
    """Of the first curve coefficient; the k-th has gain / k^fall."""
    gain_hue: float = 0.09
    fall: float = 2.0
    mean_n: float = 1.9
    mean_gain: float = 0.25


MODES = 6
_PAPER = (94.0, 0.0, -2.0)
_INKS = ((57.0, -32.0, -47.0), (50.0, 70.0, -2.0), (88.0, -5.0, 86.0), (20.0, 0.5, 0.5))
_FLOOR = 0.008
"""Light that the surface sends back whatever lies on it, as a share of the paper's."""
PRESS = Spreads()


def press_prior(spreads: Spreads = PRESS) -> Prior:
    """Return the prior of any device that is driven in CMYK."""
    inks = 4
    layout = Layout(inks, MODES)
    mean, scale = _solids(inks, spreads)
    size = layout.per_value
    means = np.zeros((3, size))
    covariance = np.zeros((3, size, 3, size))
    means[:, : layout.solids] = mean
    covariance[:, : layout.solids, :, : layout.solids] = scale

    same, own = np.ones((3, 3)), np.eye(3)
    means[:, layout.solids] = np.log(spreads.mean_n)
    covariance[:, layout.solids, :, layout.solids] = (
        spreads.yule_nielsen**2 * same + spreads.yule_nielsen_hue**2 * own
    )
    for ink in range(inks):
        place = layout.curve(ink)
        means[:, place.start] = spreads.mean_gain
        for mode in range(layout.modes):
            at, falling = place.start + mode, (mode + 1.0) ** -spreads.fall
            covariance[:, at, :, at] = falling**2 * (
                spreads.gain**2 * same + spreads.gain_hue**2 * own
            )
    square = covariance.reshape(layout.size, layout.size)
    return Prior(layout, means.ravel(), square, Rest(1.0, 0.5, (0.6, 0.35, 0.5)))


def paper_logs() -> Array:
    """Return ln X, ln Y, ln Z (3,) of the usual paper, relative to the perfect white."""
    return np.asarray(np.log(lab_to_xyz(np.array(_PAPER)) / D50_WHITE))


def _solids(inks: int, spreads: Spreads) -> tuple[Array, Array]:
    """Return the mean (3, 2^k) and covariance (3, 2^k, 3, 2^k) of the log solids."""
    paper = lab_to_xyz(np.array(_PAPER))
    single = np.log(lab_to_xyz(np.array(_INKS[:inks])) / paper)  # (k, 3)
    member = overprints(inks).astype(np.float64)
    count = member.sum(axis=1)

    product = np.exp(member @ single)
    floored = np.log(_FLOOR + (1.0 - _FLOOR) * product)
    mean = np.where(count[:, None] == 1, member @ single, floored)
    mean[0] = paper_logs()

    solids = len(member)
    covariance = np.zeros((solids, 3, solids, 3))
    # What an ink departs by, every overprint of it departs by too, dulled by the other inks.
    share = member / np.maximum(count, 1.0)[:, None] ** 0.5
    for ink in range(inks):
        ink_cov = spreads.strength**2 * np.outer(single[ink], single[ink])
        ink_cov += spreads.solid**2 * np.eye(3)
        covariance += np.einsum("i,j,ab->iajb", share[:, ink], share[:, ink], ink_cov)
    own = spreads.overprint**2 * np.ones((3, 3)) + spreads.overprint_hue**2 * np.eye(3)
    for row in np.flatnonzero(count > 1):
        covariance[row, :, row] += own
    covariance[0, :, 0] += spreads.paper**2 * (np.ones((3, 3)) + 0.05 * np.eye(3))
    return mean.T, covariance.transpose(1, 0, 3, 2)
