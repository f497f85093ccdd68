"""All checks in a row, and what a plugin adds."""

from collections.abc import Iterable
from pathlib import Path

import pikepdf
import pytest

from check_kit import CLEAN, RULES, TRIM, found
from inkaccord.artwork.inventory.inventory import inventory
from inkaccord.artwork.preflight import (
    CHECKS,
    ArtworkRules,
    OpenArtwork,
    PreflightContext,
    case,
    preflight,
)
from inkaccord.artwork.recolouring.recolour import parse_swap, recolour
from inkaccord.diagnostics import Diagnostic, Severity, warning
from inkaccord.errors import FileError
from inkaccord.layout.sources import ArtworkForms
from inkaccord.pdf.opening import pdf_bytes
from outside import shared_pdfs
from page_kit import changed, drawn, written


def test_clean_artwork_has_no_findings() -> None:
    assert preflight(written(CLEAN, TRIM), RULES) == ()


def test_findings_say_file_page_code_and_mend_and_errors_come_first(tmp_path: Path) -> None:
    path = tmp_path / "card.pdf"
    loose = {**TRIM, "BleedBox": [30.0, 30.0, 170.0, 270.0]}
    path.write_bytes(written("0.1 w 50 50 m 90 50 l S 20 100 50 50 re f", loose))
    findings = preflight(path, RULES)
    assert len(findings) >= 3
    assert all(one.place.file == str(path) and one.mends for one in findings)
    order = [list(Severity).index(one.severity) for one in findings]
    assert order == sorted(order)


def test_a_path_given_as_text_is_a_path(tmp_path: Path) -> None:
    path = tmp_path / "card.pdf"
    path.write_bytes(written(CLEAN, TRIM))
    assert preflight(str(path), RULES) == preflight(path, RULES)
    assert inventory(str(path)) == inventory(path)
    swaps = [parse_swap("cmyk 85 20 60 30 = cmyk 78 12 55 41")]
    assert recolour(str(path), swaps).data == recolour(path, swaps).data
    assert pdf_bytes(str(path)) == path.read_bytes()
    with ArtworkForms({"card": str(path)}) as forms:
        assert forms.page_count("card") == 1
    for read in (preflight, inventory, pdf_bytes):
        with pytest.raises(FileError) as problem:
            read(str(tmp_path / "none.pdf"), *([RULES] if read is preflight else []))
        assert "none.pdf" in str(problem.value)


def test_a_check_from_outside_runs_with_the_others() -> None:
    def no_green(
        artwork: OpenArtwork, rules: ArtworkRules, context: PreflightContext
    ) -> Iterable[Diagnostic]:
        for mark in artwork.marks:
            yield warning("no-green", str(mark.colour), place=artwork.place(mark.page, mark.box))

    findings = preflight(written(CLEAN, TRIM), RULES, checks=(*CHECKS, no_green))
    assert [one.code for one in findings] == ["no-green"]
    assert findings[0].place.page == 1


def test_a_page_without_size_is_a_finding() -> None:
    def shrink(pdf: pikepdf.Pdf) -> None:
        pdf.pages[0].obj["/MediaBox"] = pikepdf.Array([0, 0, 0, 0])

    assert "no-media-box" in found(changed(written(CLEAN), shrink))


def test_reportlab_artwork_with_standard_fonts() -> None:
    data = drawn(lambda canvas: canvas.drawString(50, 100, "Boathouse"))
    assert "font-not-embedded" in found(data, ArtworkRules())


@pytest.mark.slow
def test_files_of_others_never_crash_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(case, "_MAP_DPI", 30.0)  # the reading is what is tried here
    rules = ArtworkRules(max_total_ink=None, transparency=False, standard="pdf/x-4")
    refused = []
    for path in shared_pdfs():
        try:
            findings = preflight(path, rules)
        except FileError as refusal:
            refused += refusal.findings
        else:
            assert all(one.mends for one in findings if one.severity is not Severity.NOTE)
    assert all(one.mends for one in refused)
