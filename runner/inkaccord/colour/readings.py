"""The readings of one pair as arrays: what the press model is fitted to."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from inkaccord.colour.arrays import Array
from inkaccord.colour.builds import Drive
from inkaccord.colour.conditions import Conditions


@dataclass(frozen=True, eq=False)
class Readings:
    """Readings of n swatches of one pair, from one or several sheets.

    Attributes
    ----------
    drive
        How the device is driven.
    builds
        (n, 4) CMYK in percent or (n, 3) RGB 0 to 255.
    xyz
        (n, 3) CIE XYZ under ``conditions``, perfect white Y = 100.
    sheet
        (n,) which sheet each swatch was printed on, 0 for the first; a sheet is one print on
        one day, so it may carry a common drift.
    noise
        (n,) standard deviation expected of a reading, in ΔE00: an instrument
        ``INSTRUMENT_NOISE``, a calibrated scan 1 to 2, a pick by eye 1.5 to 3.
    scanned
        (n,) which are a scan's or a photograph's: how noisy each of these is, is learned apart,
        and it errs alike on builds that are alike. None for an instrument's alone.
    spectra, wavelengths
        (n, w) reflectance factors 0 to 1 and (w,) nm, where the instrument gave them.
    """

    drive: Drive
    builds: Array
    xyz: Array
    sheet: NDArray[np.int_]
    noise: Array
    conditions: Conditions = field(default_factory=Conditions)
    spectra: Array | None = None
    wavelengths: Array | None = None
    scanned: NDArray[np.bool_] | None = None

    @property
    def by_scan(self) -> NDArray[np.bool_]:
        """``scanned``, written out."""
        return np.zeros(len(self), dtype=np.bool_) if self.scanned is None else self.scanned

    def __len__(self) -> int:
        return len(self.builds)
