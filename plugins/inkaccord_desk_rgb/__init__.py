"""A kind of vendor: the studio's own machine, driven in RGB; the driver mixes the inks.

Shows a vendor kind with a check of its own: such a machine must be sent no CMYK, because its
driver would convert it by rules that no sample sheet has seen.
"""

import io
import re
from collections.abc import Sequence
from typing import Annotated

import pikepdf
from pydantic import Field

from inkaccord.colour.builds import Drive
from inkaccord.diagnostics import Diagnostic, Place, warning
from inkaccord.hooks import ArtworkSubject, hookimpl
from inkaccord.models import Frozen
from inkaccord.order.kinds import VendorKind
from inkaccord.order.vendors import Delivers, Device, Turning, Vendor
from inkaccord.sizes import SizeField
from inkaccord.units import Length, millimetres

_CMYK_OPERATOR = re.compile(rb"(?<![\w./])[kK](?=[\s\[(<%/]|$)")


class Options(Frozen):
    """What the owner of the machine knows about it."""

    device: Annotated[str, Field(description="name that its colour knowledge is kept under")]
    setting: Annotated[str, Field(description="paper type and quality chosen in the driver")] = ""
    sheets: Annotated[tuple[SizeField, ...], Field(description="sheet sizes", min_length=1)]
    margin: Annotated[Length, Field(description="rim that it can't print", ge=0)] = millimetres(3)
    borderless: Annotated[bool, Field(description="prints to the edge; makes margin 0")] = False


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
                stale_after_days=180,  # inkjet inks and heads change faster than a press
            )
        },
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
    """Report pages that still paint in CMYK for a device driven in RGB."""
    if subject.order.device(subject.piece.device).drive is not Drive.RGB:
        return ()
    findings = []
    with pikepdf.open(io.BytesIO(subject.data)) as pdf:
        for number, page in enumerate(pdf.pages, start=1):
            page.contents_coalesce()
            if "/Contents" in page and _CMYK_OPERATOR.search(page.Contents.read_bytes()):
                findings.append(
                    warning(
                        "cmyk-to-rgb-device",
                        "a colour is written in CMYK, but the device is driven in RGB: its driver "
                        "will convert it by its own rules",
                        place=Place(page=number, field=f"pieces.{subject.name}"),
                        hint="make it a brand colour, or accept the driver's black and white "
                        "with 'waive'",
                    )
                )
    return findings
