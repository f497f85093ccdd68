"""What a vendor asks of artwork, as the checks need it."""

from typing import Literal

from pydantic import Field

from inkaccord.artwork.taking_up import OrderSays
from inkaccord.diagnostics import Severity
from inkaccord.models import Frozen
from inkaccord.pdf.colours.colours import ColourKind
from inkaccord.sizes import Size


class FinishRule(Frozen):
    """A plate that is no colour, and how it is to lie."""

    plate: str
    """Its name in the file."""
    what: str
    """What it is, in words: ``foil 'gold'``."""
    prints: bool = True
    """Whether anything is laid on the stock; else it shows where the finisher works."""
    cuts: bool = False
    """Whether a die cuts along it."""
    overprint: bool | None = None
    """Whether all of it is to overprint, or none; None: as drawn."""
    under_all: bool = False
    """Whether the piece's colours are set for it under all ink: a white, by the piece's stock."""
    as_drawn: bool = True
    """Whether a copy keeps what the artwork has; else the order sets overprint in it."""


class ArtworkRules(Frozen):
    """The rules of one piece at one vendor. Lengths in points; None switches a rule off.

    The defaults are common practice of the printing trade, without a source.
    """

    trim: Size | None = Field(None, description="the piece's trim size")
    bleed_pt: float = Field(9.0, ge=0, description="bleed on every side")
    safe_pt: float = Field(9.0, ge=0, description="what must not be cut stays this far inside")
    page_counts: tuple[int, ...] = Field((), description="allowed page counts; empty: any")
    max_total_ink: float | None = Field(None, gt=0, description="percent, over all inks")
    tell_ink: bool = Field(
        False, description="whether the most ink is told where no limit is stated"
    )
    small_ink_area_mm2: float = Field(
        0.5, ge=0, description="an area over the ink limit that is smaller passes"
    )
    image_dpi: float | None = Field(250, gt=0, description="least resolution at final size")
    line_art_dpi: float | None = Field(None, gt=0, description="the same for 1-bit images")
    fonts: Literal["embedded", "outlined"] = "embedded"
    colour_kinds: tuple[ColourKind, ...] | None = Field(
        None, description="kinds of colour that may be present; None: any"
    )
    order: OrderSays = Field(OrderSays(), description="what the order says of other kinds")
    multi_ink_type_pt: float | None = Field(6.0, gt=0, description="smallest type in several inks")
    reversed_type_pt: float | None = Field(
        8.0, gt=0, description="smallest type knocked out of several inks"
    )
    reversed_line_pt: float | None = Field(
        0.5, gt=0, description="thinnest line knocked out of several inks"
    )
    rich_black_type_pt: float | None = Field(
        14.0, gt=0, description="smallest type in black with other inks under it"
    )
    line_pt: float | None = Field(0.25, gt=0, description="thinnest line")
    multi_ink_line_pt: float | None = Field(0.5, gt=0, description="thinnest line in several inks")
    transparency: bool = Field(True, description="whether see-through things may be left live")
    layers: Literal["keep", "flatten"] = "flatten"
    spots: Literal["process", "keep"] = Field(
        "process", description="whether spot colours become process inks or plates of their own"
    )
    finishes: tuple[FinishRule, ...] = Field((), description="plates that are no colour")
    pdf_version: str | None = Field(None, description="highest PDF version, such as 1.6")
    standard: Literal["none", "pdf/x-4"] = "none"
    levels: tuple[tuple[str, Severity], ...] = Field(
        (), description="how much findings matter here, by code, where it is not as usual"
    )
