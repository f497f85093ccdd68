"""Which letters a typeface of an artwork can show, read from the file alone."""

import io

import pytest
from pikepdf import Pdf

from artwork_kit import parsed
from inkaccord.drawing.canvas import BOLD
from inkaccord.layout.records.faces import faces_in, our_faces, unicode_map
from inkaccord.testing import draw_artwork


@pytest.mark.parametrize(
    ("cmap", "meant"),
    [
        ("2 beginbfchar <01> <0041> <5B> <0141> endbfchar", {1: "A", 0x5B: "Ł"}),
        ("1 beginbfrange <0003> <0005> <0061> endbfrange", {3: "a", 4: "b", 5: "c"}),
        (
            "2 beginbfrange <20> <21> [<0041> <00C5>] <30> <30> <005A> endbfrange",
            {0x20: "A", 0x21: "Å", 0x30: "Z"},
        ),
        ("1 beginbfchar <02> <D83D DE00> endbfchar", {2: "\U0001f600"}),
        ("1 beginbfrange <05> <05> [<0041>", {}),
        ("1 beginbfrange <05> endbfrange 1 beginbfchar <07> endbfchar", {}),
    ],
)
def test_a_unicode_map_is_read_as_the_standard_has_it(cmap, meant):
    assert {int.from_bytes(code): letter for code, letter in unicode_map(cmap.encode())} == meant


def test_a_face_of_an_artwork_shows_the_letters_that_it_holds_alone():
    """Embedded by a library that keeps whole ASCII in a part; nothing accented was set."""
    with Pdf.open(io.BytesIO(draw_artwork(label="Lantern"))) as pdf:
        faces = faces_in(pdf)
    face = faces["SourceSansPro-Semibold"]
    ours = our_faces({"bold": "Lantern"})[0]["bold"]
    assert face.lacking("Lantern Ł") == ["Ł"]
    assert face.width("Lantern") == pytest.approx(ours.width("Lantern"), abs=5)
    assert BOLD not in faces


def test_a_font_without_a_map_is_read_by_its_usual_encoding():
    with Pdf.new() as pdf:
        file = pdf.make_stream(b"")
        font = parsed("<</Type/Font/Subtype/TrueType/BaseFont/ABCDEF+Slip/Encoding/WinAnsiEncoding"
                      "/FirstChar 65/LastChar 67/Widths[600 0 700]>>")  # fmt: skip
        font.FontDescriptor = parsed("<</Type/FontDescriptor/FontName/Slip>>")
        font.FontDescriptor.FontFile2 = file
        pdf.make_indirect(font)
        faces = faces_in(pdf)
    assert faces["Slip"].lacking("ABC") == ["B"]  # no advance: the part left it out
    assert faces["Slip"].width("CA") == 1300


def test_our_faces_lack_what_they_have_no_glyph_for():
    face = our_faces({"regular": "Łukasz 中\u0301"})[0]["regular"]
    assert face.lacking("Łukasz 中\u0301") == ["中", "\u0301"]
