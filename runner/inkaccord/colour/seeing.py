"""What a scanner sees otherwise than people do, told by how it sees the controls of a sheet.

A scanner's three filters, or the three LEDs that light its glass, are not the eye's: things and
prints that a person takes for alike look apart to it (they don't meet the Luther condition). How
far, and which way, depends on the scanner and on the inks. Neither is known; but inks are alike
enough everywhere that what it makes of the controls tells much of both.

The table was learnt from scanners and presses drawn at random (``tests/benchmarks/seeing.py``): a
linear forecast of the way from a thing to the print that matches it, as the scanner sees both, and
of how far the rest strays.
"""

from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import numpy as np

from inkaccord.colour.arrays import Array

_MIDDLE, _REACH = np.array([55.0, 0.0, 0.0]), 40.0
"""CIELAB round which the terms are laid, and their unit."""
_FARTHEST = 2.0
"""Units beyond which terms are not taken on."""
_STRANGE = 2.0
"""Mean square of the signs, each in its own deviations, up to which a scanner and its inks are like
those that the table was learnt from."""
_MOST = 11.0
"""Root mean square ΔE00 that no scanner is taken to err by more: none did of 960 that were drawn,
with nothing mended."""


def terms(lab: Array) -> Array:
    """Return the terms (n, 10) of CIELAB (n, 3): constant, linear and quadratic."""
    at = np.clip((lab - _MIDDLE) / _REACH, -_FARTHEST, _FARTHEST)
    first, second = np.triu_indices(3)
    return np.column_stack([np.ones(len(at)), at, at[:, first] * at[:, second]])


def signs_of(controls: Array) -> Array:
    """Return the signs (3 n - 3,) by which scanner and inks are known.

    ``controls`` are (n, 3) linear RGB of the control swatches, bare paper first.
    """
    return np.asarray(100.0 * np.cbrt(controls[1:] / controls[0])).ravel()


@dataclass(frozen=True, eq=False)
class Seeing:
    """How one scanner sees things and prints.

    Attributes
    ----------
    offsets
        (10, 3) weights of the terms, CIELAB as the scanner sees it.
    spread
        (11,) weights of the terms, and of how much is mended: the logarithm of the squared error.
    """

    offsets: Array
    spread: Array

    def as_print(self, lab: Array) -> Array:
        """Return how prints look to the scanner that a person takes for the things (n, 3)."""
        return np.asarray(lab + terms(lab) @ self.offsets)

    def error(self, lab: Array) -> float:
        """Return the root mean square ΔE00 by which that errs for a thing (3,)."""
        told = float(np.exp((self.spread_terms(lab[None]) @ self.spread)[0] / 2.0))
        return min(told, _MOST)

    def spread_terms(self, lab: Array) -> Array:
        """Return what the spread weighs, (n, 11): where much is to be mended, much stays."""
        mended = np.linalg.norm(terms(lab) @ self.offsets, axis=1)
        return np.column_stack([terms(lab), np.log1p(mended)])


@dataclass(frozen=True, eq=False)
class Learnt:
    """The table.

    Attributes
    ----------
    middle, scale
        (s,) the signs' means and deviations.
    weights
        (1 + s, 30) from signs to offsets, the constant first.
    spread
        (11 + s,) from what a :class:`Seeing` weighs, and then the signs, to the logarithm of the
        squared error.
    """

    middle: Array
    scale: Array
    weights: Array
    spread: Array

    def seeing(self, signs: Array) -> Seeing:
        """Return how the scanner sees that gave these signs.

        One that is unlike all that the table knows is believed the less, and is the less sure.
        """
        own = (signs - self.middle) / self.scale
        strange = max(1.0, float(np.mean(own**2)) / _STRANGE)
        told = np.concatenate([[1.0], own / strange])
        local, of_scanner = np.split(self.spread, [-len(own)])
        constant = np.eye(len(local))[0] * (of_scanner @ own / strange + np.log(strange))
        return Seeing((told @ self.weights).reshape(-1, 3), local + constant)


def seeing_of(controls: Array) -> Seeing:
    """Return how the scanner sees that gave linear RGB (12, 3) for the controls of a CMYK sheet."""
    return read_learnt().seeing(signs_of(controls))


@cache
def read_learnt() -> Learnt:
    """Return the table as it is kept."""
    rows: dict[str, list[list[float]]] = {}
    for line in (files(__package__) / "seeing.txt").read_text("utf-8").splitlines():
        name, *values = line.split()
        if name != "#":
            rows.setdefault(name, []).append([float(value) for value in values])
    arrays = {name: np.array(values) for name, values in rows.items()}
    return Learnt(arrays["middle"][0], arrays["scale"][0], arrays["weights"], arrays["spread"][0])
