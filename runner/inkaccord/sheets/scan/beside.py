"""A thing that lies on the glass beside the sheet: its colour, and where it lies."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkaccord.colour.arrays import Array
from inkaccord.sheets.model import SampleSheet
from inkaccord.sheets.scan.sampling import linearised
from inkaccord.sheets.scan.squaring import Squared

_WORKING_PX_PER_MM = 3.0
_RIM_MM = 3.0
"""Left out round the sheet and inside the object's edge, where shadows lie."""
_SMALLEST_MM2 = 60.0
_OFF_THE_LID = 16
"""8-bit steps from the lid's colour that make an object."""
_ONE_COLOUR = 0.12
"""Standard deviation of lightness over the object, as a share, up to which it is one colour."""


@dataclass(frozen=True, eq=False)
class Beside:
    """An object beside a sheet."""

    linear: Array
    """(3,) mean linear RGB."""
    at_pt: Array
    """(2,) where its middle lies, in points of the sheet."""
    one_colour: bool
    area_mm2: float


def object_beside(sheet: SampleSheet, squared: Squared) -> Beside | None:
    """Return the largest thing on the glass beside a page that differs from the lid, or None."""
    from PIL import Image  # noqa: PLC0415  (only scans need it)
    from scipy import ndimage  # noqa: PLC0415

    step = max(1, round(squared.px_per_mm / _WORKING_PX_PER_MM))
    pixels = np.asarray(Image.fromarray(squared.picture.pixels).reduce(step))
    px_per_mm = squared.px_per_mm / step
    outside = ~_page_mask(sheet, squared, pixels.shape[:2], step, px_per_mm)
    if outside.sum() < _SMALLEST_MM2 * px_per_mm**2:
        return None
    lid = np.median(pixels[outside], axis=0)
    smooth = ndimage.uniform_filter(pixels.astype(np.float32), size=(3, 3, 1))
    differs = outside & (np.abs(smooth - lid).max(axis=2) > _OFF_THE_LID)
    inner = ndimage.binary_erosion(differs, iterations=max(1, round(_RIM_MM / 2 * px_per_mm)))
    labels, count = ndimage.label(inner)
    if not count:
        return None
    sizes = np.bincount(labels.ravel())[1:]
    own = labels == int(sizes.argmax()) + 1
    if sizes.max() < _SMALLEST_MM2 * px_per_mm**2:
        return None
    linear = linearised(pixels[own] / 255.0)
    mean = linear.mean(axis=0)
    spread = float(smooth[own].mean(axis=1).std() / max(float(smooth[own].mean()), 8.0))
    middle = np.array([float(axis.mean()) for axis in np.nonzero(own)[::-1]])
    at_pt = squared.points((middle + 0.5) * step - 0.5)
    return Beside(mean, at_pt, spread <= _ONE_COLOUR, float(sizes.max()) / px_per_mm**2)


def _page_mask(
    sheet: SampleSheet, squared: Squared, shape: tuple[int, int], step: int, px_per_mm: float
) -> NDArray[np.bool_]:
    """Tell which pixels of the reduced picture belong to the page, with a rim round it."""
    from PIL import Image, ImageDraw  # noqa: PLC0415  (only scans need it)
    from scipy import ndimage  # noqa: PLC0415

    bleed = sheet.bleed_pt
    right, top = bleed + sheet.size.width_pt, bleed + sheet.size.height_pt
    corners = np.array([(bleed, bleed), (right, bleed), (right, top), (bleed, top)])
    at = (squared.pixels(corners) + 0.5) / step - 0.5
    image = Image.new("1", (shape[1], shape[0]))
    ImageDraw.Draw(image).polygon([(float(x), float(y)) for x, y in at], fill=1)
    grown = ndimage.binary_dilation(np.asarray(image), iterations=round(_RIM_MM * px_per_mm))
    return np.asarray(grown, dtype=np.bool_)
