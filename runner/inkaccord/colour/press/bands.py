"""Three bands of light, narrower than X, Y and Z, in which inks mix more nearly by simple laws.

The halftone equations hold for light of one wavelength. X, Y and Z each gather much of the
spectrum: X has a second lobe in the blue, and Y reaches far into the red. Linear mixtures that take
these parts out are nearer to one wavelength each (the idea of sharpened sensors: G. D. Finlayson,
M. S. Drew, B. V. Funt, 'Spectral sharpening', Journal of the Optical Society of America A 11(5),
1994; from memory). The figures are rounded; what readings make of them is alike all round.
"""

import numpy as np

from inkaccord.colour.arrays import Array
from inkaccord.colour.spaces import D50_WHITE

_SHARPER = np.array([[1.1, 0.0, -0.1], [-0.5, 1.5, 0.0], [0.0, 0.0, 1.0]])
"""Red, green and blue from X, Y and Z, all relative to white. No colour of positive bands has a
negative X, Y or Z."""
_FAINTEST = 5e-4

TO_XYZ = D50_WHITE[:, None] * np.linalg.inv(_SHARPER)
"""(3, 3) from bands to XYZ, perfect white Y = 100."""


def to_bands(xyz: Array) -> Array:
    """Return red, green and blue (..., 3) of XYZ, 1 for perfect white, never quite black."""
    return np.asarray(np.maximum(xyz / D50_WHITE @ _SHARPER.T, _FAINTEST))


def to_xyz(bands: Array) -> Array:
    """Return XYZ (..., 3) of bands."""
    return np.asarray(bands @ TO_XYZ.T)
