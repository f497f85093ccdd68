"""Files that can't be worked on: a clear message, never a traceback or a hang."""

import gc
import io
import weakref
import zlib
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pikepdf
import pytest
from PIL import Image

from artwork_kit import NEW, NEW_K, OLD, OLD_K, codes, content_of, document, parsed, proven, swaps
from inkaccord.artwork.content.walk import walk
from inkaccord.artwork.finishing.pdfx import PdfxSettings, make_pdfx4
from inkaccord.artwork.inventory.inventory import inventory
from inkaccord.artwork.marks.reader import PageReader
from inkaccord.artwork.recolouring.recolour import recolour
from inkaccord.errors import FileError
from inkaccord.pdf.filters import TooBigError, inflate, lzw, run_length, undo
from inkaccord.pdf.opening import check_contents, open_artwork, opening_findings

SWAP = f"{OLD} = {NEW}"
BOX = b" 0 0 50 50 re f"


def refusal(source: Path | bytes) -> str:
    """Return the code with which recolouring refuses a file."""
    with pytest.raises(FileError) as problem:
        recolour(source, swaps(SWAP))
    finding = problem.value.findings[0]
    assert finding.message
    assert finding.mends
    return finding.code


@pytest.mark.parametrize(
    "data", [b"", b"hello", b"%PDF-1.7\n%%EOF", b"\xff" * 200], ids=["empty", "text", "bare", "ff"]
)
def test_what_is_no_pdf(data: bytes) -> None:
    assert refusal(data) == "not-a-pdf"


def test_a_missing_file_and_a_folder(tmp_path: Path) -> None:
    assert refusal(tmp_path / "nothing.pdf") == "cannot-read"
    assert refusal(tmp_path) == "cannot-read"


def _encrypted(user: str, *, may_change: bool) -> bytes:
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(document(OLD_K + BOX))) as pdf:
        rights = pikepdf.Permissions(modify_other=may_change)
        pdf.save(out, encryption=pikepdf.Encryption(owner="owner", user=user, allow=rights))
    return out.getvalue()


def test_an_encrypted_file_that_needs_a_password() -> None:
    assert refusal(_encrypted("secret", may_change=True)) == "needs-password"


def test_an_encrypted_file_that_forbids_changes_can_be_looked_at_only() -> None:
    source = _encrypted("", may_change=False)
    assert refusal(source) == "changes-forbidden"
    with open_artwork(source) as pdf:
        assert [str(use.colour) for use in walk(pdf)] == [OLD]
        assert [it.code for it in opening_findings(pdf)] == ["changes-forbidden"]
    found = inventory(source, dpi=72)
    assert [entry.colour.text for entry in found.colours] == [OLD]
    assert found.colours[0].area_mm2 is not None
    settings = PdfxSettings(
        condition="FOGRA39", title="Card", when=datetime(2026, 1, 1, tzinfo=UTC)
    )
    with pytest.raises(FileError) as caught:
        make_pdfx4(source, settings, profile=None)
    assert caught.value.findings[0].code == "changes-forbidden"


def test_an_encrypted_file_that_allows_changes() -> None:
    result = proven(_encrypted("", may_change=True), SWAP)
    assert "was-encrypted" in codes(result)
    with pikepdf.open(io.BytesIO(result.data)) as pdf:
        assert not pdf.is_encrypted
    assert content_of(result.data) == NEW_K + BOX


def test_a_damaged_cross_reference_is_mended_with_a_warning() -> None:
    source = document(OLD_K + BOX)
    damaged = source.replace(b"startxref\n", b"startxref\n9")
    result = proven(damaged, SWAP)
    assert "damaged-file" in codes(result)
    assert content_of(result.data) == NEW_K + BOX


# -- page trees -------------------------------------------------------------------------------


def _raw(objects: list[str]) -> bytes:
    body = b"%PDF-1.7\n"
    places = []
    for number, text in enumerate(objects, start=1):
        places.append(len(body))
        body += f"{number} 0 obj\n{text}\nendobj\n".encode()
    table = len(body)
    body += f"xref\n0 {len(objects) + 1}\n0000000000 65535 f \n".encode()
    body += b"".join(f"{place:010d} 00000 n \n".encode() for place in places)
    body += (
        f"trailer << /Size {len(objects) + 1} /Root 1 0 R >>\nstartxref\n{table}\n%%EOF".encode()
    )
    return body


@pytest.mark.parametrize(
    "objects",
    [
        pytest.param(
            ["<< /Type /Catalog /Pages 2 0 R >>", "<< /Type /Pages /Count 1 /Kids [2 0 R] >>"],
            id="holds-itself",
        ),
        pytest.param(
            [
                "<< /Type /Catalog /Pages 2 0 R >>",
                "<< /Type /Pages /Count 1 /Kids [3 0 R] >>",
                "<< /Type /Pages /Count 1 /Kids [2 0 R] /Parent 2 0 R >>",
            ],
            id="goes-round",
        ),
        pytest.param(["<< /Type /Catalog >>"], id="missing"),
        pytest.param(
            ["<< /Type /Catalog /Pages 2 0 R >>", "<< /Type /Pages /Count 0 /Kids [] >>"],
            id="empty",
        ),
        pytest.param(
            ["<< /Type /Catalog /Pages 2 0 R >>", "[1 2 3]"], id="not-a-dictionary"
        ),
    ],
)  # fmt: skip
def test_a_page_tree_that_is_none(objects: list[str]) -> None:
    assert refusal(_raw(objects)) in {"bad-pages", "not-a-pdf"}


def test_too_many_pages(bound: Callable[..., None]) -> None:
    bound(pages=3)

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        for _ in range(5):
            pdf.add_blank_page(page_size=(10, 10))

    assert refusal(document(setup=setup)) == "bad-pages"


# -- streams ----------------------------------------------------------------------------------


def _packed(data: bytes, names: list[str]) -> bytes:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        new = pdf.make_stream(b"")
        new.write(data, filter=[pikepdf.Name(name) for name in names])
        page.obj.Contents = new

    return document(setup=setup)


@pytest.mark.parametrize(
    ("data", "names"),
    [
        pytest.param(zlib.compress(bytes(3 << 20)), ["/FlateDecode"], id="flate"),
        pytest.param(
            zlib.compress(zlib.compress(bytes(90 << 20))), ["/FlateDecode"] * 2, id="flate-twice"
        ),
        pytest.param(b"\x81\x20" * 20_000, ["/RunLengthDecode"], id="run-length"),
        pytest.param(b"z" * (1 << 19) + b"~>", ["/ASCII85Decode"], id="ascii85"),
    ],
)
def test_a_small_stream_that_unpacks_to_more_than_the_limit(
    data: bytes, names: list[str], bound: Callable[..., None]
) -> None:
    bound(stream_mib=1)
    source = _packed(data, names)
    assert len(source) < 800_000
    assert refusal(source) == "too-big-unpacked"


def test_all_streams_together_have_a_limit(bound: Callable[..., None]) -> None:
    bound(total_mib=2)
    parts = [b" " * (1 << 20)] * 3
    assert refusal(document(parts)) == "too-big-unpacked"


def test_an_unknown_filter_is_an_error_finding() -> None:
    result = recolour(_packed(b"abc", ["/NobodyKnows"]), swaps(SWAP))
    finding = next(one for one in result.findings if one.code == "unreadable-stream")
    assert finding.severity == "error"
    assert "NobodyKnows" in finding.message
    assert result.errors


def test_a_flate_stream_that_breaks_off_gives_what_came_before() -> None:
    filler = bytes(range(33, 127)) * 40
    whole = zlib.compress(OLD_K + BOX + b"\n%" + filler + b"\n" + BOX)
    source = _packed(whole[:-60], ["/FlateDecode"])
    result = recolour(source, swaps(SWAP))
    assert content_of(result.data).startswith(NEW_K + BOX)


def test_a_page_that_cannot_be_unpacked_is_named() -> None:
    whole = zlib.compress(OLD_K + BOX * 400)
    with open_artwork(_packed(whole, ["/FlateDecode"])) as pdf:
        check_contents(pdf)
        assert opening_findings(pdf) == []
    broken = _packed(whole[:2] + b"no deflate", ["/FlateDecode"])
    with open_artwork(broken) as pdf, pytest.raises(FileError) as caught:
        check_contents(pdf, "card.pdf")
    (finding,) = caught.value.findings
    assert (finding.code, finding.place.file) == ("broken-page", "card.pdf")
    assert "page 1" in finding.message


def test_what_was_mended_is_told_without_how_the_file_was_opened(tmp_path: Path) -> None:
    broken = document(OLD_K + BOX).replace(b"startxref", b"startxxxx")
    path = tmp_path / "card.pdf"
    path.write_bytes(broken)
    said = []
    for source in (path, broken):
        with open_artwork(source, name="card.pdf") as pdf:
            said.append([it.message for it in opening_findings(pdf, "card.pdf")])
    assert said[0] == said[1]
    assert said[0]
    assert "0x" not in said[1][0]
    assert str(tmp_path) not in said[0][0]


@pytest.mark.parametrize(
    "names", [["/ASCII85Decode", "/FlateDecode"], ["/ASCIIHexDecode"], ["/AHx", "/Fl"]]
)
def test_chained_filters_are_undone(names: list[str]) -> None:
    import base64

    data = OLD_K + BOX
    for name in reversed(names):
        if name in ("/FlateDecode", "/Fl"):
            data = zlib.compress(data)
        elif name == "/ASCII85Decode":
            data = base64.a85encode(data) + b"~>"
        else:
            data = data.hex().encode() + b">"
    assert content_of(proven(_packed(data, names), SWAP).data) == NEW_K + BOX


def test_lzw_against_the_coder_of_an_image_library() -> None:
    """TIFF's LZW (written by Pillow's libtiff) changes code lengths as early as PDF's."""
    samples = bytes((x * x // 7 + y * 31) % 251 for y in range(120) for x in range(200))
    out = io.BytesIO()
    Image.frombytes("L", (200, 120), samples).save(
        out, "TIFF", compression="tiff_lzw", tiffinfo={278: 120, 317: 1}
    )
    with Image.open(io.BytesIO(out.getvalue())) as picture:
        tags = picture.tag_v2  # type: ignore[attr-defined]  # of TIFF images only
        (start,), (size,) = tags[273], tags[279]
    packed = out.getvalue()[start : start + size]
    assert lzw(packed, 1 << 20) == samples
    with pytest.raises(TooBigError):
        lzw(packed, 1000)


def test_run_length_example() -> None:
    assert run_length(b"\x02abc\xfed\x80rest", 100) == b"abcddd"


def test_inflating_stops_at_the_bound() -> None:
    packed = zlib.compress(bytes(1000))
    assert inflate(packed, 1000) == bytes(1000)
    with pytest.raises(TooBigError):
        inflate(packed, 999)
    with pytest.raises(ValueError, match="not known"):
        undo("/Nothing", b"", 1)


def test_inherited_entries_that_go_round_are_no_hang() -> None:
    objects = [
        "<< /Type /Catalog /Pages 2 0 R >>",
        "<< /Type /Pages /Count 1 /Kids [3 0 R] /Parent 3 0 R >>",
        "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 9 9] >>",
    ]
    result = recolour(_raw(objects), swaps(SWAP))
    assert result.data
    assert parsed("<< >>") is not None


def test_what_read_a_file_of_many_objects_is_gone_when_it_is_closed() -> None:
    with pikepdf.new() as pdf:
        pdf.add_blank_page()
        pdf.Root["/Many"] = pikepdf.Array([pdf.make_stream(b"one") for _ in range(2000)])
        out = io.BytesIO()
        pdf.save(out)

    def read(data: bytes) -> weakref.ref[PageReader]:
        with open_artwork(data) as opened:
            reader = PageReader(opened, lambda _: None)
            found = weakref.ref(reader)
            del reader
            assert found() is not None, "nothing to be let go: it does not hold itself"
        return found

    def held(data: bytes) -> weakref.ref[PageReader]:
        with open_artwork(data) as opened:
            reader = PageReader(opened, lambda _: None)
        return weakref.ref(reader)

    gc.disable()
    try:
        assert read(out.getvalue())() is None
        left = held(out.getvalue())
        assert left() is not None, "nothing to be let go: nobody held it when it was closed"
        with open_artwork(document(b"0 g 0 0 9 9 re f")):
            assert left() is None
        assert read(document(b"0 g 0 0 9 9 re f"))() is not None, "few objects are not looked for"
    finally:
        gc.enable()
