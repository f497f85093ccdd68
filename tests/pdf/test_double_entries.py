"""Dictionaries that say an entry twice: held where readers differ, told of where they can't."""

import io
import re
from pathlib import Path

import pikepdf
import pytest

from artwork_kit import codes, document, swaps
from inkaccord.artwork.recolouring.recolour import RecolouredFile, recolour
from inkaccord.pdf.double_entries import doubles_in_line, entries
from inkaccord.pdf.opening import open_artwork, opening_findings

SWAP = "cmyk 85 20 60 30 = cmyk 78 12 55 41"
OLD, OTHER = "[.85 .2 .6 .3]", "[ 0 0 %c\n 1 0 ]"
RAMP = (
    "<< /Shading << /S << /ShadingType 2 /ColorSpace /DeviceCMYK /Coords [0 0 100 0] "
    "/Function << /FunctionType 2 /Domain [0 1] /N 1 /C0 {} /CX {} /C1 [0 0 1 0] >> >> >> >>"
)


def _doubled(resources: str, packed: bool = False) -> bytes:
    """Return a file in which the entry ``/CX`` is the entry ``/C0`` once more."""
    with pikepdf.open(io.BytesIO(document(b"/S sh", resources))) as pdf:
        shading = pdf.pages[0].obj.Resources.Shading.S
        shading.Function = pdf.make_indirect(shading.Function)
        out = io.BytesIO()
        mode = pikepdf.ObjectStreamMode.generate if packed else pikepdf.ObjectStreamMode.disable
        pdf.save(out, object_stream_mode=mode, compress_streams=not packed)
    plain = out.getvalue()
    assert plain.count(b"/CX") == 1
    return plain.replace(b"/CX", b"/C0")


def _held(result: RecolouredFile) -> list[str]:
    return [one.message for one in result.errors if one.code == "double-entry"]


@pytest.mark.parametrize("packed", [False, True])
@pytest.mark.parametrize(("one", "other"), [(OLD, OTHER), (OTHER, OLD)])
def test_a_colour_that_is_said_twice_holds_the_piece(one: str, other: str, packed: bool) -> None:
    result = recolour(_doubled(RAMP.format(one, other), packed), swaps(SWAP))
    (said,) = _held(result)
    assert re.search(r"object \d+ says /C0 twice, in two ways \(\[.*\] and \[.*\]\)", said)
    assert "0.85 0.2 0.6 0.3" in said.replace(" .", " 0.").replace("[.", "[0.").replace("[ ", "[")
    assert "damaged-file" not in codes(result), "it is said once"


def test_values_that_are_the_same_are_told_of() -> None:
    result = recolour(_doubled(RAMP.format(OLD, "[.85 .2 .6 .3]")), swaps(SWAP))
    assert not result.errors
    assert "damaged-file" in codes(result)


def test_what_nothing_is_painted_with_is_told_of() -> None:
    with pikepdf.open(io.BytesIO(document(b"", "<< /Z << /TitlX (a) /Title (b) >> >>"))) as pdf:
        out = io.BytesIO()
        pdf.save(out, object_stream_mode=pikepdf.ObjectStreamMode.disable)
    plain = out.getvalue()
    assert plain.count(b"/TitlX") == 1
    result = recolour(plain.replace(b"/TitlX", b"/Title"), swaps(SWAP))
    assert not result.errors
    assert "damaged-file" in codes(result)


def test_who_opens_it_is_told_once_for_each_entry_and_object() -> None:
    with open_artwork(_doubled(RAMP.format(OLD, OTHER))) as pdf:
        _ = pdf.pages[0].obj.Resources.Shading.S.Function.C0
        found = [one for one in opening_findings(pdf, "a.pdf") if one.code == "double-entry"]
    assert [one.place.file for one in found] == ["a.pdf"]


def test_a_file_is_read_once_however_much_it_says_twice_and_the_first_few_are_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    eight = "".join(f"/G{number} << /CA .{number} /Ca .9 >>" for number in range(1, 9))
    source = document(b"", f"<< /ExtGState << {eight} >> >>").replace(b"/Ca ", b"/CA ")
    (tmp_path / "a.pdf").write_bytes(source)
    read, whole = [], Path.read_bytes
    with open_artwork(tmp_path / "a.pdf") as pdf:
        _ = [one.CA for one in pdf.pages[0].obj.Resources.ExtGState.values()]
        monkeypatch.setattr(Path, "read_bytes", lambda path: (read.append(path), whole(path))[1])
        found = [one for one in opening_findings(pdf) if one.code == "double-entry"]
    assert [len(found), len(read)] == [5, 1]
    assert found[-1].message.endswith("; 3 more such entries follow")


@pytest.mark.parametrize(
    "spaces", [b"/CS /CMYK /ColorSpace /G", b"/CS /G /ColorSpace /CMYK", b"/CS /CMYK /CS /G"]
)
def test_a_picture_in_the_content_that_names_two_spaces_holds_the_piece(spaces: bytes) -> None:
    """Ghostscript 10.00, PDFium and poppler differ in which counts (tried)."""
    content = b"q 9 0 0 9 0 0 cm BI /W 1 /H 1 /BPC 8 " + spaces + b" ID abcd EI Q"
    (said,) = _held(recolour(document(content), swaps(SWAP)))
    assert "a picture in the content itself says /ColorSpace twice" in said


@pytest.mark.parametrize(
    ("text", "found"),
    [
        (b"/A 1 /B /C/D[1 [2]]>> /E 5", {"/A": [b"1"], "/B": [b"/C"], "/D": [b"[ 1 [ 2 ] ]"]}),
        (b"/A (a\\)(b)>>/X) /A <AB>", {"/A": [b"(a\\)(b)>>/X)", b"<AB>"]}),
        (b"/A#31<</A 1/A 2>>/A1 3 0 R>>", {"/A1": [b"<< /A 1 /A 2 >>", b"3 0 R"]}),
        (b"/A % /B 2\n1 /A", {"/A": [b"1", b""]}),
        (b"/A (never ends", {"/A": [b""]}),
        (b"", {}),
    ],
)
def test_entries_in_the_order_in_which_they_stand(text: bytes, found: dict[str, bytes]) -> None:
    assert entries(text) == found


def test_short_and_long_names_of_one_entry_are_one() -> None:
    assert [one.key for one in doubles_in_line(b" /W 1 /Width 2 /H 3 /Height 3 ")] == ["/Width"]
