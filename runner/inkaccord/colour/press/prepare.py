"""Readings made ready for the fit: checked, ordered, in the model's coordinates."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkaccord.colour.arrays import Array
from inkaccord.colour.builds import CHANNELS, FULL_SCALE, Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.perceptual import lab_to_even
from inkaccord.colour.press.fitting import Data
from inkaccord.colour.press.noise import ALIKE, Noise, noise_variance
from inkaccord.colour.readings import Readings
from inkaccord.colour.spaces import xyz_to_lab
from inkaccord.diagnostics import Diagnostic, warning
from inkaccord.errors import OrderError

_LIKE_PAPER = 0.005
"""Builds with no more coverage than this are bare paper."""


@dataclass(frozen=True, eq=False)
class Ready:
    """Readings in canonical order, so that no result depends on the order they came in."""

    data: Data
    rows: NDArray[np.int_]
    """(n,) the row of each in the readings as given."""
    findings: tuple[Diagnostic, ...]


def nominal_coverages(drive: Drive, builds: Array) -> Array:
    """Return builds (n, k) in device units as nominal coverages 0 to 1; RGB as its complement."""
    share = np.asarray(builds, dtype=np.float64) / FULL_SCALE[drive]
    return share if drive is Drive.CMYK else 1.0 - share


def _drifting(readings: Readings) -> NDArray[np.int_]:
    """Return the sheet (n,) whose drift each reading carries.

    A scan is calibrated on what was read, so it shows its swatches as they would have come out on
    that day. Where it shows some that were read as well, these taught it nothing, and its drift is
    its own.
    """
    read = ~readings.by_scan
    taught_by = np.unique(readings.sheet[read])
    if len(taught_by) != 1:
        return readings.sheet
    known = {tuple(build) for build in readings.builds[read].tolist()}
    sheet = readings.sheet.copy()
    for scanned in np.unique(readings.sheet[~read]):
        here = ~read & (readings.sheet == scanned)
        if known.isdisjoint(map(tuple, readings.builds[here].tolist())):
            sheet[here] = taught_by
    return sheet


def _noise(readings: Readings, rows: NDArray[np.int_]) -> Noise:
    """Return the noise of readings in another order: one source for the instrument, one a scan."""
    variance = noise_variance(readings.noise[rows])
    scanned = readings.by_scan[rows]
    source = np.zeros(len(rows), dtype=np.int_)
    source[scanned] = 1 + np.unique(readings.sheet[rows][scanned], return_inverse=True)[1]
    alike = np.where(scanned, ALIKE * variance, 0.0)
    return Noise(variance - alike, alike, source)


def prepare(readings: Readings) -> Ready:
    """Check readings and put them in canonical order.

    Raises
    ------
    OrderError
        ``no-readings`` for none at all, ``bad-readings`` for numbers that no print can give.
    """
    _refuse(readings)
    lab = xyz_to_lab(readings.xyz)
    rows = np.lexsort((readings.sheet, *lab.T, *readings.builds.T))
    _, sheet = np.unique(_drifting(readings)[rows], return_inverse=True)
    data = Data(
        nominal=nominal_coverages(readings.drive, readings.builds[rows]),
        even=lab_to_even(lab[rows]),
        noise=_noise(readings, rows),
        sheet=np.asarray(sheet, dtype=np.int_),
    )
    return Ready(data, rows, tuple(_odd(data, lab[rows])))


def _refuse(readings: Readings) -> None:
    count, channels = len(readings.builds), CHANNELS[readings.drive]
    if count == 0:
        raise OrderError.of(
            "no-readings",
            "a press model needs one reading at least",
            hint="read the bare paper of the sample sheet first",
        )
    shapes = {
        "builds": (readings.builds.shape, (count, len(channels))),
        "xyz": (readings.xyz.shape, (count, 3)),
        "sheet": (readings.sheet.shape, (count,)),
        "noise": (readings.noise.shape, (count,)),
        "scanned": (readings.by_scan.shape, (count,)),
    }
    for name, (shape, wanted) in shapes.items():
        if shape != wanted:
            raise OrderError.of("bad-readings", f"{name} has shape {shape}, expected {wanted}")
    top = FULL_SCALE[readings.drive]
    wrong = {
        "a build that is no number": ~np.isfinite(readings.builds).all(axis=1),
        f"a build outside 0 to {top:g}": ((readings.builds < 0) | (readings.builds > top)).any(
            axis=1
        ),
        "a colour that is no number": ~np.isfinite(readings.xyz).all(axis=1),
        "a colour below black or far above white": (
            (readings.xyz < -1.0) | (readings.xyz > 150.0)
        ).any(axis=1),
        "a noise that is not above 0": ~(readings.noise > 0.0) | ~np.isfinite(readings.noise),
    }
    for what, where in wrong.items():
        if where.any():
            named = ", ".join(str(row + 1) for row in np.flatnonzero(where)[:5])
            raise OrderError.of(
                "bad-readings",
                f"{int(where.sum())} of {count} readings have {what}: reading {named}",
                hint="read these swatches again, or take them out",
            )


def _odd(data: Data, lab: Array) -> list[Diagnostic]:
    """Return what makes the model less sure than the number of readings promises."""
    findings = []
    if not (data.nominal.max(axis=1) <= _LIKE_PAPER).any():
        findings.append(
            warning(
                "no-paper-reading",
                "no reading is of the bare paper, so light tones are less sure",
                hint="read the paper too: it is on every sample sheet",
            )
        )
    printed = data.nominal.max(axis=1) > _LIKE_PAPER
    if printed.sum() >= 3 and (data.nominal.max(axis=0) > _LIKE_PAPER).sum() == 1:
        findings.append(
            warning(
                "one-ink-only",
                "all readings are of one ink; the others are known from other devices only",
                hint="print and read the rest of the sample sheet",
            )
        )
    if len(lab) >= 3 and np.ptp(data.nominal, axis=0).max() > 0.5:
        spread = delta_e_2000(lab, lab.mean(axis=0)).max()
        if spread < 1.0:
            findings.append(
                warning(
                    "all-alike",
                    f"builds differ, but all readings lie within ΔE00 {spread:.2f} of each other",
                    hint="was one swatch read again and again?",
                )
            )
    return findings
