"""Every finding about a copy says which piece it is about, and may be waived by name."""

from types import SimpleNamespace

import pytest
import yaml

from inkaccord.diagnostics import Diagnostic, Place, Severity, error, note, warning
from inkaccord.run.recoloured import ProofSummary, Recoloured, RecolouredPiece
from inkaccord.stages.release import check_artworks
from report_kit import example_order

BENCH = SimpleNamespace(order=example_order(), progress=lambda _: None)


def plugins(given: list[tuple[str, Diagnostic]]) -> SimpleNamespace:
    def each(_name: str, _kind: type, *, trouble: list[Diagnostic], **_: object) -> list[object]:
        return list(given)

    return SimpleNamespace(each=each)


@pytest.mark.parametrize("waived", [False, True])
def test_findings_of_making_and_of_checking_name_the_piece(waived: bool) -> None:
    order = example_order()
    name = next(iter(order.pieces))
    if waived:
        piece = order.pieces[name].model_copy(update={"waive": {"type-kept": "agreed by phone"}})
        order = order.model_copy(update={"pieces": {**order.pieces, name: piece}})
    made = warning("type-kept", "type stays type", place=Place(page=2))
    seen = note("layers", "2 layers", place=Place(page=1))
    copy = RecolouredPiece(
        piece=name, data=b"", proof=ProofSummary(passed=True, lines=()), findings=(made,)
    )
    found = check_artworks(order, Recoloured(pieces=(copy,)), BENCH, plugins([("mine", seen)]))  # type: ignore[arg-type]  # what is asked of a bench
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
    found = check_artworks(order, Recoloured(pieces=(copy,)), BENCH, plugins([("mine", wrong)]))  # type: ignore[arg-type]  # what is asked of a bench
    (finding,) = found[name]
    assert (finding.hint or "").startswith("draw it on; or")
    line = (finding.hint or "").partition("in the order: ")[2]
    assert yaml.safe_load(line) == {f"pieces.{name}.waive.no-bleed": "why it is all right"}
