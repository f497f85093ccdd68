"""Whether post machines and people can read an ink on a stock.

Sources: USPS Publication 25, 'Designing Letter and Reply Mail', §10-3: print reflectance
difference (background less ink) of at least 30 percent in red and in green. Royal Mail's guidance
for machine-read mail: paper at least 35 % at 600 nm, difference at least 30 %, contrast
(R_b − R_i) / R_b at least 50 %. Contrast ratio: WCAG 2, made for screens, used on paper as an
analogue with Y / 100. A lightness difference of at least 30 between text and ground: HPL-2009-182
(abstract). Local postal rules come first: these are checks before asking, not a release.
"""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike

from inkaccord.colour.arrays import Array
from inkaccord.colour.spaces import D50_WHITE, lab_to_xyz

RED_NM, GREEN_NM, ROYAL_MAIL_NM = (600.0, 700.0), (500.0, 570.0), (590.0, 610.0)
"""Bands that reflectances are averaged over. The sources say 'red' and 'green' without limits:
the first two are our reading of that."""

LEAST_DIFFERENCE = 0.30
LEAST_PAPER = 0.35
LEAST_CONTRAST = 0.50
LEAST_LIGHTNESS_STEP = 30.0


class Known(StrEnum):
    """How the reflectances are known."""

    READ = "read"
    """From spectra."""
    ESTIMATED = "estimated"
    """From XYZ, by a rule of thumb: see :func:`estimated_reflectances`."""


@dataclass(frozen=True)
class PostContrast:
    """Reflectances (0 to 1) of ground and ink in red and green, and what follows from them."""

    ground_red: float
    ground_green: float
    ink_red: float
    ink_green: float
    known: Known

    @property
    def difference_red(self) -> float:
        """Print reflectance difference in red."""
        return self.ground_red - self.ink_red

    @property
    def difference_green(self) -> float:
        """Print reflectance difference in green."""
        return self.ground_green - self.ink_green

    @property
    def usps_passes(self) -> bool:
        """Whether both differences reach 30 percent (USPS Publication 25, §10-3)."""
        return bool(min(self.difference_red, self.difference_green) >= LEAST_DIFFERENCE - 1e-12)


def reflectance_difference(ground: float, ink: float) -> float:
    """Return the print reflectance difference R_ground − R_ink."""
    return ground - ink


def reflectance_contrast(ground: float, ink: float) -> float:
    """Return (R_ground − R_ink) / R_ground; 0 where the ground reflects nothing."""
    return (ground - ink) / ground if ground > 0 else 0.0


def royal_mail_passes(ground: float, ink: float) -> bool:
    """Return whether reflectances at 600 nm meet all three of Royal Mail's limits."""
    return (
        ground >= LEAST_PAPER - 1e-12
        and reflectance_difference(ground, ink) >= LEAST_DIFFERENCE - 1e-12
        and reflectance_contrast(ground, ink) >= LEAST_CONTRAST - 1e-12
    )


def band_reflectance(
    spectra: ArrayLike, wavelengths: ArrayLike, band_nm: tuple[float, float]
) -> Array:
    """Return the mean reflectance (...) of (..., w) spectra in a band of wavelengths."""
    nm = np.asarray(wavelengths, dtype=np.float64)
    inside = (nm >= band_nm[0] - 1e-6) & (nm <= band_nm[1] + 1e-6)
    if not inside.any():
        raise ValueError(f"no wavelength lies between {band_nm[0]:g} and {band_nm[1]:g} nm")
    return np.asarray(np.asarray(spectra, dtype=np.float64)[..., inside].mean(axis=-1))


def post_contrast_from_spectra(
    ground: ArrayLike, ink: ArrayLike, wavelengths: ArrayLike
) -> PostContrast:
    """Return the contrast for the post from (w,) spectra of ground and ink."""
    red = [float(band_reflectance(one, wavelengths, RED_NM)) for one in (ground, ink)]
    green = [float(band_reflectance(one, wavelengths, GREEN_NM)) for one in (ground, ink)]
    return PostContrast(red[0], green[0], red[1], green[1], Known.READ)


def post_contrast_from_lab(ground_lab: ArrayLike, ink_lab: ArrayLike) -> PostContrast:
    """Return the contrast for the post, with red and green estimated from CIELAB."""
    ground, ink = estimated_reflectances(ground_lab), estimated_reflectances(ink_lab)
    return PostContrast(
        float(ground[0]), float(ground[1]), float(ink[0]), float(ink[1]), Known.ESTIMATED
    )


def estimated_reflectances(lab: ArrayLike) -> Array:
    """Return (..., 3) reflectances in red, in green and at 600 nm, estimated from CIELAB.

    Sums of X, Y and Z, each relative to the white. The weights were fitted to the spectra of a
    CMYK proof (2,376 readings, 'targ' tag of the cmyk.icm in Debian's krita-data, public domain):
    root mean square error 0.032 in red (largest 0.12), 0.007 in green (0.03), 0.004 at 600 nm
    (0.04). Inks of other kinds, and paper with strong brighteners, can be farther off.
    """
    ratio = np.asarray(lab_to_xyz(lab) / D50_WHITE)
    return np.asarray(np.clip(ratio @ _FROM_XYZ.T, 0.0, 1.0))


# Rows red, green, 600 nm; columns X/Xn, Y/Yn, Z/Zn; each row sums to 1, so that greys stay grey.
_FROM_XYZ = np.array([[2.73, -1.42, -0.31], [-0.87, 1.78, 0.09], [1.48, -0.28, -0.20]])


def contrast_ratio(lab_a: ArrayLike, lab_b: ArrayLike) -> Array:
    """Return the contrast ratio (L1 + 0.05) / (L2 + 0.05) of WCAG 2, with Y / 100 for L."""
    first, second = lab_to_xyz(lab_a)[..., 1] / 100.0, lab_to_xyz(lab_b)[..., 1] / 100.0
    lighter, darker = np.maximum(first, second), np.minimum(first, second)
    return luminance_contrast(lighter, darker)


def luminance_contrast(lighter: ArrayLike, darker: ArrayLike) -> Array:
    """Return the contrast ratio of relative luminances 0 to 1 (WCAG 2)."""
    high, low = np.asarray(lighter, dtype=np.float64), np.asarray(darker, dtype=np.float64)
    return np.asarray((high + 0.05) / (low + 0.05))


def lightness_step(lab_a: ArrayLike, lab_b: ArrayLike) -> Array:
    """Return |ΔL*|, which should be 30 or more between text and its ground."""
    return np.asarray(np.abs(np.asarray(lab_a)[..., 0] - np.asarray(lab_b)[..., 0]))
