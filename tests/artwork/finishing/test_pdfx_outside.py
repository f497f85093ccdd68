"""PDF/X-4 against the world outside: another validator, and files of an open conformance corpus.

The validator is that of pdf-oxide, a general-purpose PDF library; it looks at fewer things than
the conditions here. The corpus is veraPDF's, for PDF/A (CC BY 4.0): its rule on device colour and
output intents (ISO 19005-2, 6.2.4.3, by the file names) asks what PDF/X-4 asks.
"""

import io
import re
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pikepdf
import pytest

from inkaccord.artwork.finishing.pdfx import PdfxSettings, make_pdfx4
from inkaccord.artwork.preflight import ArtworkRules, preflight
from inkaccord.artwork.preflight.pdfx import check_pdfx
from outside import KRITA_CMYK, need_file, need_module, shared_pdfs
from page_kit import changed

EXAMPLE = sorted((Path(__file__).parents[3] / "jobs_example" / "artwork").glob("*.pdf"))
SETTINGS = PdfxSettings(condition="FOGRA39", title="Card", when=datetime(2026, 11, 21, tzinfo=UTC))
DISAGREED = {"XMETA-007"}
"""It asks for GTS_PDFXVersion in the document information, as earlier parts of the standard do.
For PDF/X-4 the key stands in the XMP metadata (M. Valvekens, 2023; the PDF/X writer of the
open-source renderer WeasyPrint puts it there for 4 and above, in both for none)."""


def made(path: Path) -> bytes:
    data, left = make_pdfx4(path, SETTINGS, profile=need_file(KRITA_CMYK, "krita-data"))
    assert {it.code for it in left} <= {"pdfx-colour"}
    return data


def theirs(data: bytes, folder: Path) -> set[str]:
    """Return the codes of what the other validator finds, errors and warnings."""
    library = need_module("pdf_oxide", "pdf-oxide")
    path = folder / "file.pdf"
    path.write_bytes(data)
    found = library.PdfDocument(str(path)).validate_pdf_x("4")
    said = [*found["errors"], *found["warnings"]]
    return {re.match(r"\[([A-Z]+-\d+)\]", str(one))[1] for one in said} - DISAGREED  # type: ignore[index]  # each has a code


def ours(data: bytes) -> set[str]:
    rules = ArtworkRules(standard="pdf/x-4")
    return {it.code for it in preflight(data, rules, checks=(check_pdfx,))}


@pytest.mark.parametrize("path", EXAMPLE, ids=lambda path: path.stem)
def test_the_other_validator_finds_nothing_in_what_is_made(path: Path, tmp_path: Path) -> None:
    assert theirs(made(path), tmp_path) == set()


def _entry(key: str, value: object) -> Callable[[pikepdf.Pdf], None]:
    return lambda pdf: pdf.pages[0].obj.__setitem__(key, value)


@pytest.mark.parametrize(
    ("change", "our_code", "their_code"),
    [
        (lambda pdf: pdf.Root.__delitem__("/OutputIntents"), "pdfx-output-intent", "XMETA-001"),
        (lambda pdf: pdf.docinfo.__delitem__("/Trapped"), "pdfx-trapped", "XMETA-004"),
        (lambda pdf: pdf.Root.__delitem__("/Metadata"), "pdfx-metadata", "XMETA-005"),
        (lambda pdf: pdf.pages[0].obj.__delitem__("/TrimBox"), "pdfx-boxes", "XBOX-001"),
        (_entry("/BleedBox", [-50, -50, 900, 900]), "pdfx-boxes", "XBOX-002"),
        (_entry("/BleedBox", [60, 60, 90, 90]), "pdfx-boxes", "XBOX-003"),
        (
            lambda pdf: pdf.Root.__setitem__(
                "/Names", pikepdf.Dictionary(JavaScript=pikepdf.Dictionary())
            ),
            "pdfx-actions",
            "XCONT-002",
        ),
    ],
    ids=["intent", "trapped", "xmp", "trim", "bleed", "nesting", "script"],
)
def test_both_find_the_same_fault(
    change: Callable[[pikepdf.Pdf], None], our_code: str, their_code: str, tmp_path: Path
) -> None:
    data = made(next(path for path in EXAMPLE if path.stem == "envelope"))
    assert ours(data) == set()
    broken = changed(data, change)
    assert our_code in ours(broken)
    assert their_code in theirs(broken, tmp_path)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("rule", "family"),
    # Device RGB under an intent in CMYK, device CMYK under one in RGB.
    [("6-2-4-3-t01", b"CMYK"), ("6-2-4-3-t02", b"RGB ")],
)
def test_device_colour_and_output_intents_on_the_corpus(rule: str, family: bytes) -> None:
    """A file that fails because no intent covers its colour fails; one that passes, passes."""
    header = bytearray(132)
    header[12:16], header[16:20], header[36:40] = b"prtr", family, b"acsp"

    def give_intent(pdf: pikepdf.Pdf) -> None:
        profile = pdf.make_stream(bytes(header), N=4 if family == b"CMYK" else 3)
        intent = pikepdf.Dictionary(S=pikepdf.Name.GTS_PDFX, DestOutputProfile=profile)
        pdf.Root["/OutputIntents"] = pikepdf.Array([intent])

    judged = {"pass": 0, "fail": 0}
    for path in shared_pdfs():
        if not path.name.startswith(f"vera-{rule}"):
            continue
        expected = "fail" if "-fail-" in path.name else "pass"
        found = ours(changed(path.read_bytes(), give_intent))
        assert ("pdfx-colour" in found) is (expected == "fail"), path.name
        judged[expected] += 1
    assert judged["fail"] >= 5
    assert judged["pass"] >= 1


@pytest.mark.slow
def test_a_transfer_curve_and_encryption_on_the_corpus() -> None:
    """ISO 19005-4, 6.2.5 (a transfer curve) and 19005-2, 6.1.3 (encryption), by the file names."""
    files = {path.name: path for path in shared_pdfs()}
    assert "pdfx-objects" in ours(files["vera-6-2-5-t02-fail-a.pdf"].read_bytes())
    assert "pdfx-encrypted" in ours(files["vera-6-1-3-t02-fail-a.pdf"].read_bytes())


def test_the_boxes_of_what_is_made_are_read_back_the_same() -> None:
    with pikepdf.open(io.BytesIO(made(EXAMPLE[0]))) as pdf, pikepdf.open(EXAMPLE[0]) as before:
        for new, old in zip(pdf.pages, before.pages, strict=True):
            assert [float(x) for x in new.trimbox] == pytest.approx([float(x) for x in old.trimbox])
