"""What the parametric part of a press model has to be able to do, whatever it is made of."""

from dataclasses import dataclass, field
from typing import Protocol

import numpy as np

from inkaccord.colour.arrays import Array
from inkaccord.colour.spaces import xyz_to_lab


@dataclass(frozen=True, eq=False)
class Printed:
    """Tristimulus values of n builds, with derivatives."""

    xyz: Array
    """(n, 3)"""
    by_parameter: Array
    """(n, 3, p): each band of light by its own parameters; p = 0 if not asked."""
    by_coverage: Array
    """(n, 3, k): by the nominal coverages."""
    by_shared: Array
    """(n, 3, s): by the parameters that the bands share; s = 0 if not asked."""
    by_band: Array = field(default_factory=lambda: np.eye(3))
    """(3, 3): X, Y and Z by the three bands, which may be X, Y and Z themselves."""

    @property
    def lab(self) -> Array:
        """(n, 3) CIELAB."""
        return xyz_to_lab(self.xyz)


class Surface(Protocol):
    """Colours as a smooth function of coverages and of parameters.

    The parameters are ``per_value`` for each of three bands of light, then ``shared`` ones. The
    first ones of a band are the logarithms of ``solids``: the paper relative to the perfect white,
    then overprints relative to the paper.
    """

    @property
    def inks(self) -> int:
        """How many channels a build has."""
        ...

    @property
    def solids(self) -> int:
        """How many solids there are, the paper included."""
        ...

    @property
    def per_value(self) -> int:
        """How many parameters each band has for itself."""
        ...

    @property
    def shared(self) -> int:
        """How many parameters the three have in common."""
        ...

    @property
    def size(self) -> int:
        """How many parameters there are in all."""
        ...

    def bands(self, xyz: Array, /) -> Array:
        """Return XYZ (..., 3) in the bands, 1 for the perfect white."""
        ...

    def prints(self, parameters: Array, nominal: Array, *, by_parameter: bool = False) -> Printed:
        """Return the colours of nominal coverages (n, k), 0 to 1, and their derivatives."""
        ...

    def places(self, parameters: Array, nominal: Array, /) -> tuple[Array, Array]:
        """Return where the residual sees coverages (n, k), and how fast that moves (n, k)."""
        ...
