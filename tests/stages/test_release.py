"""Every finding about a copy says which piece it is about, and may be waived by name."""

from types import SimpleNamespace

import pytest
import yaml

from inkaccord.diagnostics import Place, Severity, error, note, warning
from inkaccord.guards import named
from inkaccord.run.recoloured import ProofSummary, Recoloured, RecolouredPiece
from inkaccord.stages.release import check_artworks, waivers_without_use
from inkaccord.workbench import silent
from report_kit import example_order


@pytest.mark.parametrize("waived", [False, True])
def test_findings_of_making_and_of_checking_name_the_piece(waived: bool) -> None:
    order = example_order()
    name = next(iter(order.pieces))
    if waived:
        piece = order.pieces[name].model_copy(update={"waive": {"type-kept": "agreed by phone"}})
        order = order.model_copy(update={"pieces": {**order.pieces, name: piece}})
    made = warning("type-kept", "type stays type", place=Place(page=2))
    seen = named("mine", note("layers", "2 layers", place=Place(page=1)))
    copy = RecolouredPiece(
        piece=name, data=b"", proof=ProofSummary(passed=True, lines=()), findings=(made,)
    )
    found = check_artworks(order, Recoloured(pieces=(copy,)), lambda _: [seen], silent)
    first, second = found[name]
    assert (first.place.field, first.place.page, first.code) == (name, 2, "type-kept")
    assert (second.place.field, second.place.page, second.source) == (name, 1, "mine")
    assert first.severity is (Severity.NOTE if waived else Severity.WARNING)
    assert ("agreed by phone" in (first.hint or "")) is waived


def test_an_error_of_the_checks_shows_the_line_that_accepts_it() -> None:
    order = example_order()
    name = next(iter(order.pieces))
    copy = RecolouredPiece(
        piece=name, data=b"", proof=ProofSummary(passed=True, lines=()), findings=()
    )
    wrong = error("no-bleed", "colour runs to the cut", hint="draw it on")
    found = check_artworks(order, Recoloured(pieces=(copy,)), lambda _: [wrong], silent)
    (finding,) = found[name]
    assert (finding.hint or "").startswith("draw it on\nor")
    line = (finding.hint or "").partition("in the order: ")[2]
    assert yaml.safe_load(line) == {f"pieces.{name}.waive.no-bleed": "why it is all right"}


def test_a_vendor_says_what_a_finding_of_any_check_matters() -> None:
    order = example_order()
    name = next(iter(order.pieces))
    vendor = order.jobs[name].vendor_name
    strict = order.vendors[vendor].model_copy(
        update={"levels": {"layers": Severity.ERROR, "type-kept": Severity.ERROR}}
    )
    order = order.model_copy(update={"vendors": {**order.vendors, vendor: strict}})
    made = warning("type-kept", "type stays type")
    copy = RecolouredPiece(
        piece=name, data=b"", proof=ProofSummary(passed=True, lines=()), findings=(made,)
    )
    seen = named("mine", note("layers", "2 layers"))
    found = check_artworks(order, Recoloured(pieces=(copy,)), lambda _: [seen], silent)
    # What recolouring says is no check's to weigh.
    assert [it.severity for it in found[name]] == [Severity.WARNING, Severity.ERROR]


def test_what_was_waived_when_stock_was_taken_is_no_waiver_without_use() -> None:
    order = example_order()
    name = next(iter(order.pieces))
    piece = order.pieces[name].model_copy(update={"waive": {"spot-two-builds": "one plate"}})
    order = order.model_copy(update={"pieces": {**order.pieces, name: piece}})
    bench = SimpleNamespace(place=lambda *path: Place(field=".".join(path)))
    assert [it.code for it in waivers_without_use(order, {name: ()}, bench)] == ["unused-waiver"]  # type: ignore[arg-type]  # places are all it asks for
    assert not waivers_without_use(order, {name: ()}, bench, {"spot-two-builds"})  # type: ignore[arg-type]  # as above
