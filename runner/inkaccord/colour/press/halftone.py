"""The halftone part of the press model: what inks on paper look like by physics alone.

One Yule–Nielsen Neugebauer model for each of X, Y and Z, each with its own tone curves, since an
ink's dots look larger in the part of the spectrum that it absorbs most.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkaccord.colour.press.neugebauer import demichel, mix_slopes
from inkaccord.colour.press.surface import Printed
from inkaccord.colour.press.tone import curve_by_shape, curves
from inkaccord.colour.spaces import D50_WHITE

Array = NDArray[np.float64]


_POWERS = (0.02, 3.0)
"""Limits of 1/n, so that a step gone astray in the search meets no overflow."""
_DARKEST = 1e-200


@dataclass(frozen=True)
class Layout:
    """Where the parameters of one tristimulus value lie in the vector of all of them.

    In order, for X, then Y, then Z: the logarithms of the 2^k solids (paper relative to the
    perfect white, overprints relative to the paper), ln n, and ``modes`` curve coefficients for
    each ink.
    """

    inks: int
    modes: int

    @property
    def solids(self) -> int:
        """How many overprints there are, the paper included."""
        return int(2**self.inks)

    @property
    def per_value(self) -> int:
        """How many parameters one tristimulus value has."""
        return self.solids + 1 + self.inks * self.modes

    @property
    def shared(self) -> int:
        """How many parameters X, Y and Z have in common: none."""
        return 0

    @property
    def size(self) -> int:
        """How many parameters there are in all."""
        return 3 * self.per_value

    def shapes(self, table: Array) -> Array:
        """Return the curve coefficients (..., k, modes) among parameters (..., per_value)."""
        own = table[..., self.solids + 1 :]
        return np.asarray(own.reshape(*table.shape[:-1], self.inks, self.modes))

    def curve(self, ink: int) -> slice:
        """Return the place of an ink's curve among the parameters of one tristimulus value."""
        start = self.solids + 1 + ink * self.modes
        return slice(start, start + self.modes)

    def prints(self, parameters: Array, nominal: Array, *, by_parameter: bool = False) -> Printed:
        """Return what the halftone model prints for nominal coverages (n, k), 0 to 1."""
        return _print_builds(self, parameters, nominal, by_parameter)

    def places(self, parameters: Array, nominal: Array, /) -> tuple[Array, Array]:
        """Return the coverages (n, k) by the mean of the three curves, and their slopes (n, k)."""
        table = parameters[: self.size].reshape(3, self.per_value)
        return curves(nominal, self.shapes(table.mean(axis=0)))


def _print_builds(layout: Layout, parameters: Array, nominal: Array, by_parameter: bool) -> Printed:
    count, per_value = len(nominal), layout.per_value
    xyz = np.empty((count, 3))
    slopes = np.empty((count, 3, layout.inks))
    by_own = np.empty((count, 3, per_value if by_parameter else 0))
    table = parameters[: layout.size].reshape(3, per_value)
    effectives, rises = curves(nominal, layout.shapes(table))
    for value, (own, effective, rise) in enumerate(zip(table, effectives, rises, strict=True)):
        solids = own[: layout.solids].copy()
        solids[0] = 0.0
        power = float(np.clip(np.exp(-own[layout.solids]), *_POWERS))
        roots = np.exp(solids * power)

        weights = demichel(effective)
        mixture = np.maximum(weights @ roots, _DARKEST)
        result = D50_WHITE[value] * np.exp(own[0] + np.log(mixture) / power)
        by_effective = (result / (power * mixture))[:, None] * mix_slopes(effective, roots)
        xyz[:, value] = result
        slopes[:, value] = by_effective * rise
        if not by_parameter:
            continue
        target = by_own[:, value]
        target[:, 0] = result
        target[:, 1 : layout.solids] = (result / mixture)[:, None] * weights[:, 1:] * roots[1:]
        # The power is 1 / n, so d power / d ln n = -power.
        target[:, layout.solids] = result * (
            np.log(mixture) / power - (weights @ (solids * roots)) / mixture
        )
        for ink in range(layout.inks):
            place = layout.curve(ink)
            shapes = curve_by_shape(nominal[:, ink], own[place])
            target[:, place] = by_effective[:, ink, None] * shapes
    return Printed(xyz, by_own, slopes, np.empty((count, 3, 0)))
