"""Metamerism: whether two pieces that agree under D50 still agree under another light.

Method: metamerism index for change of illuminant, ISO 18314-4:2024 (first in CIE 15.2:1986), with
its multiplicative correction in XYZ and CIEDE2000 as the colour-difference formula. The correction
takes out what differs under D50 already, so the index tells of the change of light alone.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from inkaccord.colour.arrays import Array
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.spaces import lab_to_xyz, xyz_to_lab
from inkaccord.colour.spectra import light_white, spectra_to_xyz


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


@dataclass(frozen=True, eq=False)
class UnderAnotherLight:
    """What a change of light does to pairs of colours; all arrays (...)."""

    light: str
    reference: str
    index: Array
    """Metamerism index: ΔE00 under the light, after correction."""
    plain: Array
    """ΔE00 under the light without correction: what is seen there."""
    under_reference: Array
    """ΔE00 under the reference light."""


def metamerism(
    spectra: ArrayLike,
    standard: ArrayLike,
    wavelengths: ArrayLike,
    *,
    light: str = "A",
    reference: str = "D50",
    observer: str = "2",
) -> UnderAnotherLight:
    """Compare colours with a standard under another light.

    Parameters
    ----------
    spectra, standard
        (..., w) reflectance factors 0 to 1; the leading shapes broadcast.
    wavelengths
        (w,) nm.
    light, reference
        CIE names: A is a filament lamp, FL11 a narrow-band fluorescent tube, LED-B3 a white LED.
    observer
        '2' or '10' degrees.

    Raises
    ------
    OrderError
        As :func:`inkaccord.colour.spectra.spectra_to_xyz`.
    """

    def seen(values: ArrayLike, name: str) -> Array:
        return spectra_to_xyz(values, wavelengths, light=name, observer=observer)

    there, here = light_white(light, observer), light_white(reference, observer)
    sample, other = seen(spectra, light), seen(standard, light)
    sample_here, other_here = seen(spectra, reference), seen(standard, reference)
    sample_lab, other_lab = xyz_to_lab(sample, there), xyz_to_lab(other, there)
    return UnderAnotherLight(
        light=light,
        reference=reference,
        index=metamerism_index(
            (xyz_to_lab(sample_here, here), xyz_to_lab(other_here, here)), (sample_lab, other_lab)
        ),
        plain=delta_e_2000(sample_lab, other_lab),
        under_reference=delta_e_2000(xyz_to_lab(sample_here, here), xyz_to_lab(other_here, here)),
    )
