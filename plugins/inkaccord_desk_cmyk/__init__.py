"""A kind of vendor: the studio's own machine, driven in CMYK.

Shows the least that a vendor plugin needs: options, and a profile made from them.
"""

from collections.abc import Sequence
from typing import Annotated

from pydantic import Field

from inkaccord.plugin import (
    Delivers,
    Device,
    DriftTolerance,
    Drive,
    Frozen,
    Length,
    Overs,
    PaperCutter,
    Percent,
    PricesField,
    SizeField,
    StaleAfterDays,
    Turning,
    Vendor,
    VendorKind,
    WhenDrifted,
    hookimpl,
    millimetres,
)


class Options(Frozen):
    """What the owner of the machine knows about it."""

    device: Annotated[str, Field(description="name that its colour knowledge is kept under")]
    setting: Annotated[str, Field(description="driver setting, such as 'heavy card, best'")] = ""
    sheets: Annotated[
        tuple[SizeField, ...], Field(description="sheet sizes that its tray takes", min_length=1)
    ]
    margin: Annotated[Length, Field(description="rim that it can't print", ge=0)] = millimetres(4.2)
    ink_limit: Annotated[
        Percent, Field(description="total ink before toner flakes, percent", ge=100, le=400)
    ] = 260
    duplex: Annotated[
        bool, Field(description="turns the sheet itself; if not, sheets are turned by hand")
    ] = True
    spare: Annotated[int, Field(description="overs for set-up and slips", ge=0)] = 3
    prices: PricesField = None
    cutter: Annotated[PaperCutter, Field(description="the guillotine that cuts its sheets")] = (
        PaperCutter()
    )
    stale_after_days: StaleAfterDays = 365
    drift_tolerance: DriftTolerance = 2.0
    when_drifted: WhenDrifted = WhenDrifted.RE_ANCHOR


def _profile(name: str, options: Options) -> Vendor:
    return Vendor(
        title=name,
        delivers=Delivers.SHEETS,
        devices={
            options.device: Device(
                drive=Drive.CMYK,
                setting=options.setting,
                sheets=options.sheets,
                margin=options.margin,
                ink_limit=options.ink_limit,
                turning=Turning.LONG_EDGE if options.duplex else Turning.SHEETWISE,
                stale_after_days=options.stale_after_days,
                drift_tolerance=options.drift_tolerance,
                when_drifted=options.when_drifted,
            )
        },
        cutter=options.cutter,
        overs=Overs(at_least=options.spare),
        prices=options.prices,
        notes="Print at 100 %, colour management off, no scaling.",
    )


@hookimpl
def inkaccord_vendor_kinds() -> Sequence[VendorKind]:
    """Offer the kind ``desk-cmyk``."""
    return [
        VendorKind(
            name="desk-cmyk",
            options=Options,
            profile=_profile,
            summary="a machine in the studio, driven in CMYK",
        )
    ]
