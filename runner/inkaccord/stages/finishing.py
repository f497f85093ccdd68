"""The last touch to a print file: the PDF standard that its vendor wants."""

import datetime

from inkaccord.artwork.finishing.pdfx import PdfxSettings, make_pdfx4
from inkaccord.diagnostics import Diagnostic
from inkaccord.files import read_bytes
from inkaccord.order.vendors import Vendor
from inkaccord.stages.bench import Bench


def as_wanted(
    bench: Bench, vendor: Vendor, data: bytes, name: str
) -> tuple[bytes, tuple[Diagnostic, ...]]:
    """Return a print file as PDF/X-4 where the vendor asks for it, and what is still missing.

    Raises FileError when the vendor's output profile can't be read.
    """
    if vendor.pdf.standard != "pdf/x-4":
        return data, ()
    order = bench.order
    profile = None
    if vendor.pdf.output_profile is not None:
        profile = read_bytes(bench.loaded.folder / vendor.pdf.output_profile)
    settings = PdfxSettings(
        condition=vendor.pdf.output_condition or "Custom",
        title=f"{order.order} {name}",
        when=datetime.datetime.combine(order.date, datetime.time(), datetime.UTC),
    )
    return make_pdfx4(data, settings, profile=profile, name=name)
