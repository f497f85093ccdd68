"""What a vendor asks of a file besides its colours: layers, outlines, the PDF standard."""

import datetime

from inkaccord.artwork.finishing.layers import flatten_layers
from inkaccord.artwork.finishing.outlines import outline_type
from inkaccord.artwork.finishing.overprint import set_overprint
from inkaccord.artwork.finishing.pdfx import PdfxSettings, make_pdfx4
from inkaccord.diagnostics import Diagnostic
from inkaccord.order.finishes import OverprintRule
from inkaccord.order.model import Order
from inkaccord.order.vendors import Vendor
from inkaccord.run.bench import Bench


def without_layers_and_type(
    vendor: Vendor, data: bytes, name: str
) -> tuple[bytes, tuple[Diagnostic, ...]]:
    """Return a piece's copy without layers and type where its vendor asks so, as far as it goes.

    What could not be done stays as it is, with a finding that says why; the checks before release
    then find it too.
    """
    findings: tuple[Diagnostic, ...] = ()
    if vendor.pdf.layers == "flatten":
        made, said = flatten_layers(data, name=name)
        data, findings = made or data, (*findings, *said)
    if vendor.pdf.fonts == "outlined":
        made, said = outline_type(data, name=name)
        data, findings = made or data, (*findings, *said)
    return data, findings


def with_overprint(order: Order, data: bytes, name: str) -> tuple[bytes, tuple[Diagnostic, ...]]:
    """Return a copy with the plates of finishes set as the order sets them, if it does."""
    asked = {
        plate: finish.overprint is OverprintRule.OVERPRINT
        for finish in order.finishes.values()
        for plate in finish.plates
        if finish.overprint not in {None, OverprintRule.AS_DRAWN}
    }
    if not asked:
        return data, ()
    made, said = set_overprint(data, asked, name)
    return made or data, said


_NO_PROFILE = (
    "name the profile of the vendor's printing condition as 'output_profile', in the inks that it "
    "prints"
)
_NOT_TO_STANDARD = {
    "pdfx-output-intent": _NO_PROFILE,
    "pdfx-colour": f"{_NO_PROFILE}; or change this in the artwork",
}
"""What mends a print file, by what it is found to lack: to export it as PDF/X-4 is our own part."""


def made_to_standard(
    bench: Bench, vendor: Vendor, data: bytes, name: str
) -> tuple[bytes, tuple[Diagnostic, ...]]:
    """Return a print file as PDF/X-4 where the vendor asks for it, and what is still missing.

    Raises FileError when the vendor's output profile can't be read.
    """
    if vendor.pdf.standard != "pdf/x-4":
        return data, ()
    order = bench.order
    given = vendor.pdf.output_profile
    profile = None if given is None else bench.given(given)
    settings = PdfxSettings(
        condition=vendor.pdf.output_condition or "Custom",
        title=f"{order.order} {name}",
        when=datetime.datetime.combine(order.date, datetime.time(), datetime.UTC),
    )
    made, left = make_pdfx4(data, settings, profile=profile, name=name)
    return made, tuple(_to_mend(it) for it in left)


def _to_mend(left: Diagnostic) -> Diagnostic:
    hint = _NOT_TO_STANDARD.get(left.code, "change this in the artwork, and run again")
    return left.model_copy(update={"in_program": None, "hint": hint})
