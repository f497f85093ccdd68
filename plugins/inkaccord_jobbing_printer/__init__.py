"""A kind of vendor: a jobbing printer, with one press for cards and another for envelopes.

Shows a profile with two devices. Colour knowledge belongs to a pair, so one build would come out
as two colours here; each press has its own name, stocks and limits.
"""

from collections.abc import Sequence
from typing import Annotated, Literal

from pydantic import Field

from inkaccord.plugin import (
    Delivers,
    Device,
    Edge,
    FinishesTaken,
    Frozen,
    Length,
    Overs,
    PaperCutter,
    Percent,
    PricesField,
    SizeField,
    Turning,
    Vendor,
    VendorKind,
    hookimpl,
    inches,
    millimetres,
)


class CardPress(Frozen):
    """The press for cards."""

    device: str
    stocks: tuple[str, ...] = ()
    sheets: Annotated[tuple[SizeField, ...], Field(min_length=1)]
    gripper: Annotated[Length, Field(description="what the gripper covers", ge=0)] = millimetres(10)
    side_lay: Annotated[
        Literal["left", "right"] | None, Field(description="edge that it lays at its side guide")
    ] = None
    turning: Turning = Turning.WORK_AND_TURN
    ink_limit: Annotated[Percent, Field(ge=100, le=400)] = 300


class EnvelopePress(Frozen):
    """The machine for envelopes."""

    device: str
    stocks: tuple[str, ...] = ()
    margin: Annotated[Length, Field(description="rim that it can't print", ge=0)] = millimetres(5)
    ink_limit: Annotated[Percent, Field(ge=100, le=400)] = 220


class Options(Frozen):
    """The two presses, and how the shop works."""

    title: str = ""
    cards: CardPress
    envelopes: EnvelopePress
    overs: Annotated[Percent, Field(description="overs in percent", ge=0, le=100)] = 4
    lead_days: Annotated[int, Field(description="working days", ge=0)] = 7
    finishes: FinishesTaken = Field(default_factory=dict)
    prices: PricesField = None
    cutter: Annotated[PaperCutter, Field(description="the guillotine that cuts its sheets")] = (
        PaperCutter()
    )


def _profile(name: str, options: Options) -> Vendor:
    if options.cards.device == options.envelopes.device:
        raise ValueError(
            f"'{options.cards.device}' names both presses: give each a name of its own, because "
            "each prints a build as another colour"
        )
    return Vendor(
        title=options.title or name,
        delivers=Delivers.SHEETS,
        devices={
            options.cards.device: Device(
                stocks=options.cards.stocks,
                sheets=options.cards.sheets,
                gripper=Edge.BOTTOM,
                gripper_margin=options.cards.gripper,
                side_lay=None if options.cards.side_lay is None else Edge(options.cards.side_lay),
                turning=options.cards.turning,
                ink_limit=options.cards.ink_limit,
            ),
            options.envelopes.device: Device(
                stocks=options.envelopes.stocks,
                margin=options.envelopes.margin,
                feeds="short-edge",
                flap="down",
                ink_limit=options.envelopes.ink_limit,
            ),
        },
        bleed=inches(1 / 8),
        overs=Overs(percent=options.overs),
        lead_days=options.lead_days,
        finishes=options.finishes,
        cutter=options.cutter,
        prices=options.prices,
        notes="Two presses: run each file on the one that it names, and ask before a job moves.",
    )


@hookimpl
def inkaccord_vendor_kinds() -> Sequence[VendorKind]:
    """Offer the kind ``jobbing-printer``."""
    return [
        VendorKind(
            name="jobbing-printer",
            options=Options,
            profile=_profile,
            summary="a jobbing printer: one press for cards, another for envelopes",
        )
    ]
