"""Files that viewers show and that can't be opened as they stand."""

import io
import re
import zlib
from collections.abc import Callable

import pikepdf
import pytest

from artwork_kit import NEW, NEW_K, OLD, OLD_K, codes, content_of, document, parsed, proven
from inkaccord.errors import FileError
from inkaccord.pdf.filters import inflate
from inkaccord.pdf.opening import open_artwork, opening_findings
from inkaccord.pdf.rescue import written_anew
from outside import need_program

SWAP = f"{OLD} = {NEW}"
BOX = b" 0 0 50 50 re f"


def _with_numbers_off(data: bytes) -> bytes:
    """Return a file whose objects have other generations than what refers to them says."""
    return re.sub(rb"(?m)^(\d+) 0 obj", rb"\1 1 obj", data)


@pytest.mark.slow
def test_a_file_that_viewers_mend_is_written_anew_and_said() -> None:
    whole = document(OLD_K + BOX)
    damaged = _with_numbers_off(whole)
    with pytest.raises(pikepdf.PdfError):
        pikepdf.open(io.BytesIO(damaged))
    result = proven(damaged, SWAP, render=True)
    assert "written-anew" in codes(result)
    assert content_of(result.data) == NEW_K + BOX


def test_a_file_is_written_anew_in_the_same_bytes_each_time() -> None:
    damaged = _with_numbers_off(document(OLD_K + BOX))
    both = []
    for _ in range(2):
        written_anew.cache_clear()
        found = written_anew(damaged)
        assert found is not None
        both.append(found.data)
    assert both[0] == both[1]


def _without_kids(data: bytes) -> bytes:
    return re.sub(rb"/Kids \[[^]]*\]", b"", data)


def _without_pages(data: bytes) -> bytes:
    return data[: data.index(b"2 0 obj")]


@pytest.mark.parametrize("harm", [_without_kids, _without_pages])
def test_what_no_viewer_shows_is_refused(harm: Callable[[bytes], bytes]) -> None:
    with pytest.raises(FileError) as caught, open_artwork(harm(document(OLD_K + BOX))):
        pass
    assert caught.value.findings[0].code == "not-a-pdf"


@pytest.mark.parametrize("count", [b"0", b"-1", b"9"])
def test_a_page_tree_that_counts_wrong_is_put_right(count: bytes) -> None:
    damaged = document(OLD_K + BOX).replace(b"/Count 1", b"/Count " + count)
    assert content_of(proven(damaged, SWAP, render=True).data) == NEW_K + BOX


# -- encrypted --------------------------------------------------------------------------------

_KEYS = " ".join(
    f"/{name} <{digits * size}>"
    for name, digits, size in (
        ("O", "11", 48), ("U", "22", 48), ("OE", "33", 32), ("UE", "44", 32), ("Perms", "55", 16),
    )
)  # fmt: skip
_ONLY_ATTACHMENTS = "/StmF /Identity /StrF /Identity /EFF /StdCF"


def _locked(filters: str, handler: str = f"/Filter /Standard {_KEYS}") -> bytes:
    def setup(pdf: pikepdf.Pdf, _: pikepdf.Page) -> None:
        pdf.attachments["notes.txt"] = b"locked"
        crypt = "<< /StdCF << /AuthEvent /EFOpen /CFM /AESV3 /Length 32 >> >>"
        pdf.trailer["/Encryp_"] = pdf.make_indirect(
            parsed(f"<< {handler} /V 5 /R 6 /Length 256 /P -4 /CF {crypt} {filters} >>")
        )

    return document(OLD_K + BOX, setup=setup).replace(b"/Encryp_", b"/Encrypt")


def test_a_file_of_which_only_an_attachment_is_encrypted_goes_without_it() -> None:
    source = _locked(_ONLY_ATTACHMENTS)
    with pytest.raises(pikepdf.PasswordError):
        pikepdf.open(io.BytesIO(source))
    result = proven(source, SWAP, render=True)
    assert "attachment-encrypted" in codes(result)
    assert content_of(result.data) == NEW_K + BOX
    with pikepdf.open(io.BytesIO(result.data)) as pdf:
        assert not pdf.is_encrypted
        assert len(pdf.attachments) == 0
    assert b"locked" not in result.data


@pytest.mark.parametrize(
    ("source", "words"),
    [
        pytest.param(_locked("/StmF /StdCF /StrF /StdCF"), "with a password", id="pages"),
        pytest.param(_locked("/StmF /StdCF /StrF /Identity"), "with a password", id="streams"),
        pytest.param(
            _locked("/StmF /StdCF /StrF /StdCF", "/Filter /Certificates"),
            "for certain readers",
            id="certificate",
        ),
    ],
)
def test_a_file_whose_pages_are_encrypted_is_refused(source: bytes, words: str) -> None:
    with pytest.raises(FileError) as caught, open_artwork(source) as pdf:
        opening_findings(pdf)
    assert caught.value.findings[0].code == "needs-password"
    assert words in caught.value.findings[0].message


# -- linearised -------------------------------------------------------------------------------


@pytest.mark.parametrize("linearised", [True, False])
def test_a_linearised_file_stays_one_in_the_same_bytes_each_time(*, linearised: bool) -> None:
    source = io.BytesIO()
    with pikepdf.open(io.BytesIO(document(OLD_K + BOX))) as pdf:
        pdf.save(source, linearize=linearised, deterministic_id=True)
    copies = [proven(source.getvalue(), SWAP).data for _ in range(2)]
    assert copies[0] == copies[1]
    with pikepdf.open(io.BytesIO(copies[0])) as pdf:
        assert pdf.is_linearized is linearised


def test_the_inks_of_a_linearised_copy_are_seen() -> None:
    """What is drawn for it is not linearised: its pages are taken out, and qpdf falls over that."""
    need_program("gs", "ghostscript")
    source = io.BytesIO()
    with pikepdf.open(io.BytesIO(document(OLD_K + BOX))) as pdf:
        pdf.pages.append(pdf.pages[0])
        pdf.save(source, linearize=True)
    proven(source.getvalue(), SWAP, render=True)


# -- damaged streams --------------------------------------------------------------------------


def test_damaged_data_is_unpacked_to_the_last_byte_before_the_damage() -> None:
    text = b"".join(b"%d %d m " % (n * n % 997, n * 7 % 991) for n in range(4000))
    packed = bytearray(zlib.compress(text))
    packed[len(packed) // 2] ^= 0x10
    unpacker, one_by_one, rest = zlib.decompressobj(), b"", bytes(packed)
    with pytest.raises(zlib.error):
        while rest:
            one_by_one += unpacker.decompress(rest[:1], 1)
            rest = unpacker.unconsumed_tail + rest[1:]
    assert len(one_by_one) > len(text) // 3
    assert inflate(bytes(packed), 1 << 20) == one_by_one
