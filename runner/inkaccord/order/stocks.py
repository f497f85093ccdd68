"""Stocks: papers and envelopes."""

import re
from enum import StrEnum
from typing import Annotated

from pydantic import AfterValidator, Field

from inkaccord.models import Frozen
from inkaccord.order.colours import GivenLab
from inkaccord.sizes import SizeField
from inkaccord.written import shown

_WEIGHT = re.compile(r"^\s*\d+(\.\d+)?\s*(g/m2|g/m²|gsm|lb(\s+(text|cover|bond|index))?)\s*$", re.I)


def _weight(text: str) -> str:
    if not _WEIGHT.match(text):
        raise ValueError(f"{shown(text)} is not a weight: expected '300 g/m2' or '110 lb cover'")
    return text


class StockKind(StrEnum):
    """How a stock comes."""

    SHEET = "sheet"
    """Sheets, which several pieces are cut from."""
    CARD = "card"
    """Cards cut to size, fed one by one."""
    ENVELOPE = "envelope"
    """Made-up envelopes, fed one by one."""


class Grain(StrEnum):
    """The run of the fibres."""

    LONG = "long"
    """Along the long side."""
    SHORT = "short"
    """Along the short side."""


class Stock(Frozen):
    """A paper or envelope."""

    kind: StockKind = StockKind.SHEET
    size: SizeField
    weight: Annotated[
        Annotated[str, AfterValidator(_weight)] | None,
        Field(description="'300 g/m2' or '110 lb cover'"),
    ] = None
    colour: Annotated[
        GivenLab | None,
        Field(
            description="the paper itself, if it was read; a reading replaces it; with `under` the "
            "bare stock, which pictures show where no white lies"
        ),
    ] = None
    grain: Grain | None = None
    directional: Annotated[
        bool,
        Field(description="its look has a direction (laid lines, a watermark): no piece is turned"),
    ] = False
    under: Annotated[
        str | None,
        Field(
            description="a white of the order's finishes that lies under all ink on it: a stock of "
            "its own beside the bare one, since colours come out otherwise on it, and its sample "
            "sheets carry the white plate; for devices in CMYK"
        ),
    ] = None
    description: str = ""

    @property
    def ground(self) -> GivenLab | None:
        """The colour that ink lies on; None where the order does not say: of a white under it."""
        return None if self.under else self.colour

    @property
    def bare(self) -> GivenLab | None:
        """The colour beside the white that lies under its ink; None where there is no white."""
        return self.colour if self.under else None
