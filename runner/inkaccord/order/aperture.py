"""The aperture of the instrument that reads the sample sheets."""

from typing import Annotated

from pydantic import AfterValidator

from inkaccord.units import Length, Points, millimetres, write_length

_LEAST, _MOST = millimetres(2), millimetres(25)


def check_aperture(length_pt: float) -> Points:
    """Return an aperture in points. Raises ValueError for what no instrument has."""
    if not _LEAST <= length_pt <= _MOST:
        raise ValueError(
            f"an aperture of {write_length(length_pt)} does not fit: instruments for swatches "
            "have 2 to 25 mm; give the opening that the swatch has to fill, such as 16mm"
        )
    return Points(length_pt)


Aperture = Annotated[Length, AfterValidator(check_aperture)]
"""A field that takes an instrument's aperture as a length with its unit, and holds points."""
