"""A kind of vendor: the studio's own machine, driven in RGB; the driver mixes the inks.

Shows a vendor kind with a check of its own: a page that is blended in CMYK is converted on its way
to such a machine, by rules that no sample sheet has seen.
"""

import io
from collections.abc import Sequence
from typing import Annotated

from pydantic import Field

from inkaccord.plugin import (
    ArtworkSubject,
    Delivers,
    Device,
    Diagnostic,
    DriftTolerance,
    Drive,
    Frozen,
    Length,
    PaperCutter,
    Place,
    PricesField,
    SizeField,
    StaleAfterDays,
    Turning,
    Vendor,
    VendorKind,
    WhenDrifted,
    hookimpl,
    millimetres,
    warning,
)


class Options(Frozen):
    """What the owner of the machine knows about it."""

    device: Annotated[str, Field(description="name that its colour knowledge is kept under")]
    setting: Annotated[str, Field(description="paper type and quality chosen in the driver")] = ""
    sheets: Annotated[tuple[SizeField, ...], Field(description="sheet sizes", min_length=1)]
    margin: Annotated[Length, Field(description="rim that it can't print", ge=0)] = millimetres(3)
    borderless: Annotated[bool, Field(description="prints to the edge; makes margin 0")] = False
    prices: PricesField = None
    cutter: Annotated[PaperCutter, Field(description="the guillotine that cuts its sheets")] = (
        PaperCutter()
    )
    stale_after_days: StaleAfterDays = 180
    """Inkjet inks and heads change faster than a press."""
    drift_tolerance: DriftTolerance = 2.0
    when_drifted: WhenDrifted = WhenDrifted.RE_ANCHOR


def _profile(name: str, options: Options) -> Vendor:
    return Vendor(
        title=name,
        delivers=Delivers.SHEETS,
        devices={
            options.device: Device(
                drive=Drive.RGB,
                setting=options.setting,
                sheets=options.sheets,
                margin=0 if options.borderless else options.margin,
                turning=Turning.SHEETWISE,
                stale_after_days=options.stale_after_days,
                drift_tolerance=options.drift_tolerance,
                when_drifted=options.when_drifted,
            )
        },
        cutter=options.cutter,
        prices=options.prices,
        notes="Print at 100 %, the driver's own colour adjustment off, no scaling.",
    )


@hookimpl
def inkaccord_vendor_kinds() -> Sequence[VendorKind]:
    """Offer the kind ``desk-rgb``."""
    return [
        VendorKind(
            name="desk-rgb",
            options=Options,
            profile=_profile,
            summary="a machine in the studio, driven in RGB",
        )
    ]


@hookimpl
def inkaccord_check_artwork(subject: ArtworkSubject) -> Sequence[Diagnostic]:
    """Report pages that are blended in CMYK before a device driven in RGB gets them."""
    if subject.job.device.drive is not Drive.RGB:
        return ()
    import pikepdf  # noqa: PLC0415 - slow to load: only what looks at artwork pays for it

    findings = []
    with pikepdf.open(io.BytesIO(subject.data)) as pdf:
        for number, page in enumerate(pdf.pages, start=1):
            group = page.obj.get("/Group")
            space = group.get("/CS") if isinstance(group, pikepdf.Dictionary) else None
            if space == pikepdf.Name.DeviceCMYK:
                findings.append(
                    warning(
                        "blended-in-cmyk",
                        "the page is blended in CMYK, but the device is driven in RGB: whatever "
                        "shows the page converts all of it by rules of its own",
                        place=Place(page=number, field=f"pieces.{subject.job.name}"),
                        in_program="set the document's colour mode to RGB and export again, or "
                        "export without transparency",
                    )
                )
    return findings
