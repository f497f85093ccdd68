"""What is known of any device before a single swatch is read.

Means and spreads were learned from open characterisation data of eleven printing conditions, coated
and uncoated offset, newsprint and a proof (which ones, and how it was checked on conditions left
out: docs/measured.md), then rounded, and widened for devices unlike these.
"""

from dataclasses import dataclass, replace

import numpy as np
from scipy.linalg import block_diag

from inkaccord.colour.arrays import Array
from inkaccord.colour.lab import Lab
from inkaccord.colour.press.bands import to_bands
from inkaccord.colour.press.drift_basis import drift_deviations
from inkaccord.colour.press.halftone import Layout
from inkaccord.colour.press.neugebauer import overprints
from inkaccord.colour.press.process import Process
from inkaccord.colour.press.surface import Surface
from inkaccord.colour.press.usual_residual import usual_residual
from inkaccord.colour.spaces import D50_WHITE, lab_to_xyz


@dataclass(frozen=True)
class Rest:
    """What residual to expect, log-normal."""

    scale: float
    """Median standard deviation in each even coordinate."""
    length: float | tuple[float, ...]
    """Median reach along each channel."""
    spreads: tuple[float, float, float]
    """Standard deviations of the logarithms of scale and length, and of that of a factor on the
    variance that the readings are stated to have."""
    remote: float = 0.0
    """How much more uncertain the residual is than its learned scale says where no reading is
    near: scale and reach are themselves only learned."""


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
    """Factor on the variance of the residual where it was not read, for edges that no smooth one
    follows."""
    odds: float = 0.0
    """ln of how likely this kind of device is beside others, before any reading."""
    wander: float = 1.0
    """Factor on the variance of a sheet's drift: how much this very device wanders."""
    sheets: int = 0
    """How many sheets have a drift of their own; their coefficients follow the layout's."""
    residual: float = 1.0
    """How large a residual to expect beside the usual one of any device."""

    doubt: float = 1.0
    """Factor on all variances of what is predicted from it."""
    carried: tuple[Process, ...] = ()
    """Residuals known from kin, or usual with such devices."""

    def with_sheets(self, sheets: int) -> "Prior":
        """Return the prior with a drift for each of so many sheets more."""
        own = np.tile(drift_deviations(self.layout.inks), sheets) * np.sqrt(self.wander)
        mean = np.concatenate([self.mean, np.zeros(len(own))])
        covariance = block_diag(self.covariance, np.diag(own**2))
        return replace(self, mean=mean, covariance=covariance, sheets=self.sheets + sheets)

    def wandering(self, factor: float) -> "Prior":
        """Return the prior of a device whose sheets differ more or less: a factor on variances."""
        covariance = self.covariance.copy()
        covariance[self.layout.size :, self.layout.size :] *= factor
        return replace(self, covariance=covariance, wander=self.wander * factor)


PAPER_SPREAD = 0.12
"""Standard deviation of the logarithm of a paper's X, Y and Z."""


@dataclass(frozen=True)
class Spreads:
    """Standard deviations of the population, in units of the parameter."""

    paper: float = 0.15
    paper_hue: float = 0.03
    strength_all: float = 0.20
    """Of all inks together as a share of their density: what a paper's surface makes of them."""
    strength: float = 0.06
    """Of one ink, the same."""
    solid: float = 0.09
    """Of an ink in each band."""
    floor: float = 0.9
    """Of the logarithm of the light that the surface of overprints sends back."""
    overprint: float = 0.09
    """Of what an overprint departs from what is usual with its inks, common to the bands."""
    overprint_hue: float = 0.12
    """The same in each band."""
    yule_nielsen: float = 0.25
    """Of 1/n, common to the bands."""
    yule_nielsen_hue: float = 0.04
    gain_all: float = 0.17
    """Of the first curve coefficient, common to inks and bands; the k-th has 1 / k^fall of it."""
    gain: float = 0.10
    """The same for one ink."""
    gain_hue: float = 0.10
    """The same in one band."""
    fall: float = 1.3
    fall_hue: float = 2.6


@dataclass(frozen=True)
class Means:
    """What the population does on the average."""

    paper: Lab = (93.0, 0.0, 0.0)
    """CIELAB"""
    inks: tuple[Lab, ...] = (
        (55.5, -34.5, -41.0),
        (48.5, 67.5, -4.0),
        (85.5, -3.0, 84.0),
        (20.5, 1.5, 0.5),
    )
    """CIELAB of the solids."""
    paper_of_inks: Lab = (91.5, 0.0, 1.5)
    """CIELAB of the paper that these solids lie on."""
    floor: float = 0.02
    """Light that the surface of an overprint sends back whatever lies under it, as a share of the
    paper's."""
    departures: tuple[tuple[str, tuple[float, float, float]], ...] = (
        ("CM", (-0.15, 0.05, 0.25)),
        ("CY", (-0.3, -0.05, 0.05)),
        ("MY", (0.05, 0.0, 0.15)),
        ("CMY", (-0.25, 0.15, 0.5)),
        ("CK", (-0.15, -0.15, -0.15)),
        ("MK", (-0.1, -0.1, -0.15)),
        ("CMK", (0.05, -0.05, 0.05)),
        ("YK", (-0.35, -0.25, 0.05)),
        ("CYK", (-0.1, 0.0, 0.1)),
        ("MYK", (-0.05, 0.1, 0.05)),
        ("CMYK", (0.05, 0.1, 0.1)),
    )
    """By how much the logarithms of overprints in red, green and blue depart from the product of
    their inks and the floor: the second ink takes less well, and inks are no pure filters."""
    gains: tuple[tuple[tuple[float, float, float], float, float], ...] = (
        ((0.14, 0.17, 0.11), -0.06, 0.03),
        ((0.34, 0.14, 0.12), -0.08, 0.04),
        ((0.49, 0.22, 0.14), -0.09, 0.04),
        ((0.07, 0.05, 0.05), 0.01, 0.02),
    )
    """Curve coefficients of each ink: the first in red, green and blue, the second, the third."""
    yule_nielsen: float = 2.7
    """n"""


MODES = 6
SPREADS, MEANS = Spreads(), Means()
_REST = Rest(0.6, (0.65, 0.65, 0.9, 0.5), (0.6, 0.35, 0.5), remote=5.0)


def press_prior() -> Prior:
    """Return the prior of any device that is driven in CMYK."""
    prior = ink_prior(MEANS, SPREADS)
    return replace(prior, carried=(usual_residual(prior.layout, prior.mean),))


def ink_prior(means: Means, spreads: Spreads) -> Prior:
    """Return the prior of four inks on paper."""
    inks = len(means.inks)
    layout = Layout(inks, MODES)
    size = layout.per_value
    mean = np.zeros((3, size))
    covariance = np.zeros((3, size, 3, size))
    solids, spread = _solids(means, spreads)
    mean[:, : layout.solids] = solids
    covariance[:, : layout.solids, :, : layout.solids] = spread

    same, own = np.ones((3, 3)), np.eye(3)
    mean[:, layout.solids] = 1.0 / means.yule_nielsen
    covariance[:, layout.solids, :, layout.solids] = (
        spreads.yule_nielsen**2 * same + spreads.yule_nielsen_hue**2 * own
    )
    for ink, (first, second, third) in enumerate(means.gains):
        place = layout.curve(ink)
        mean[:, place.start] = first
        mean[:, place.start + 1 : place.start + 3] = second, third
        for mode in range(layout.modes):
            at, order = place.start + mode, mode + 1.0
            common, one = spreads.gain_all**2, spreads.gain**2
            for other in range(inks):
                shared = common + (one if other == ink else 0.0)
                there = layout.curve(other).start + mode
                covariance[:, at, :, there] = shared * order ** (-2.0 * spreads.fall) * same
            hue = spreads.gain_hue**2 * order ** (-2.0 * spreads.fall_hue)
            covariance[:, at, :, at] += hue * own
    return Prior(layout, mean.ravel(), covariance.reshape(layout.size, layout.size), _REST)


def paper_logs() -> Array:
    """Return ln X, ln Y, ln Z (3,) of the usual paper, relative to the perfect white."""
    return np.asarray(np.log(lab_to_xyz(np.array(MEANS.paper)) / D50_WHITE))


def _solids(means: Means, spreads: Spreads) -> tuple[Array, Array]:
    """Return the mean (3, 2^k) and covariance (3, 2^k, 3, 2^k) of the log solids."""
    inks = len(means.inks)
    bare = np.log(to_bands(lab_to_xyz(np.array(means.paper_of_inks))))
    single = np.log(to_bands(lab_to_xyz(np.array(means.inks)))) - bare  # (k, 3)
    member = overprints(inks).astype(np.float64)
    several = member.sum(axis=1) > 1

    product = np.exp(member @ single)  # (2^k, 3)
    floored = means.floor + (1.0 - means.floor) * product
    mean = np.where(several[:, None], np.log(floored), np.log(product))
    for names, departure in means.departures:
        mean[sum(1 << "CMYK".index(name) for name in names)] += departure
    mean[0] = np.log(to_bands(lab_to_xyz(np.array(means.paper))))

    # What an ink departs by, every overprint of it departs by too, dulled by the floor.
    dulled = np.where(several[:, None], (1.0 - means.floor) * product / floored, 1.0)
    by_ink = dulled[:, None, :] * member[:, :, None]  # (2^k, k, 3)
    strength = by_ink * single  # by the logarithm of an ink's strength
    by_floor = np.where(several[:, None], means.floor * (1.0 - product) / floored, 0.0)
    common = [
        spreads.strength_all * strength.sum(axis=1),
        *(spreads.strength * strength[:, ink] for ink in range(inks)),
        spreads.floor * by_floor,
    ]
    covariance = sum(np.einsum("ia,jb->iajb", part, part) for part in common)
    alone = spreads.solid**2 * np.einsum("iea,jea->ija", by_ink, by_ink)
    for band in range(3):
        covariance[:, band, :, band] += alone[:, :, band]
    own = spreads.overprint**2 * np.ones((3, 3)) + spreads.overprint_hue**2 * np.eye(3)
    for row in np.flatnonzero(several):
        covariance[row, :, row] += own
    covariance[0, :, 0] += spreads.paper**2 + spreads.paper_hue**2 * np.eye(3)
    return mean.T, covariance.transpose(1, 0, 3, 2)
