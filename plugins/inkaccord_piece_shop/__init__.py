"""A kind of vendor: a shop that takes single pieces with bleed and lays its own sheets.

Shows a delivery of its own: the shop wants a table of the files beside them.
"""

import csv
import io
from collections.abc import Sequence
from typing import Annotated

from pydantic import Field

from inkaccord.plugin import (
    Delivers,
    Device,
    FinishesTaken,
    Frozen,
    Length,
    Order,
    OutFile,
    Overs,
    PdfRules,
    Percent,
    PricesField,
    Run,
    SizeField,
    Vendor,
    VendorKind,
    hookimpl,
    inches,
)

KIND = "piece-shop"
_NOTE = "Lay the pieces on sheets of your own; trim to the TrimBox."


class Options(Frozen):
    """What the shop asks for."""

    title: str = ""
    device: Annotated[str, Field(description="name that its colour knowledge is kept under")]
    stocks: Annotated[tuple[str, ...], Field(description="stocks of the order that it takes")] = ()
    bleed: Annotated[Length, Field(description="bleed on every side", ge=0)] = inches(1 / 8)
    ink_limit: Annotated[Percent, Field(description="total ink, percent", ge=100, le=400)] = 280
    overs: Annotated[Percent, Field(description="overs in percent", ge=0, le=100)] = 5
    lead_days: Annotated[int, Field(description="working days", ge=0)] = 5
    finishes: FinishesTaken = Field(default_factory=dict)
    prices: PricesField = None
    pdf: PdfRules = PdfRules()
    control_card: Annotated[
        SizeField | None,
        Field(description="size of a card with the control swatches that it prints beside"),
    ] = None


def _profile(name: str, options: Options) -> Vendor:
    return Vendor(
        title=options.title or name,
        delivers=Delivers.PIECES,
        devices={options.device: Device(stocks=options.stocks, ink_limit=options.ink_limit)},
        bleed=options.bleed,
        marks=False,
        sample_bleed=True,
        control_card=options.control_card,
        file_name="{order}_{piece}_{stock}",
        pdf=options.pdf,
        overs=Overs(percent=options.overs),
        lead_days=options.lead_days,
        finishes=options.finishes,
        prices=options.prices,
        notes=_NOTE,
    )


@hookimpl
def inkaccord_vendor_kinds() -> Sequence[VendorKind]:
    """Offer the kind ``piece-shop``."""
    return [
        VendorKind(
            name=KIND,
            options=Options,
            profile=_profile,
            summary="a shop that takes single pieces with bleed",
        )
    ]


@hookimpl
def inkaccord_deliver(order: Order, run: Run) -> Sequence[OutFile]:
    """Add ``files.csv`` to the folder of each vendor of this kind: file, quantity, stock."""
    tables = []
    for name, vendor in order.vendors.items():
        if vendor.kind != KIND:
            continue
        text = io.StringIO()
        rows = csv.writer(text, lineterminator="\r\n")
        rows.writerow(["file", "piece", "quantity", "overs", "stock", "width mm", "height mm"])
        pieces = {piece.name: piece for piece in run.pieces if piece.vendor == name}
        for file in run.files:
            if file.vendor != name or file.what != "print":
                continue
            for piece in (pieces[piece] for piece in file.pieces):
                size = [f"{side:.2f}" for side in piece.trim_mm]
                path = file.path.rpartition("/")[2]
                rows.writerow([path, piece.name, piece.quantity, piece.overs, piece.stock, *size])
        tables.append(OutFile(f"{name}/files.csv", text.getvalue().encode(), "list", vendor=name))
    return tables
