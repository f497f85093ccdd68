"""From reflectance spectra to XYZ and CIELAB, under D50 or another light.

Method: weighting factors of ASTM E2022 (those of the tables of ASTM E308), computed by
colour-science from the CIE's 1 nm tables; where a spectrum ends before the tables do, the weights
beyond are added to its ends, as ASTM E308 asks. ISO 13655 prescribes D50 and the 2° observer.
"""

import warnings
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from inkaccord.colour.arrays import Array
from inkaccord.colour.spaces import D50_WHITE, xyz_to_lab
from inkaccord.errors import OrderError

_OBSERVER = "CIE 1931 2 Degree Standard Observer"


def colour_science() -> Any:
    """Return colour-science, loaded without its remark that it can't plot."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour  # noqa: PLC0415  (slow to load)
    return colour


def lights() -> tuple[str, ...]:
    """Return the names of the lights whose spectra are known: the CIE's standard illuminants."""
    colour = colour_science()

    return tuple(sorted(str(name) for name in colour.SDS_ILLUMINANTS))


def spectra_to_xyz(spectra: ArrayLike, wavelengths: ArrayLike, *, light: str = "D50") -> Array:
    """Return XYZ, perfect white Y = 100, of reflectance factors.

    Parameters
    ----------
    spectra
        (..., w) reflectance factors, 0 to 1.
    wavelengths
        (w,) nm, evenly spaced by 1 to 20 nm.
    light
        CIE name of the illuminant: D50, D65, A, F11 (also FL11), LED-B3 and so on.

    Raises
    ------
    OrderError
        ``unknown-light``, ``bad-wavelengths``.
    """
    values = np.asarray(spectra, dtype=np.float64)
    nm = np.asarray(wavelengths, dtype=np.float64)
    start, step, count = _grid(nm, values.shape[-1])
    return np.asarray(values @ _weights(_light_name(light), start, step, count))


def spectra_to_lab(spectra: ArrayLike, wavelengths: ArrayLike, *, light: str = "D50") -> Array:
    """Return CIELAB of reflectance factors, relative to the white of that light."""
    xyz = spectra_to_xyz(spectra, wavelengths, light=light)
    return xyz_to_lab(xyz, light_white(light))


def light_white(light: str) -> Array:
    """Return XYZ of the perfect white under a light.

    For D50 and 2° the rounded white of ISO 13655, so that CIELAB agrees with instruments.
    """
    if light == "D50":
        return D50_WHITE
    weights = _weights(_light_name(light), 360.0, 10.0, 43)
    return np.asarray(weights.sum(axis=0))


def _light_name(light: str) -> str:
    known = lights()
    folded = {name.lower(): name for name in known}
    # CIE 15 writes F11 in newer editions FL11; both are in use.
    for candidate in (light.lower(), light.lower().replace("f", "fl", 1)):
        if candidate in folded:
            return folded[candidate]
    raise OrderError.of(
        "unknown-light",
        f"{light!r} is not a light whose spectrum is known",
        hint="use a CIE name: " + ", ".join(known),
    )


def _grid(nm: Array, width: int) -> tuple[float, float, int]:
    """Return start, step and count of evenly spaced wavelengths."""
    hint = "spectra need wavelengths in nm, evenly spaced by 1 to 20, one for each value"
    if nm.ndim != 1 or len(nm) < 2 or len(nm) != width:
        raise OrderError.of(
            "bad-wavelengths", f"{width} values stand beside {nm.size} wavelengths", hint=hint
        )
    steps = np.diff(nm)
    step = float(np.mean(steps))
    if not 1.0 <= step <= 20.0 or not np.allclose(steps, step, atol=0.02):
        raise OrderError.of(
            "bad-wavelengths", f"wavelengths run {nm[0]:g}, {nm[1]:g} … {nm[-1]:g} nm", hint=hint
        )
    if nm[0] > 420 or nm[-1] < 680:
        raise OrderError.of(
            "bad-wavelengths",
            f"a spectrum from {nm[0]:g} to {nm[-1]:g} nm misses too much of the light",
            hint="it must cover at least 420 to 680 nm",
        )
    return float(nm[0]), step, len(nm)


@lru_cache(maxsize=64)
def _weights(light: str, start: float, step: float, count: int) -> Array:
    """Return (count, 3) weights of a spectrum's values for X, Y and Z."""
    from scipy.interpolate import CubicSpline  # noqa: PLC0415  (seldom needed)

    colour = colour_science()

    whole = round(step)
    cmfs = colour.MSDS_CMFS[_OBSERVER].copy().align(colour.SpectralShape(360, 780, 1))
    lamp = colour.SDS_ILLUMINANTS[light].copy().align(cmfs.shape)
    end = start + step * (count - 1)
    if abs(step - whole) > 1e-6 or (start - 360) % whole > 1e-6:
        # Off the tables' grid: a cubic spline through the values, summed at 1 nm.
        fine = np.arange(360.0, 781.0)
        spline = CubicSpline(start + step * np.arange(count), np.eye(count), axis=0)
        spread = spline(np.clip(fine, start, end))
        table = cmfs.values * lamp.values[:, None]
        result = spread.T @ table * (100.0 / table[:, 1].sum())
    else:
        shape = colour.SpectralShape(360, 780, whole)
        table = (
            cmfs.values * lamp.values[:, None] * (100.0 / (cmfs.values[:, 1] @ lamp.values))
            if whole == 1
            else colour.colorimetry.tristimulus_weighting_factors_ASTME2022(cmfs, lamp, shape)
        )
        nm = 360.0 + whole * np.arange(len(table))
        nearest = np.clip(np.rint((nm - start) / step).astype(int), 0, count - 1)
        result = np.zeros((count, 3))
        np.add.at(result, nearest, table)
    result.flags.writeable = False
    return np.asarray(result, dtype=np.float64)
