"""PDF/X-4, condition by condition: each broken on its own in a file that meets them all."""

import io
import subprocess
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pikepdf
import pytest

from inkaccord.artwork.finishing.pdfx import PdfxSettings, make_pdfx4
from inkaccord.artwork.preflight import ArtworkRules, preflight
from inkaccord.artwork.preflight.pdfx import CONDITIONS, check_pdfx
from inkaccord.diagnostics import Diagnostic
from inkaccord.errors import FileError
from outside import KRITA_CMYK, need_file, need_program, shared_pdfs
from page_kit import changed, embedded_font, finish, written

SETTINGS = PdfxSettings(
    condition="FOGRA39",
    condition_info="Coated paper",
    title="Invitation",
    when=datetime(2026, 11, 21, tzinfo=UTC),
)
TRIM = {"TrimBox": [20.0, 20.0, 180.0, 280.0], "BleedBox": [11.0, 11.0, 189.0, 289.0]}


def profile_of(device: bytes = b"prtr") -> bytes:
    """Return the header of an ICC profile (ISO 15076-1, 7.2), which is all that is looked at."""
    header = bytearray(132)
    header[12:16], header[16:20], header[36:40] = device, b"CMYK", b"acsp"
    return bytes(header)


def card() -> bytes:
    with pikepdf.new() as pdf:
        content = "1 0 0 0 k 11 11 178 278 re f 0 g BT /T 12 Tf 50 100 Td (abc) Tj ET"
        return finish(pdf, content, TRIM, Font=pikepdf.Dictionary(T=embedded_font(pdf)))


@pytest.fixture(scope="module")
def good() -> bytes:
    data, left = make_pdfx4(card(), SETTINGS, profile=profile_of())
    assert left == ()
    return data


def judged(data: bytes) -> tuple[Diagnostic, ...]:
    return preflight(data, ArtworkRules(standard="pdf/x-4"), checks=(check_pdfx,))


def codes(data: bytes) -> set[str]:
    return {one.code for one in judged(data)}


def test_plain_artwork_fails_many_conditions_and_the_made_file_none(good: bytes) -> None:
    assert {"pdfx-output-intent", "pdfx-metadata", "pdfx-trapped"} <= codes(card())
    assert judged(good) == ()


def test_nothing_is_asked_of_vendors_who_do_not_want_it() -> None:
    assert preflight(card(), ArtworkRules(), checks=(check_pdfx,)) == ()


def test_what_the_made_file_says(good: bytes) -> None:
    with pikepdf.open(io.BytesIO(good)) as pdf:
        assert pdf.pdf_version == "1.6"
        (intent,) = pdf.Root.OutputIntents
        assert str(intent.OutputConditionIdentifier) == "FOGRA39"
        assert intent.DestOutputProfile.N == 4
        assert intent.DestOutputProfile.read_bytes() == profile_of()
        assert pdf.docinfo.Trapped == "/False"
        xmp = pdf.open_metadata()
        assert xmp["{http://www.npes.org/pdfx/ns/id/}GTS_PDFXVersion"] == "PDF/X-4"
        assert xmp["dc:title"] == "Invitation"
        assert pdf.pages[0].obj.Contents.read_bytes().startswith(b"1 0 0 0 k 11 11")


def test_the_same_bytes_every_time(good: bytes) -> None:
    assert make_pdfx4(card(), SETTINGS, profile=profile_of())[0] == good


def _page(change: Callable[[pikepdf.Dictionary], None]) -> Callable[[pikepdf.Pdf], None]:
    return lambda pdf: change(pdf.pages[0].obj)


def _set(key: str, value: object) -> Callable[[pikepdf.Pdf], None]:
    return _page(lambda page: page.__setitem__(key, value))


def _note(pdf: pikepdf.Pdf) -> None:
    note = pikepdf.Dictionary(Subtype=pikepdf.Name.Text, Rect=[50, 50, 70, 70])
    pdf.pages[0].obj["/Annots"] = pikepdf.Array([note])


def _untitled(pdf: pikepdf.Pdf) -> None:
    with pdf.open_metadata(set_pikepdf_as_editor=False) as xmp:
        del xmp["dc:title"]


def _other_version(pdf: pikepdf.Pdf) -> None:
    with pdf.open_metadata(set_pikepdf_as_editor=False) as xmp:
        xmp["{http://www.npes.org/pdfx/ns/id/}GTS_PDFXVersion"] = "PDF/X-9"


def _scanner(pdf: pikepdf.Pdf) -> None:
    pdf.Root.OutputIntents[0].DestOutputProfile.write(profile_of(device=b"scnr"))


def _rgb(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].obj["/Contents"] = pdf.make_stream(b"1 0 0 rg 50 50 9 9 re f")


def _helvetica(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].obj.Resources.Font.T = pikepdf.Dictionary(
        Type=pikepdf.Name.Font, Subtype=pikepdf.Name.Type1, BaseFont=pikepdf.Name.Helvetica
    )


def _curve(pdf: pikepdf.Pdf) -> None:
    pdf.Root["/Kept"] = pdf.make_indirect(
        pikepdf.Dictionary(Type=pikepdf.Name.ExtGState, TR2=pikepdf.Name.Identity)
    )


def _alternates(pdf: pikepdf.Pdf) -> None:
    pdf.Root["/Kept"] = pdf.make_stream(b"", Subtype=pikepdf.Name.Image, Alternates=[])


def _group(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].obj["/Group"] = pikepdf.Dictionary(
        S=pikepdf.Name.Transparency, CS=pikepdf.Name.DeviceRGB
    )


def _trapping_unsaid(pdf: pikepdf.Pdf) -> None:
    with pdf.open_metadata(set_pikepdf_as_editor=False) as xmp:
        del xmp["pdf:Trapped"]


def _layers(pdf: pikepdf.Pdf) -> None:
    pdf.Root["/OCProperties"] = pikepdf.Dictionary(
        OCGs=[], D=pikepdf.Dictionary(Name=pikepdf.String("All"), AS=[])
    )


BREAKS: dict[str, tuple[str, Callable[[pikepdf.Pdf], None]]] = {
    "trapped unsaid": ("pdfx-trapped", lambda pdf: pdf.docinfo.__delitem__("/Trapped")),
    "no xmp": ("pdfx-metadata", lambda pdf: pdf.Root.__delitem__("/Metadata")),
    "no title": ("pdfx-metadata", _untitled),
    "another version key": ("pdfx-metadata", _other_version),
    "no intent": ("pdfx-output-intent", lambda pdf: pdf.Root.__delitem__("/OutputIntents")),
    "two intents": (
        "pdfx-output-intent",
        lambda pdf: pdf.Root.OutputIntents.append(pdf.Root.OutputIntents[0]),
    ),
    "no profile": (
        "pdfx-output-intent",
        lambda pdf: pdf.Root.OutputIntents[0].__delitem__("/DestOutputProfile"),
    ),
    "a scanner's profile": ("pdfx-output-intent", _scanner),
    "no trim": ("pdfx-boxes", _page(lambda page: page.__delitem__("/TrimBox"))),
    "art beside trim": ("pdfx-boxes", _set("/ArtBox", [30, 30, 90, 90])),
    "trim out of bleed": ("pdfx-boxes", _set("/BleedBox", [60, 60, 170, 170])),
    "bleed out of media": ("pdfx-boxes", _set("/BleedBox", [-5, -5, 205, 305])),
    "font not embedded": ("pdfx-fonts", _helvetica),
    "script": (
        "pdfx-actions",
        lambda pdf: pdf.Root.__setitem__(
            "/Names", pikepdf.Dictionary(JavaScript=pikepdf.Dictionary())
        ),
    ),
    "action on opening": (
        "pdfx-actions",
        lambda pdf: pdf.Root.__setitem__("/OpenAction", pikepdf.Dictionary(S=pikepdf.Name.URI)),
    ),
    "action of a page": ("pdfx-actions", _set("/AA", pikepdf.Dictionary())),
    "note on the page": ("pdfx-annotations", _note),
    "transfer curve": ("pdfx-objects", _curve),
    "alternate images": ("pdfx-objects", _alternates),
    "rgb under a cmyk intent": ("pdfx-colour", _rgb),
    "layers that switch by use": ("pdfx-layers", _layers),
    "a group that blends in rgb": ("pdfx-colour", _group),
    "a viewer that shows the trim": (
        "pdfx-view-areas",
        lambda pdf: pdf.Root.__setitem__(
            "/ViewerPreferences", pikepdf.Dictionary(PrintArea=pikepdf.Name.TrimBox)
        ),
    ),
    "trapped unsaid in the xmp": ("pdfx-metadata", _trapping_unsaid),
}


@pytest.mark.parametrize("broken", BREAKS)
def test_each_condition_on_its_own(good: bytes, broken: str) -> None:
    code, change = BREAKS[broken]
    findings = judged(changed(good, change))
    assert {one.code for one in findings} == {code}
    assert all(one.mends and one.message.startswith("PDF/X-4: ") for one in findings)


@pytest.mark.parametrize(("own", "expected"), [(True, {"pdfx-colour"}), (False, set())])
def test_a_page_s_default_space_does_not_reach_into_a_form(
    good: bytes, own: bool, expected: set[str]
) -> None:
    """As veraPDF's corpus has it (6.2.4.3); renderers let it."""

    def give(pdf: pikepdf.Pdf) -> None:
        resources = pdf.pages[0].obj.Resources
        white = pikepdf.Dictionary(WhitePoint=[0.9505, 1, 1.089])
        resources.ColorSpace = pikepdf.Dictionary(
            DefaultRGB=pikepdf.Array([pikepdf.Name.CalRGB, white])
        )
        form = pdf.make_stream(
            b"1 0 0 rg 0 0 9 9 re f", Subtype=pikepdf.Name.Form, BBox=[0, 0, 90, 90]
        )
        if own:
            form.Resources = pikepdf.Dictionary()
        resources.XObject = pikepdf.Dictionary(F=form)
        page = pdf.pages[0].obj
        page.Contents = pdf.make_stream(b"0 1 0 rg 20 20 9 9 re f /F Do")

    assert codes(changed(good, give)) == expected


def test_version_encryption_and_id(good: bytes) -> None:
    def written_with(**options: object) -> bytes:
        with pikepdf.open(io.BytesIO(good)) as pdf:
            out = io.BytesIO()
            pdf.save(out, **options)  # type: ignore[arg-type]  # options of save
            return out.getvalue()

    assert codes(written_with(force_version="1.7")) == {"pdfx-pdf-version"}
    locked = written_with(
        encryption=pikepdf.Encryption(owner="", user="", R=4), force_version="1.6"
    )
    assert "pdfx-encrypted" in codes(locked)
    without = written(" ").replace(b"/ID [", b"/XX [")
    assert "pdfx-id" in codes(without)


def test_every_condition_is_broken_by_some_test() -> None:
    broken = {code for code, _ in BREAKS.values()}
    broken |= {"pdfx-pdf-version", "pdfx-encrypted", "pdfx-id"}
    told = {
        word.strip("`:,.")
        for condition in CONDITIONS
        for word in (condition.__doc__ or "").split()
        if word.startswith("``pdfx-")
    }
    assert told == broken


def test_without_a_profile_it_says_that_this_is_no_pdfx4() -> None:
    _, left = make_pdfx4(card(), SETTINGS, profile=None)
    assert {one.code for one in left} == {"pdfx-output-intent"}


def test_what_cannot_be_put_right_is_reported() -> None:
    def spoil(pdf: pikepdf.Pdf) -> None:
        _rgb(pdf)
        _note(pdf)
        pdf.Root["/OpenAction"] = pikepdf.Dictionary(S=pikepdf.Name.JavaScript)
        pdf.pages[0].obj["/ArtBox"] = pikepdf.Array([30, 30, 90, 90])

    _, left = make_pdfx4(changed(card(), spoil), SETTINGS, profile=profile_of(), name="card.pdf")
    assert {one.code for one in left} == {"pdfx-colour", "pdfx-annotations"}
    assert all(one.place.file == "card.pdf" for one in left)


@pytest.mark.parametrize("data", [b"", b"no profile at all", profile_of(device=b"mntr")])
def test_a_profile_of_no_output_device_is_refused(data: bytes) -> None:
    with pytest.raises(FileError, match="output device"):
        make_pdfx4(card(), SETTINGS, profile=data)


def test_a_real_profile_and_other_readers(tmp_path: Path) -> None:
    profile = need_file(KRITA_CMYK, "krita-data")
    gs = need_program("gs", "ghostscript")
    info = need_program("pdfinfo", "poppler-utils")
    data, left = make_pdfx4(card(), SETTINGS, profile=profile)
    assert left == ()
    path = tmp_path / "card.pdf"
    path.write_bytes(data)
    told = subprocess.run([info, "-box", str(path)], capture_output=True, text=True, check=True)
    assert "PDF version:     1.6" in told.stdout
    assert "Title:           Invitation" in told.stdout
    assert "TrimBox: 20.00 20.00 180.00 280.00" in " ".join(told.stdout.split())
    drawn = subprocess.run(
        [gs, "-q", "-dSAFER", "-dBATCH", "-dNOPAUSE", "-sDEVICE=nullpage", str(path)],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert drawn.stdout + drawn.stderr == ""


@pytest.mark.slow
def test_files_of_others_never_crash_it() -> None:
    refused = []
    for path in shared_pdfs():
        try:
            data, _ = make_pdfx4(path, SETTINGS, profile=profile_of())
        except FileError as refusal:
            refused += refusal.findings
        else:
            assert data.startswith(b"%PDF-1.6")
    assert all(one.mends for one in refused)
