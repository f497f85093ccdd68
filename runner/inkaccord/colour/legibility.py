"""Whether post machines and people can read an ink on a stock.

Sources: USPS Publication 25, 'Designing Letter and Reply Mail', §10-3: print reflectance
difference (background less ink) of at least 30 percent in red and in green. Royal Mail's guidance
for machine-read mail: paper at least 35 % at 600 nm, difference at least 30 %, contrast
(R_b − R_i) / R_b at least 50 %. Contrast ratio: WCAG 2, made for screens, used on paper as an
analogue with Y / 100. Local postal rules come first: these are checks before asking, not a release.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Self

import numpy as np
from numpy.typing import ArrayLike

from inkaccord.colour.arrays import Array
from inkaccord.colour.spaces import D50_WHITE, lab_to_xyz

LEAST_DIFFERENCE = 0.30
LEAST_PAPER = 0.35
LEAST_CONTRAST = 0.50


@dataclass(frozen=True)
class Reflectances:
    """What a surface sends back, 0 to 1, in the three bands that posts ask about."""

    red: float
    green: float
    at_600_nm: float

    @classmethod
    def estimate(cls, lab: ArrayLike) -> Self:
        """Return them for one (3,) CIELAB, by :func:`estimated_reflectances`."""
        return cls(*estimated_reflectances(lab).tolist())


class Measure(StrEnum):
    """What a post sets a limit to."""

    DIFFERENCE = "difference"
    """Print reflectance difference, R_ground − R_ink."""
    PAPER = "paper"
    """Reflectance of the ground."""
    CONTRAST = "contrast"
    """(R_ground − R_ink) / R_ground."""


@dataclass(frozen=True)
class Shortfall:
    """One limit of a post that an ink on its ground does not reach."""

    measure: Measure
    band: str
    """Where in the spectrum: 'in red', 'in green', 'at 600 nm'."""
    reached: float
    least: float


def usps_shortfalls(ground: Reflectances, ink: Reflectances) -> Iterator[Shortfall]:
    """Yield the limits of the USPS that are missed (Publication 25, §10-3)."""
    yield from _short(Measure.DIFFERENCE, "in red", ground.red - ink.red, LEAST_DIFFERENCE)
    yield from _short(Measure.DIFFERENCE, "in green", ground.green - ink.green, LEAST_DIFFERENCE)


def royal_mail_shortfalls(ground: Reflectances, ink: Reflectances) -> Iterator[Shortfall]:
    """Yield the limits of Royal Mail's guidance that are missed; all hold at 600 nm."""
    paper, difference = ground.at_600_nm, ground.at_600_nm - ink.at_600_nm
    contrast = difference / paper if paper > 0 else 0.0
    yield from _short(Measure.PAPER, "at 600 nm", paper, LEAST_PAPER)
    yield from _short(Measure.DIFFERENCE, "at 600 nm", difference, LEAST_DIFFERENCE)
    yield from _short(Measure.CONTRAST, "at 600 nm", contrast, LEAST_CONTRAST)


def _short(measure: Measure, band: str, reached: float, least: float) -> Iterator[Shortfall]:
    if reached < least - 1e-9:
        yield Shortfall(measure, band, reached, least)


def estimated_reflectances(lab: ArrayLike) -> Array:
    """Return (..., 3) reflectances in red, in green and at 600 nm, estimated from CIELAB.

    The sources say 'red' and 'green' without limits; 600 to 700 nm and 500 to 570 nm is our reading
    of that, and 590 to 610 nm stands for 600 nm. Sums of X, Y and Z, each relative to the white.
    The weights were fitted to the spectra of a CMYK proof (2,376 readings, 'targ' tag of the
    cmyk.icm in Debian's krita-data, public domain): root mean square error 0.032 in red (largest
    0.12), 0.007 in green (0.03), 0.004 at 600 nm (0.04). Inks of other kinds, and paper with strong
    brighteners, can be farther off.
    """
    ratio = np.asarray(lab_to_xyz(lab) / D50_WHITE)
    return np.asarray(np.clip(ratio @ _FROM_XYZ.T, 0.0, 1.0))


# Rows red, green, 600 nm; columns X/Xn, Y/Yn, Z/Zn; each row sums to 1, so that greys stay grey.
_FROM_XYZ = np.array([[2.73, -1.42, -0.31], [-0.87, 1.78, 0.09], [1.48, -0.28, -0.20]])


def contrast_ratio(lab_a: ArrayLike, lab_b: ArrayLike) -> Array:
    """Return the contrast ratio (L1 + 0.05) / (L2 + 0.05) of WCAG 2, with Y / 100 for L."""
    first, second = lab_to_xyz(lab_a)[..., 1] / 100.0, lab_to_xyz(lab_b)[..., 1] / 100.0
    lighter, darker = np.maximum(first, second), np.minimum(first, second)
    return np.asarray((lighter + 0.05) / (darker + 0.05))
