"""What a vendor asks of a file besides its colours is made, or said not to be."""

import io

import pikepdf
import pytest

from inkaccord.artwork.finishing import outlines
from inkaccord.artwork.preflight import ArtworkRules, preflight
from inkaccord.order.vendors import Vendor
from inkaccord.prepress.finishing import without_layers_and_type
from outside import need_program
from page_kit import embedded_font, finish
from report_kit import example_order


def vendor(**rules: str) -> Vendor:
    one = next(iter(example_order().vendors.values()))
    return one.model_copy(update={"pdf": one.pdf.model_copy(update=rules)})


def artwork() -> bytes:
    """Return a page with a word on a layer."""
    with pikepdf.new() as pdf:
        group = pdf.make_indirect(
            pikepdf.Dictionary(Type=pikepdf.Name.OCG, Name=pikepdf.String("Words"))
        )
        pdf.Root["/OCProperties"] = pikepdf.Dictionary(OCGs=[group], D=pikepdf.Dictionary())
        content = "/OC /L BDC 0 0 0 1 k BT /T 30 Tf 40 200 Td (Boat) Tj ET EMC"
        return finish(
            pdf, content, Font=pikepdf.Dictionary(T=embedded_font(pdf)),
            Properties=pikepdf.Dictionary(L=group),
        )  # fmt: skip


def has_layers(data: bytes) -> bool:
    with pikepdf.open(io.BytesIO(data)) as pdf:
        return "/OCProperties" in pdf.Root


def codes(data: bytes) -> set[str]:
    rules = ArtworkRules(fonts="outlined", layers="flatten")
    return {it.code for it in preflight(data, rules)} & {"layers", "font-not-outlined"}


def test_a_vendor_that_asks_for_nothing_gets_the_same_bytes() -> None:
    data = artwork()
    assert without_layers_and_type(vendor(layers="keep"), data, "card") == (data, ())
    assert codes(data) == {"layers", "font-not-outlined"}


def test_layers_and_type_are_made_as_asked_and_the_checks_agree() -> None:
    need_program("gs", "ghostscript")
    data, findings = without_layers_and_type(
        vendor(layers="flatten", fonts="outlined"), artwork(), "card"
    )
    assert [it.code for it in findings] == ["layers-flattened", "type-outlined"]
    assert not has_layers(data)
    assert codes(data) == set()


def test_what_cannot_be_made_stays_and_is_found_by_the_checks(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(outlines, "ghostscript_path", lambda: None)
    data, findings = without_layers_and_type(
        vendor(layers="flatten", fonts="outlined"), artwork(), "card"
    )
    assert [it.code for it in findings] == ["layers-flattened", "type-kept"]
    assert codes(data) == {"font-not-outlined"}
