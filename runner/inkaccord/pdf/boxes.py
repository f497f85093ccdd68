"""Page boxes: media, crop, bleed, trim and art, as ISO 32000-2 (14.11.2) defines them.

All lengths are points of 1/72 in: the page's UserUnit is already multiplied in.
"""

import math
from functools import lru_cache
from typing import Any, Literal

import pikepdf

from inkaccord.diagnostics import Place
from inkaccord.errors import FileError
from inkaccord.models import Frozen
from inkaccord.pdf.geometry import Matrix
from inkaccord.pdf.page_objects import inherited, rectangle_of
from inkaccord.sizes import Box, Sides, Size

TRIM_TOLERANCE_PT = 0.75
"""How far an artwork's trim may be from its piece's: designers' programs round."""
BLEED_TOLERANCE_PT = 0.5
"""How much less bleed than is asked passes (0.18 mm): 3 mm where 1/8 in is asked (common practice,
no source)."""
BoxName = Literal["media", "crop", "bleed", "trim", "art"]
BOX_KEYS: dict[BoxName, str] = {
    "media": "/MediaBox",
    "crop": "/CropBox",
    "bleed": "/BleedBox",
    "trim": "/TrimBox",
    "art": "/ArtBox",
}


class PageBoxes(Frozen):
    """The boxes of one page, defaults filled in and each cut to the MediaBox.

    ``stated`` names the boxes that the page (or, for media and crop, a parent) really carries;
    ``raw`` keeps each stated box before it was cut.
    """

    media: Box
    crop: Box
    bleed: Box
    trim: Box
    art: Box
    rotation: Literal[0, 90, 180, 270] = 0
    user_unit: float = 1.0
    stated: tuple[BoxName, ...] = ()
    raw: tuple[tuple[BoxName, Box], ...] = ()

    def of(self, name: BoxName) -> Box:
        """Return one box by its name."""
        return {
            "media": self.media,
            "crop": self.crop,
            "bleed": self.bleed,
            "trim": self.trim,
            "art": self.art,
        }[name]

    @property
    def trim_size(self) -> Size:
        """The trim size as a reader sees the page, rotation applied."""
        return self.size_of(self.trim)

    def size_of(self, box: Box) -> Size:
        """Return the size of a box as a reader sees the page, rotation applied."""
        size = Size(width_pt=box.width, height_pt=box.height)
        return size.turned if self.rotation in {90, 270} else size

    @property
    def bleed_pt(self) -> Sides:
        """How far the BleedBox reaches outside the TrimBox on each side, unrotated."""
        return Sides(
            left=self.trim.left - self.bleed.left,
            bottom=self.trim.bottom - self.bleed.bottom,
            right=self.bleed.right - self.trim.right,
            top=self.bleed.top - self.trim.top,
        )

    @property
    def room_pt(self) -> Sides:
        """How far the media reaches outside the TrimBox on each side, unrotated."""
        return Sides(
            left=self.trim.left - self.media.left,
            bottom=self.trim.bottom - self.media.bottom,
            right=self.media.right - self.trim.right,
            top=self.media.top - self.trim.top,
        )

    def fits(self, piece: Size) -> bool:
        """Tell whether the trim size is the piece's, without turning."""
        return self.trim_size.same_as(piece, TRIM_TOLERANCE_PT)

    def lies_turned(self, piece: Size) -> bool:
        """Tell whether a quarter turn would make the trim size the piece's."""
        return self.trim_size.turned.same_as(piece, TRIM_TOLERANCE_PT)

    def trim_as(self, piece: Size) -> Box:
        """Return a box of the piece's size in the middle of a trim that fits it."""
        size = piece.turned if self.rotation in {90, 270} else piece
        x = (self.trim.left + self.trim.right - size.width_pt) / 2
        y = (self.trim.bottom + self.trim.top - size.height_pt) / 2
        return Box(x, y, x + size.width_pt, y + size.height_pt)

    def with_bleed(self, trim: Box, bleed_pt: float) -> Box:
        """Return what is drawn of the page round a trim: the bleed that is asked, or what there is.

        It ends with the media. A BleedBox that falls short by no more than what passes ends it too,
        since marks may stand beyond; one that falls short by more is not believed, as programs
        state one and draw past it.
        """
        asked = trim.grown(bleed_pt).common(self.media)
        if "bleed" not in self.stated:
            return asked
        ends = zip(asked, asked.common(self.bleed), strict=True)
        return Box(*(end if abs(end - it) <= BLEED_TOLERANCE_PT else it for it, end in ends))

    def upright(self, box: Box) -> Matrix:
        """Return the way from the page's own space to points, with a box as it is shown at (0, 0).

        The page's own space is that of its content, in its UserUnit; the box is in points.
        """
        u = self.user_unit
        match self.rotation:
            case 90:
                return 0, -u, u, 0, -box.bottom, box.right
            case 180:
                return -u, 0, 0, -u, box.right, box.top
            case 270:
                return 0, u, -u, 0, box.top, -box.left
        return u, 0, 0, u, -box.left, -box.bottom


def _box(value: pikepdf.Object | None, unit: float) -> Box | None:
    corners = rectangle_of(value)
    return None if corners is None else Box(*(corner * unit for corner in corners))


def _rotation(value: object) -> Literal[0, 90, 180, 270]:
    try:
        turned = round(float(value) / 90) * 90 % 360  # type: ignore[arg-type]  # anything else raises
    except (TypeError, ValueError, ArithmeticError):
        return 0
    return {90: 90, 180: 180, 270: 270}.get(turned, 0)  # type: ignore[return-value]  # mypy widens the values


def _unit(value: object) -> float:
    try:
        unit = float(value)  # type: ignore[arg-type]  # anything else raises
    except (TypeError, ValueError, ArithmeticError):
        return 1.0
    return unit if math.isfinite(unit) and unit > 0 else 1.0


def _number_of(page: pikepdf.Page) -> int | None:
    """Return a page's number from 1; None where it stands in no tree, as in a part of a file."""
    try:
        return page.index + 1
    except ValueError:
        return None


@lru_cache(maxsize=64)
def _kept(**boxes: Any) -> PageBoxes:
    """Return boxes, the same for the many pages of a file that are alike."""
    return PageBoxes(**boxes)


def page_boxes(page: pikepdf.Page, file: str | None = None) -> PageBoxes:
    """Return a page's boxes in points, with inheritance and defaults.

    MediaBox, CropBox and Rotate are inherited, UserUnit is the page's own; the CropBox defaults to
    the MediaBox, and bleed, trim and art to the CropBox (ISO 32000-2:2020, table 31 and
    14.11.2.1). A box that reaches out of the MediaBox is cut to it; one that is no four finite
    numbers counts as left out, and a Rotate that is no number counts as 0.

    Raises FileError (``no-media-box``), naming the ``file``, when the page has no usable MediaBox.
    """
    node = page.obj
    unit = _unit(node.get("/UserUnit") or 1.0)
    raw: dict[BoxName, Box] = {}
    for name, key in BOX_KEYS.items():
        box = _box(inherited(node, key) if name in {"media", "crop"} else node.get(key), unit)
        if box is not None and not box.is_empty:
            raw[name] = box
    if "media" not in raw:
        raise FileError.of(
            "no-media-box",
            "the page has no usable MediaBox, so its size is unknown",
            place=Place(file=file, page=_number_of(page)),
            in_program="export the PDF again",
        )
    media = raw["media"]
    cut = {name: box.common(media) for name, box in raw.items()}
    cut = {name: box for name, box in cut.items() if not box.is_empty}
    crop = cut.get("crop", media)
    return _kept(
        media=media,
        crop=crop,
        bleed=cut.get("bleed", crop),
        trim=cut.get("trim", crop),
        art=cut.get("art", crop),
        rotation=_rotation(inherited(node, "/Rotate") or 0),
        user_unit=unit,
        stated=tuple(raw),
        raw=tuple(raw.items()),
    )
