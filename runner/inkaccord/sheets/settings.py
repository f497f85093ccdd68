"""How big things are on a sample sheet, and which page they go on."""

from typing import Annotated, Any, NamedTuple, Self

from pydantic import Field, model_validator

from inkaccord.diagnostics import Diagnostic, note
from inkaccord.errors import OrderError
from inkaccord.models import Frozen
from inkaccord.sizes import Box, Margins, Sides, Size
from inkaccord.units import PT_PER_MM, mm

_Positive = Annotated[float, Field(gt=0)]
_Margin = Annotated[float, Field(ge=0)]

SMALL_SIDE_PT = 180 * PT_PER_MM
"""Pages with a shorter side than this get small swatches."""
DARK_PAPER_L = 50.0
"""Black type on paper of a lower CIELAB lightness has less than half of the contrast it has on
white. Common practice, no source."""

_BLACK_LAB = (16.0, 0.0, 0.0)
"""A usual solid black, to judge contrast by: from memory of ISO 12647-2."""
_TYPE_BY_CONTRAST = ((7.0, 7.0, False), (4.5, 8.0, True), (0.0, 9.0, True))
"""Least contrast ratio, then the size and weight of the numbers from there on. The ratios are
those of WCAG 2 for text (success criteria 1.4.6 and 1.4.3), used on paper as an analogue; the
sizes are common practice, no source."""


def rounded(corners: tuple[float, float, float, float]) -> Box:
    """Return left, bottom, right and top on the 0.01 pt grid that sheets are drawn on."""
    return Box(*(round(edge, 2) for edge in corners))


def paper_findings(stock: str, lightness: float) -> tuple[Diagnostic, ...]:
    """Return what to know before printing on a stock of a CIELAB lightness."""
    if lightness >= DARK_PAPER_L:
        return ()
    return (
        note(
            "dark-stock",
            f"the stock {stock} is dark (L* {lightness:.0f}): the sheet's type is black, since "
            "devices print no white, and is set larger",
            hint="read the ids under a strong light, or from the sheet's .txt in the same order",
        ),
    )


class Hole(NamedTuple):
    """Where a hole is to be punched: its centre on the trim, in points, and its guide's reach."""

    x_pt: float
    y_pt: float
    guide_pt: float


class SheetFormat(Frozen):
    """The page that a device takes, and the vendor's rule on bleed."""

    size: Size
    """Trim size."""
    bleed_pt: _Margin = 0.0
    """0: the file has the trim size alone. Else the media is larger by this on every side and
    TrimBox and BleedBox are set. Sheets never print into the bleed: they have no background."""
    unprintable: Margins = Sides()
    """What the device leaves blank, measured from the trim."""
    holes: tuple[Hole, ...] = ()
    """What is punched: a small cross at the centre of each, which the punch takes away."""

    @property
    def media(self) -> Size:
        """The size of the page in the file."""
        return Size(
            width_pt=self.size.width_pt + 2 * self.bleed_pt,
            height_pt=self.size.height_pt + 2 * self.bleed_pt,
        )

    @property
    def turned(self) -> Self:
        """The page a quarter turn round, with its margins."""
        edges = self.unprintable
        return self.model_copy(
            update={
                "size": self.size.turned,
                "unprintable": Sides(
                    left=edges.top, bottom=edges.left, right=edges.bottom, top=edges.right
                ),
                "holes": tuple(
                    hole._replace(x_pt=self.size.height_pt - hole.y_pt, y_pt=hole.x_pt)
                    for hole in self.holes
                ),
            }
        )

    @property
    def trim_pt(self) -> Box:
        """The trim on the media."""
        bleed = self.bleed_pt
        return Box(bleed, bleed, bleed + self.size.width_pt, bleed + self.size.height_pt)


class SheetSettings(Frozen):
    """Sizes on the sheet. The defaults suit instruments with apertures of 4 to 8 mm.

    What is left as None follows from the page: see :meth:`swatch_size`.
    """

    aperture_mm: _Positive = 8.0
    """The instrument's measuring aperture."""
    aperture_margin_mm: _Margin = 1.5
    """Solid colour wanted round the aperture. Makers' tables of apertures and patches ask for
    about 1 mm (common practice); the rest is for a shaky hand."""
    swatch_width_pt: _Positive | None = None
    swatch_height_pt: _Positive | None = None
    eye_height_pt: _Positive | None = None
    """Height of swatches for the eye, where they are higher than others."""
    side_by_side: bool = False
    """Whether the ladders of two colours stand side by side, each with half of the measure."""
    how_to_look: bool = False
    """Whether lines on how to look stand above the first swatches for the eye."""
    gutter_pt: _Margin = 3 * PT_PER_MM
    """Clear paper between a swatch and anything else's swatch."""
    safe_pt: _Margin = 5 * PT_PER_MM
    """Nothing stands closer to the trim than this (a cut wanders by about 1.5 mm)."""
    label_pt: Annotated[float, Field(ge=4.5, le=14)] = 7.0
    """Type size of the builds; ids are set one point larger, and bold."""
    label_bold: bool = False
    """Whether the builds are bold as well."""
    code_module_mm: Annotated[float, Field(ge=0.3)] = 0.42
    """Side of a module of the 2D code: five dots of a scan at 300 dpi."""
    dense: bool = False
    """Whether room is short: the controls share rows with other swatches, and no ruler is drawn."""
    white_under: str = ""
    """The plate of white that lies under every swatch, where the stock is printed so."""

    @property
    def smallest_side_pt(self) -> float:
        """The smallest side of a swatch that the instrument reads comfortably."""
        return (self.aperture_mm + 2 * self.aperture_margin_mm) * PT_PER_MM

    def swatch_size(self, page: Size) -> Size:
        """Return the size of a swatch on a page; columns may be widened to fill the measure.

        20 × 15 mm, or 15 × 12 mm on small pages; never smaller than the aperture allows.
        """
        small = min(page.width_pt, page.height_pt) < SMALL_SIDE_PT
        width, height = (15.0, 12.0) if small else (20.0, 15.0)
        return Size(
            width_pt=self.swatch_width_pt or max(width * PT_PER_MM, self.smallest_side_pt),
            height_pt=self.swatch_height_pt or max(height * PT_PER_MM, self.smallest_side_pt),
        )

    def enlarged(self, page: Size, scale: float) -> Self:
        """Return settings with swatches larger each way, unless their size was given."""
        if self.swatch_width_pt or self.swatch_height_pt:
            return self
        size = self.swatch_size(page)
        return self.model_copy(
            update={
                "swatch_width_pt": round(scale * size.width_pt, 2),
                "swatch_height_pt": round(scale * size.height_pt, 2),
            }
        )

    def densely(self, page: Size) -> Self | None:
        """Return settings for a small page that is short of room; None for a page that is not.

        Swatches are then as small as the instrument allows.
        """
        if self.dense or min(page.width_pt, page.height_pt) >= SMALL_SIDE_PT:
            return None
        side = round(self.smallest_side_pt, 2)
        return self.model_copy(
            update={
                "swatch_width_pt": self.swatch_width_pt or side,
                "swatch_height_pt": self.swatch_height_pt or side,
                "gutter_pt": min(self.gutter_pt, 2 * PT_PER_MM),
                "dense": True,
            }
        )

    @model_validator(mode="before")
    @classmethod
    def _kept_earlier(cls, content: Any) -> Any:
        """Leave out what sheets on older shelves hold and nothing was ever drawn by."""
        if isinstance(content, dict):
            return {name: value for name, value in content.items() if name != "units"}
        return content

    @model_validator(mode="after")
    def _readable(self) -> Self:
        sides = (self.swatch_width_pt, self.swatch_height_pt)
        if any(side is not None and side < self.aperture_mm * PT_PER_MM for side in sides):
            raise ValueError(
                f"a swatch must be larger than the aperture of {self.aperture_mm:g} mm"
            )
        return self

    @classmethod
    def suiting(cls, aperture_pt: float | None, lightness: float) -> Self:
        """Return settings for an instrument (None: the usual) and a stock's CIELAB lightness.

        Type is black on every stock, because devices print no white. Where that has little
        contrast, as on kraft, numbers are set larger and bold.
        """
        from inkaccord.colour.legibility import contrast_ratio  # noqa: PLC0415 - brings numpy

        contrast = float(contrast_ratio((lightness, 0.0, 0.0), _BLACK_LAB))
        size, bold = next((pt, bold) for least, pt, bold in _TYPE_BY_CONTRAST if contrast >= least)
        usual = cls.through(aperture_pt)
        return usual.model_copy(update={"label_pt": size, "label_bold": bold})

    @classmethod
    def through(cls, aperture_pt: float | None) -> Self:
        """Return the usual settings for an instrument's aperture (None: the usual one)."""
        return cls() if aperture_pt is None else cls(aperture_mm=round(mm(aperture_pt), 3))

    def live_area(self, page: SheetFormat) -> Box:
        """Return the area that all print stays within: inside the safe area and printable.

        Raises OrderError when nothing of the page is left.
        """
        left, bottom, right, top = page.trim_pt
        live = rounded(
            (
                left + max(self.safe_pt, page.unprintable.left),
                bottom + max(self.safe_pt, page.unprintable.bottom),
                right - max(self.safe_pt, page.unprintable.right),
                top - max(self.safe_pt, page.unprintable.top),
            )
        )
        if live[2] <= live[0] or live[3] <= live[1]:
            raise OrderError.of(
                "sheet-too-small",
                f"a sample sheet of {page.size} has no room inside its margins",
                hint="choose a larger size for the sample sheets, or smaller margins",
            )
        return live
