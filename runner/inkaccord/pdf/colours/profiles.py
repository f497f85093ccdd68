"""What colours look like that do not stand as plain numbers (ISO 32000-2, 8.6.5).

ICC-based and calibrated spaces. All is relative to the white of the space, under D50: the relative
colorimetric intent.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from inkaccord.colour.arrays import Array
from inkaccord.colour.icc import BadProfileError, read_icc
from inkaccord.colour.lab import Lab
from inkaccord.colour.spaces import adapted_to_d50, xyz_to_lab
from inkaccord.errors import FileError
from inkaccord.pdf.entries import BAD_OBJECT, entry, objgen
from inkaccord.pdf.streams import StreamReader

LabOf = Callable[[ArrayLike], Array]
"""Takes (n, components), gives CIELAB (n, 3)."""
DIGITS = 4
MOST_MIB = 32
"""Larger profiles are not read."""


class ColourProfile:
    """What stands between the numbers of a space and their look; read when first asked.

    Compared by identity: one for each profile of a file.
    """

    def __init__(self, read: Callable[[], LabOf], number: int = 0) -> None:
        """Take what reads it, and the number of the object that holds it; 0 for one in another."""
        self._read = read
        self._where = f"object {number}: " if number else ""
        self._lab_of: LabOf | None = None
        self._known: dict[tuple[float, ...], Lab | None] = {}
        self.fault = ""
        """Why it can't be read, once a colour was asked for."""

    def lab(self, numbers: tuple[float, ...]) -> Lab | None:
        """Return CIELAB of one colour; None where the profile can't be read."""
        if numbers not in self._known:
            self._known[numbers] = self._found(numbers)
        return self._known[numbers]

    def _found(self, numbers: tuple[float, ...]) -> Lab | None:
        try:
            if self._lab_of is None:
                self._lab_of = self._read()
            lightness, a, b = (round(float(v), DIGITS) + 0.0 for v in self._lab_of(numbers)[0])
        except (*BAD_OBJECT, BadProfileError, FileError) as problem:
            said = problem.findings[0].message if isinstance(problem, FileError) else str(problem)
            self.fault = f"{self._where}{said}"
            return None
        return lightness, a, b


def icc_profile(stream: Any, components: int) -> ColourProfile:
    """Return the profile of an ICC-based space."""

    def read() -> LabOf:
        profile = read_icc(StreamReader(MOST_MIB).read(stream))
        if profile.channels != components:
            raise BadProfileError(f"it is for {profile.channels} numbers, not {components}")
        return profile.lab

    return ColourProfile(read, objgen(stream)[0])


def calibrated_profile(entries: Any, components: int) -> ColourProfile:
    """Return what a CalGray or CalRGB space says of its numbers (8.6.5.2, 8.6.5.3)."""

    def read() -> LabOf:
        white = np.array([float(v) for v in entries["/WhitePoint"]])
        given = entry(entries, "/Gamma")
        if components == 1:
            gamma = np.array([1.0 if given is None else float(given)])
            columns = white.reshape(1, 3)
        else:
            gamma = np.array([1.0] * 3 if given is None else [float(v) for v in given])
            matrix = entry(entries, "/Matrix")
            parts = np.eye(3).ravel() if matrix is None else [float(v) for v in matrix]
            columns = np.asarray(parts).reshape(3, 3)

        def lab(numbers: ArrayLike) -> Array:
            values = np.clip(np.asarray(numbers, dtype=np.float64).reshape(-1, components), 0, 1)
            return xyz_to_lab(100.0 * adapted_to_d50(values**gamma @ columns, white))

        return lab

    return ColourProfile(read)
