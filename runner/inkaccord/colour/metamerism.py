"""Metamerism: whether two pieces that agree under D50 still agree under another light.

Method: metamerism index for change of illuminant, ISO 18314-4:2024 (first in CIE 15.2:1986), with
its multiplicative correction in XYZ and CIEDE2000 as the colour-difference formula. The correction
takes out what differs under D50 already, so the index tells of the change of light alone.
"""

import numpy as np
from numpy.typing import ArrayLike

from inkaccord.colour.arrays import Array
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.spaces import lab_to_xyz, xyz_to_lab


def metamerism_index(
    here: tuple[ArrayLike, ArrayLike], there: tuple[ArrayLike, ArrayLike]
) -> Array:
    """Return the index (...) for two colours whose CIELAB is known under both lights.

    Parameters
    ----------
    here, there
        CIELAB (..., 3) of the sample and the standard, under the reference light and under the
        other one, each relative to the white of its light. The whites cancel in the correction, so
        any one white does for all of it.
    """
    sample_here, standard_here = (lab_to_xyz(lab) for lab in here)
    sample, standard = (lab_to_xyz(lab) for lab in there)
    corrected = sample * standard_here / np.maximum(sample_here, 1e-6)
    return delta_e_2000(xyz_to_lab(corrected), xyz_to_lab(standard))
