"""Every finding about a copy says which piece it is about, and may be waived by name."""

import pytest
import yaml

from inkaccord.diagnostics import Place, Severity, error, note, warning
from inkaccord.guards import named
from inkaccord.run.recoloured import ProofSummary, Recoloured, RecolouredPiece
from inkaccord.stages.release import check_artworks
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
