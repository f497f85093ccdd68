"""Page boxes: media, crop, bleed, trim and art, as ISO 32000-2 (14.11.2) defines them.

All lengths are points of 1/72 in: the page's UserUnit is already multiplied in.
"""

import math
from typing import Literal, Self

import pikepdf
from pydantic import model_validator

from inkaccord.diagnostics import Place
from inkaccord.errors import FileError
from inkaccord.models import Frozen
from inkaccord.pdf.page_objects import inherited
from inkaccord.sizes import Size
from inkaccord.units import mm

BoxName = Literal["media", "crop", "bleed", "trim", "art"]
BOX_KEYS: dict[BoxName, str] = {
    "media": "/MediaBox",
    "crop": "/CropBox",
    "bleed": "/BleedBox",
    "trim": "/TrimBox",
    "art": "/ArtBox",
}


class Sides(Frozen):
    """One length for each side of a page, in points."""

    left_pt: float
    bottom_pt: float
    right_pt: float
    top_pt: float

    @property
    def least_pt(self) -> float:
        """The smallest of the four."""
        return min(self.left_pt, self.bottom_pt, self.right_pt, self.top_pt)

    def named(self) -> tuple[tuple[str, float], ...]:
        """Return the sides with their names."""
        return (
            ("left", self.left_pt),
            ("bottom", self.bottom_pt),
            ("right", self.right_pt),
            ("top", self.top_pt),
        )


class Box(Frozen):
    """A rectangle on the page, in points from the page's origin."""

    left_pt: float
    bottom_pt: float
    right_pt: float
    top_pt: float

    @model_validator(mode="after")
    def _upright(self) -> Self:
        if self.right_pt < self.left_pt or self.top_pt < self.bottom_pt:
            raise ValueError("right lies left of left, or top below bottom")
        return self

    @classmethod
    def of(cls, corners: tuple[float, float, float, float]) -> Self:
        """Return the box of two opposite corners given in any order."""
        x0, y0, x1, y1 = corners
        return cls(
            left_pt=min(x0, x1), bottom_pt=min(y0, y1), right_pt=max(x0, x1), top_pt=max(y0, y1)
        )

    @property
    def corners_pt(self) -> tuple[float, float, float, float]:
        """Left, bottom, right, top."""
        return self.left_pt, self.bottom_pt, self.right_pt, self.top_pt

    @property
    def in_mm(self) -> tuple[float, float, float, float]:
        """Left, bottom, right, top in millimetres."""
        return mm(self.left_pt), mm(self.bottom_pt), mm(self.right_pt), mm(self.top_pt)

    @property
    def rounded_mm(self) -> tuple[float, float, float, float]:
        """The same to 0.01 mm, for :class:`~inkaccord.diagnostics.Place`."""
        left, bottom, right, top = (round(corner, 2) for corner in self.in_mm)
        return left, bottom, right, top

    @property
    def width_pt(self) -> float:
        """Right less left."""
        return self.right_pt - self.left_pt

    @property
    def height_pt(self) -> float:
        """Top less bottom."""
        return self.top_pt - self.bottom_pt

    @property
    def is_empty(self) -> bool:
        """Whether the box has no area."""
        return self.width_pt <= 0 or self.height_pt <= 0

    def cut_to(self, other: "Box") -> "Box":
        """Return the part inside ``other``; an empty box at its edge when they do not meet."""
        left = min(max(self.left_pt, other.left_pt), other.right_pt)
        bottom = min(max(self.bottom_pt, other.bottom_pt), other.top_pt)
        return Box(
            left_pt=left,
            bottom_pt=bottom,
            right_pt=max(left, min(self.right_pt, other.right_pt)),
            top_pt=max(bottom, min(self.top_pt, other.top_pt)),
        )

    def grown(self, by_pt: float) -> "Box":
        """Return the box with every side moved outwards (inwards if negative)."""
        shrink = -min(0.0, self.width_pt + 2 * by_pt) / 2, -min(0.0, self.height_pt + 2 * by_pt) / 2
        return Box(
            left_pt=self.left_pt - by_pt - shrink[0],
            bottom_pt=self.bottom_pt - by_pt - shrink[1],
            right_pt=self.right_pt + by_pt + shrink[0],
            top_pt=self.top_pt + by_pt + shrink[1],
        )

    def holds(self, other: "Box", tolerance_pt: float = 0.01) -> bool:
        """Tell whether ``other`` lies within this box."""
        return (
            other.left_pt >= self.left_pt - tolerance_pt
            and other.bottom_pt >= self.bottom_pt - tolerance_pt
            and other.right_pt <= self.right_pt + tolerance_pt
            and other.top_pt <= self.top_pt + tolerance_pt
        )

    def meets(self, other: "Box") -> bool:
        """Tell whether the two share any area."""
        return (
            self.left_pt < other.right_pt
            and other.left_pt < self.right_pt
            and self.bottom_pt < other.top_pt
            and other.bottom_pt < self.top_pt
        )


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
        size = Size(width_pt=self.trim.width_pt, height_pt=self.trim.height_pt)
        return size.turned if self.rotation in {90, 270} else size

    @property
    def bleed_pt(self) -> Sides:
        """How far the BleedBox reaches outside the TrimBox on each side, unrotated."""
        return Sides(
            left_pt=self.trim.left_pt - self.bleed.left_pt,
            bottom_pt=self.trim.bottom_pt - self.bleed.bottom_pt,
            right_pt=self.bleed.right_pt - self.trim.right_pt,
            top_pt=self.bleed.top_pt - self.trim.top_pt,
        )

    @property
    def room_pt(self) -> Sides:
        """How far the media reaches outside the TrimBox on each side, unrotated."""
        return Sides(
            left_pt=self.trim.left_pt - self.media.left_pt,
            bottom_pt=self.trim.bottom_pt - self.media.bottom_pt,
            right_pt=self.media.right_pt - self.trim.right_pt,
            top_pt=self.media.top_pt - self.trim.top_pt,
        )

    def fits(self, piece: Size, tolerance_pt: float = 0.5) -> bool:
        """Tell whether the trim size is the piece's, without turning."""
        return self.trim_size.same_as(piece, tolerance_pt)


def _box(value: pikepdf.Object | None, unit: float) -> Box | None:
    if not isinstance(value, pikepdf.Array) or len(value) != 4:
        return None
    try:
        x0, y0, x1, y1 = (float(number) * unit for number in value)
    except (TypeError, ValueError, ArithmeticError):
        return None
    return Box.of((x0, y0, x1, y1)) if all(map(math.isfinite, (x0, y0, x1, y1))) else None


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


def page_boxes(page: pikepdf.Page) -> PageBoxes:
    """Return a page's boxes in points, with inheritance and defaults.

    MediaBox, CropBox and Rotate are inherited; the CropBox defaults to the MediaBox, and bleed,
    trim and art to the CropBox (ISO 32000-2:2020, table 31 and 14.11.2.1). A box that reaches
    out of the MediaBox is cut to it; one that is no four finite numbers counts as left out.

    Raises FileError (``no-media-box``) when the page has no usable MediaBox.
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
            place=Place(page=page.index + 1),
            hint="export the PDF again",
        )
    media = raw["media"]
    cut = {name: box.cut_to(media) for name, box in raw.items()}
    cut = {name: box for name, box in cut.items() if not box.is_empty}
    crop = cut.get("crop", media)
    return PageBoxes(
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
