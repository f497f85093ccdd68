"""The halftone part of the press model: what inks on paper look like by physics alone.

One Yule–Nielsen Neugebauer model for each of three bands of light, each with its own tone curves,
since an ink's dots look larger in the part of the spectrum that it absorbs most.
"""

from dataclasses import dataclass

import numpy as np

from inkaccord.colour.arrays import Array
from inkaccord.colour.press.bands import TO_XYZ, to_bands, to_xyz
from inkaccord.colour.press.neugebauer import demichel, mix_slopes
from inkaccord.colour.press.surface import Printed
from inkaccord.colour.press.tone import curve_by_shape, curves

_POWERS = (-1.5, 3.0)
"""Limits of 1/n: near 0 light is multiplied, as in a dye; beyond 1 no paper spreads it."""
_LEAST_POWER = 1e-3
_DARKEST = 1e-200


@dataclass(frozen=True)
class Layout:
    """Where the parameters of one band lie in the vector of all of them.

    In order, for red, then green, then blue: the logarithms of the 2^k solids (paper relative to
    the perfect white, overprints relative to the paper), 1/n, and ``modes`` curve coefficients for
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
        """How many parameters one band has."""
        return self.solids + 1 + self.inks * self.modes

    @property
    def shared(self) -> int:
        """How many parameters the bands have in common: none."""
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
        """Return the place of an ink's curve among the parameters of one band."""
        start = self.solids + 1 + ink * self.modes
        return slice(start, start + self.modes)

    def bands(self, xyz: Array) -> Array:
        """Return XYZ (..., 3) in the bands that inks mix in."""
        return to_bands(xyz)

    def prints(self, parameters: Array, nominal: Array, *, by_parameter: bool = False) -> Printed:
        """Return what the halftone model prints for nominal coverages (n, k), 0 to 1."""
        return _print_builds(self, parameters, nominal, by_parameter)

    def places(self, parameters: Array, nominal: Array, /) -> tuple[Array, Array]:
        """Return the coverages (n, k) by the mean of the three curves, and their slopes (n, k)."""
        table = parameters[: self.size].reshape(3, self.per_value)
        return curves(nominal, self.shapes(table.mean(axis=0)))


def _print_builds(layout: Layout, parameters: Array, nominal: Array, by_parameter: bool) -> Printed:
    count, per_value = len(nominal), layout.per_value
    table = parameters[: layout.size].reshape(3, per_value)
    effective, rises = curves(nominal, layout.shapes(table))  # (3, n, k), as all below: by band
    solids = table[:, : layout.solids].copy()
    solids[:, 0] = 0.0
    power = np.clip(table[:, layout.solids], *_POWERS)
    power = np.where(np.abs(power) > _LEAST_POWER, power, _LEAST_POWER)[:, None]
    roots = np.exp(solids * power)

    weights = demichel(effective)
    mixture = np.maximum((weights @ roots[:, :, None])[:, :, 0], _DARKEST)
    logs = np.log(mixture) / power
    light = np.exp(table[:, :1] + logs)
    by_effective = (light / (power * mixture))[:, :, None] * mix_slopes(effective, roots)
    by_own = np.empty((3, count, per_value if by_parameter else 0))
    if by_parameter:
        share = (light / mixture)[:, :, None]
        by_own[:, :, 0] = light
        by_own[:, :, 1 : layout.solids] = share * weights[:, :, 1:] * roots[:, None, 1:]
        by_own[:, :, layout.solids] = (light / power) * (
            (weights @ (solids * roots)[:, :, None])[:, :, 0] / mixture - logs
        )
        for ink in range(layout.inks):
            place = layout.curve(ink)
            shapes = curve_by_shape(nominal[:, ink], table[:, place])
            by_own[:, :, place] = by_effective[:, :, ink, None] * shapes
    slopes = TO_XYZ @ (by_effective * rises).transpose(1, 0, 2)
    nothing = np.empty((count, 3, 0))
    return Printed(to_xyz(light.T), by_own.transpose(1, 0, 2), slopes, nothing, TO_XYZ)
