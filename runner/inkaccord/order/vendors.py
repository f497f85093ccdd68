"""Vendors and their devices: the rules that files must keep to be printed right."""

import re
from enum import StrEnum
from typing import Annotated, Any, Literal, Self

from pydantic import Field, field_validator, model_validator

from inkaccord.colour.builds import Drive
from inkaccord.diagnostics import Severity
from inkaccord.files import safe_name
from inkaccord.layout.countdown import LEAST_SETTING_PT
from inkaccord.layout.model import Costs, Edge
from inkaccord.models import Frozen
from inkaccord.order.finishes import FinishesTaken
from inkaccord.order.prices import Prices, PricesField
from inkaccord.sizes import SizeField
from inkaccord.units import Length, Percent, Points, inches, millimetres
from inkaccord.written import shown


class Delivers(StrEnum):
    """Who lays the pieces on sheets."""

    SHEETS = "sheets"
    """The order does: imposed sheets, ready for the device."""
    PIECES = "pieces"
    """The vendor does: single pieces, with bleed."""


class FilePer(StrEnum):
    """How print files are cut up."""

    PIECE = "piece"
    """One for each piece; one for each group of pieces that are laid together."""
    SIDE = "side"
    """The same, with a file for each side."""
    ORDER = "order"
    """One with all pages; each keeps its own boxes."""


FILE_NAME_WORDS = ("order", "vendor", "piece", "side", "device", "stock")
"""What a vendor's pattern for file names can hold."""


class Spots(StrEnum):
    """What becomes of a spot colour that carries a brand colour."""

    PROCESS = "process"
    """It becomes process colour."""
    KEEP = "keep"
    """It stays a separation of its own; its alternate and tints become the new build."""


class Tints(StrEnum):
    """How tints of a brand colour get their builds."""

    MATCHED = "matched"
    """By tone value: a 40 % tint looks 40 % on this pair (ISO 20654)."""
    SCALED = "scaled"
    """The build times the tint."""


class Turning(StrEnum):
    """How the second side is printed."""

    LONG_EDGE = "long-edge"
    """The device's own duplex, turned on the long edge."""
    SHORT_EDGE = "short-edge"
    """The device's own duplex, turned on the short edge."""
    SHEETWISE = "sheetwise"
    """Two formes, one for each side."""
    WORK_AND_TURN = "work-and-turn"
    """One forme for both sides, turned left over right; the gripper edge stays."""
    WORK_AND_TUMBLE = "work-and-tumble"
    """One forme for both sides, turned head over foot; gripper margin on both edges."""


class WhenDrifted(StrEnum):
    """What to do when a device's controls show that it has drifted."""

    RE_ANCHOR = "re-anchor"
    """Move what was read before by what the controls tell; bounds are wider, builds go on."""
    NEW_SHEET = "new-sheet"
    """Take the pair for unread until a whole sheet of today has been read."""


StaleAfterDays = Annotated[
    int, Field(description="readings older than this are not trusted alone", ge=1)
]
DriftTolerance = Annotated[
    float, Field(description="root mean square ΔE00 of the controls that counts as drifted", gt=0)
]


class Device(Frozen):
    """The machine that prints."""

    drive: Drive = Drive.CMYK
    setting: Annotated[str, Field(description="driver setting that colour was read under")] = ""
    stocks: Annotated[
        tuple[str, ...], Field(description="stocks that it takes; empty: any of the order")
    ] = ()
    sheets: Annotated[
        tuple[SizeField, ...],
        Field(
            description="sheet sizes that it takes, of which a stock is printed on those that it "
            "can be cut to; empty: the size of the stock"
        ),
    ] = ()
    sample_size: Annotated[
        SizeField | None,
        Field(
            description="size of its sample sheets, which are cut out of a larger sheet where it "
            "takes no smaller; left out: the smallest usual size that holds them"
        ),
    ] = None
    margin: Annotated[Length, Field(description="rim that it can't print", ge=0)] = millimetres(4.2)
    gripper: Annotated[Edge | None, Field(description="edge that the gripper holds")] = None
    gripper_margin: Annotated[Length, Field(description="what the gripper covers", ge=0)] = Points(
        0
    )
    side_lay: Annotated[
        Edge | None,
        Field(description="edge that the press lays at its side guide; cutting begins from it"),
    ] = None
    turning: Turning = Turning.LONG_EDGE
    feeds: Annotated[
        Literal["long-edge", "short-edge"], Field(description="edge of an envelope that goes first")
    ] = "short-edge"
    flap: Annotated[Literal["up", "down"], Field(description="how an envelope's flap lies")] = (
        "down"
    )
    ink_limit: Annotated[
        Percent | None, Field(description="total ink in percent, CMYK only", ge=100, le=400)
    ] = None
    stale_after_days: StaleAfterDays = 365
    drift_tolerance: DriftTolerance = 2.0
    when_drifted: WhenDrifted = WhenDrifted.RE_ANCHOR

    @model_validator(mode="after")
    def _side_lay_is_beside_the_gripper(self) -> Self:
        if self.gripper is not None and self.side_lay in {self.gripper, self.gripper.opposite}:
            beside = [edge for edge in Edge if edge not in {self.gripper, self.gripper.opposite}]
            raise ValueError(
                f"the gripper holds the {self.gripper} edge, so the side lay is the "
                f"{beside[0]} or the {beside[1]} edge, not the {self.side_lay} one"
            )
        return self


class PdfRules(Frozen):
    """What a PDF for this vendor must be."""

    version: Literal["1.4", "1.5", "1.6", "1.7", "2.0"] = "1.6"
    standard: Literal["none", "pdf/x-4"] = "none"
    output_condition: Annotated[
        str, Field(description="name of the registered printing condition, for pdf/x-4")
    ] = ""
    output_profile: Annotated[
        str | None, Field(description="ICC profile to embed as output intent, beside the order")
    ] = None
    fonts: Literal["embedded", "outlined"] = "embedded"
    layers: Literal["keep", "flatten"] = "flatten"
    transparency: bool = True

    @model_validator(mode="after")
    def _standard_has_its_profile(self) -> Self:
        # ISO 15930-7: the output intent embeds the profile (from memory).
        if self.standard == "pdf/x-4" and self.output_profile is None:
            raise ValueError(
                "a PDF/X-4 file has the profile of its printing condition in it: ask the vendor "
                "for the ICC file, lay it beside the order and name it as 'output_profile'; "
                "'standard: none' until it is there"
            )
        return self


class ArtworkLimits(Frozen):
    """What artwork must keep to for this vendor."""

    image_dpi: Annotated[float, Field(description="least resolution at final size", ge=0)] = 250
    multi_ink_type: Annotated[
        Length, Field(description="smallest type in more than one ink", ge=0)
    ] = Points(6)
    reversed_type: Annotated[
        Length, Field(description="smallest type knocked out of several inks", ge=0)
    ] = Points(8)
    reversed_line: Annotated[
        Length, Field(description="thinnest line knocked out of several inks", ge=0)
    ] = Points(0.5)
    line: Annotated[Length, Field(description="thinnest line", ge=0)] = Points(0.25)
    multi_ink_line: Annotated[
        Length, Field(description="thinnest line in more than one ink", ge=0)
    ] = Points(0.5)


class Overs(Frozen):
    """How many more than asked for are printed: ``5%``, or fields."""

    percent: Annotated[Percent, Field(ge=0, le=100)] = 0.0
    at_least: Annotated[int, Field(ge=0)] = 0

    @model_validator(mode="before")
    @classmethod
    def _from_text(cls, value: Any) -> Any:
        """Read ``5%``; a bare ``5`` can be percent or pieces."""
        if not isinstance(value, str):
            return value
        if "%" not in value:
            raise ValueError(
                f"{shown(value)} can be percent or pieces: write '5%', or {{at_least: 5}}"
            )
        return {"percent": value}

    def on(self, quantity: int) -> int:
        """Return how many overs belong to a quantity."""
        share = -(-quantity * self.percent // 100)
        return max(int(share), self.at_least)


class PaperCutter(Frozen):
    """The guillotine that cuts the sheets."""

    least: Annotated[
        Length,
        Field(
            description="least setting: how near its clamp comes to the back gauge, commonly 20 to "
            "35 mm",
            gt=0,
        ),
    ] = Points(LEAST_SETTING_PT)


class Vendor(Frozen):
    """Who prints: one profile, written in the order or made by a plugin."""

    kind: Annotated[
        str,
        Field(description="a kind that a plugin offers; then the other fields are that kind's"),
    ] = ""
    title: str = ""
    delivers: Annotated[
        Delivers, Field(description="'sheets': the order lays them; 'pieces': the vendor does")
    ] = Delivers.PIECES
    devices: Annotated[dict[str, Device], Field(min_length=1)]
    bleed: Annotated[Length, Field(description="bleed that it wants", ge=0)] = inches(1 / 8)
    safe_area: Annotated[Length, Field(description="type stays this far inside the trim", ge=0)] = (
        inches(1 / 8)
    )
    gutter: Annotated[Length, Field(description="between trims on a sheet", ge=0)] = inches(1 / 4)
    shared_bleed: Annotated[
        bool,
        Field(
            description="neighbours on a sheet share one bleed, of which each keeps half, in place "
            "of the gutter: less paper, for a guillotine that cuts true"
        ),
    ] = False
    cutter: Annotated[PaperCutter, Field(description="the guillotine that cuts its sheets")] = (
        PaperCutter()
    )
    max_layouts: Annotated[
        int | None, Field(description="most different sheets of one stock; each takes plates", ge=1)
    ] = None
    costs: Annotated[
        Costs | None,
        Field(
            description="what work costs, in sheets' worth: then paper and work together are to "
            "cost the least; left out: the fewest sheets, then the fewest layouts"
        ),
    ] = None
    mark_ink: Annotated[
        Literal["black", "all"],
        Field(description="ink of the marks; 'all' shows misregister, on presses"),
    ] = "black"
    marks: Annotated[bool, Field(description="crop marks wanted")] = True
    frame: Annotated[
        Length | None,
        Field(
            description="kept free round the pieces on a sheet, for marks; left out: what whole "
            "marks need, or less where that would cost a sheet; 0: the fewest sheets, with marks "
            "where room is left",
            ge=0,
        ),
    ] = None
    sample_bleed: Annotated[
        bool, Field(description="sample sheets are ordered as pieces with bleed")
    ] = False
    samples_share: Annotated[
        bool,
        Field(
            description="sample sheets of its devices for one stock share the large sheets that "
            "they are cut out of, which go through one device after the other"
        ),
    ] = False
    control_card: Annotated[
        SizeField | None,
        Field(
            description="size of a card with the control swatches that it prints beside the pieces "
            "on each of their stocks, so that a conversion of colours is seen; left out: none"
        ),
    ] = None
    file_per: FilePer = FilePer.PIECE
    file_name: Annotated[
        str,
        Field(description="from {order}, {vendor}, {piece}, {side}, {device} and {stock}"),
    ] = "{order}-{piece}"
    pdf: PdfRules = PdfRules()
    artwork: ArtworkLimits = ArtworkLimits()
    levels: dict[str, Severity] = Field(
        default_factory=dict,
        description="how much findings of the checks matter to it: code → `error` (holds the "
        "piece), `warning` or `note`; others as usual",
    )
    spots: Spots = Spots.PROCESS
    tints: Tints = Tints.MATCHED
    finishes: FinishesTaken = Field(default_factory=dict)
    overs: Overs = Overs()
    lead_days: Annotated[int, Field(description="working days that it needs", ge=0)] = 0
    prices: PricesField = None
    notes: Annotated[str, Field(description="printed on its order sheet")] = ""

    @field_validator("file_name")
    @classmethod
    def _words_are_known(cls, text: str) -> str:
        for word in re.findall(r"{(.*?)}", text):
            if word not in FILE_NAME_WORDS:
                raise ValueError(
                    f"{{{word}}} stands for nothing: expected "
                    + ", ".join(f"{{{known}}}" for known in FILE_NAME_WORDS)
                )
        return text

    @property
    def is_paid(self) -> bool:
        """Whether its work is paid, as far as can be told.

        What states no price, and prints in no working days what the order has laid on sheets, is
        taken for a device of the studio's own.
        """
        return self.prices is not None or self.lead_days > 0 or self.delivers is not Delivers.SHEETS

    def file_named(self, **words: str) -> str:
        """Return a file's name from the pattern, without ``.pdf``.

        ``words`` are FILE_NAME_WORDS; a side is added where it has no place.
        """
        side = words.get("side") and "{side}" not in self.file_name
        text = self.file_name + ("-{side}" if side else "")
        for word in FILE_NAME_WORDS:
            text = text.replace(f"{{{word}}}", words.get(word, ""))
        return safe_name(text)


class Quote(Frozen):
    """What a vendor would ask that prints nothing of the order."""

    title: str = ""
    pieces: Annotated[
        tuple[str, ...],
        Field(description="those that it could print; left out: all that its tables cover"),
    ] = ()
    sheets: Annotated[
        tuple[SizeField, ...],
        Field(
            description="sizes of the sheets on which it lays pieces, where it is paid by the "
            "sheet; left out: it is paid by the piece"
        ),
    ] = ()
    overs: Overs = Overs()
    prices: Annotated[Prices, Field(description="by the piece, or by the sheet: see `sheets`")]
