"""Overprint of a plate is set wherever it is painted, and nothing else moves; or it is refused."""

import io
from pathlib import Path

import numpy as np
import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name

from inkaccord.artwork.finishing.overprint import set_overprint
from outside import plates
from page_kit import finish, image

GROUND = "0.6 0.2 0 0 k 0 0 200 300 re f "
SQUARE = (slice(200, 260), slice(50, 110))
"""Rows and columns, in points, of the square from 50, 40 to 110, 100 on a page of 300."""


def foil() -> Array:
    tint = Dictionary(FunctionType=2, Domain=[0, 1], C0=[0, 0, 0, 0], C1=[0, 0.2, 0.6, 0.2], N=1)
    return Array([Name.Separation, Name("/Gold Foil"), Name.DeviceCMYK, tint])


def of_foil(pdf: pikepdf.Pdf, content: str, **entries: object) -> pikepdf.Stream:
    resources = Dictionary(ColorSpace=Dictionary(Gold=foil()))
    return pdf.make_stream(content.encode(), Resources=resources, **entries)


def a_pattern(pdf: pikepdf.Pdf) -> bytes:
    cell = of_foil(
        pdf, "/Gold cs 1 scn 0 0 4 8 re f", Type=Name.Pattern, PatternType=1, PaintType=1,
        TilingType=1, BBox=[0, 0, 8, 8], XStep=8, YStep=8,
    )  # fmt: skip
    content = GROUND + "/Pattern cs /P scn 50 40 60 60 re f"
    return finish(pdf, content, Pattern=Dictionary(P=cell))


def a_form_that_takes_its_colour(pdf: pikepdf.Pdf) -> bytes:
    form = pdf.make_stream(
        b"50 40 60 60 re f", Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 200, 300]
    )
    content = GROUND + "/Gold cs 1 scn /F Do"
    return finish(pdf, content, ColorSpace=Dictionary(Gold=foil()), XObject=Dictionary(F=form))


def an_annotation(pdf: pikepdf.Pdf) -> bytes:
    pdf.add_blank_page(page_size=(200, 300))
    page = pdf.pages[0].obj
    page.Contents, page.Resources = pdf.make_stream(GROUND.encode()), Dictionary()
    shown = of_foil(
        pdf, "/Gold cs 1 scn 0 0 60 60 re f", Type=Name.XObject, Subtype=Name.Form,
        BBox=[0, 0, 60, 60],
    )  # fmt: skip
    stamp = Dictionary(
        Type=Name.Annot, Subtype=Name.Stamp, Rect=[50, 40, 110, 100], F=4, AP=Dictionary(N=shown)
    )
    page.Annots = Array([pdf.make_indirect(stamp)])
    return _bytes(pdf)


def a_picture(pdf: pikepdf.Pdf) -> bytes:
    picture = image(pdf, b"\xff" * 4, (2, 2), foil())
    content = GROUND + "q 60 0 0 60 50 40 cm /I Do Q"
    return finish(pdf, content, XObject=Dictionary(I=picture))


def a_picture_in_the_content(pdf: pikepdf.Pdf) -> bytes:
    content = GROUND + "q 60 0 0 60 50 40 cm BI /W 1 /H 1 /BPC 8 /CS /Gold ID \xff EI Q"
    return finish(pdf, content, ColorSpace=Dictionary(Gold=foil()))


def drawn(pdf: pikepdf.Pdf, letter: str) -> pikepdf.Object:
    """Return a typeface whose one letter is drawn so; its colours are the typeface's resources."""
    return pdf.make_indirect(
        Dictionary(
            Type=Name.Font, Subtype=Name.Type3, FontBBox=[0, 0, 600, 600], FirstChar=97,
            FontMatrix=[0.001, 0, 0, 0.001, 0, 0], LastChar=97, Widths=[600],
            Encoding=Dictionary(Differences=Array([97, Name("/a")])),
            CharProcs=Dictionary(a=pdf.make_stream(letter.encode())),
            Resources=Dictionary(ColorSpace=Dictionary(Gold=foil())),
        )
    )  # fmt: skip


def a_drawn_letter(pdf: pikepdf.Pdf) -> bytes:
    font = drawn(pdf, "600 0 d0 /Gold cs 1 scn 0 0 600 600 re f")
    return finish(pdf, GROUND + "BT /T 100 Tf 50 40 Td [(a)] TJ ET", Font=Dictionary(T=font))


def a_drawn_letter_with_the_page_s_colours(pdf: pikepdf.Pdf) -> bytes:
    font = drawn(pdf, "600 0 d0 /Gold cs 1 scn 0 0 600 600 re f")
    del font.Resources
    states = Dictionary(S=Dictionary(Font=Array([font, 100])))
    content = GROUND + "BT /S gs 50 40 Td (a) ' ET"
    return finish(pdf, content, ColorSpace=Dictionary(Gold=foil()), ExtGState=states)


def a_square_behind_a_stray_d1(pdf: pikepdf.Pdf) -> bytes:
    """What says outside a drawn letter that it is a stencil, is none (ISO 32000-2, 9.6.4)."""
    content = "9 0 0 0 9 9 d1 " + GROUND + "/Gold cs 1 scn 50 40 60 60 re f"
    return finish(pdf, content, ColorSpace=Dictionary(Gold=foil()))


def _bytes(pdf: pikepdf.Pdf) -> bytes:
    out = io.BytesIO()
    pdf.save(out)
    return out.getvalue()


@pytest.mark.parametrize(
    "make",
    [
        a_form_that_takes_its_colour, an_annotation, a_picture, a_picture_in_the_content,
        a_drawn_letter, a_drawn_letter_with_the_page_s_colours, a_square_behind_a_stray_d1,
    ],
)  # fmt: skip
def test_what_lies_under_a_plate_is_left_in_wherever_it_is_painted(make, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]  # one of those above
    with pikepdf.new() as pdf:
        before = make(pdf)
    after, said = set_overprint(before, {"Gold Foil": True})
    assert after is not None
    assert said == ()
    was, now = (plates(it, tmp_path) for it in (before, after))
    inked = was["Gold Foil"] > 99
    assert inked[SQUARE].mean() > 0.4
    assert was["Cyan"][inked].max() < 1, "knocked out before"
    assert now["Cyan"][inked].min() > 59, "and printed through now, by Ghostscript"
    assert np.array_equal(was["Gold Foil"], now["Gold Foil"])
    back, said = set_overprint(after, {"Gold Foil": False})
    assert back is not None
    assert said == ()
    assert plates(back, tmp_path)["Cyan"][inked].max() < 1


def test_it_is_set_inside_a_pattern_and_said_that_not_every_device_heeds_it_there() -> None:
    with pikepdf.new() as pdf:
        before = a_pattern(pdf)
    after, (said,) = set_overprint(before, {"Gold Foil": True})
    assert after is not None
    assert said.code == "overprint-in-pattern"
    with pikepdf.open(io.BytesIO(after)) as pdf:
        cell = pdf.pages[0].Resources.Pattern.P
        steps = [(str(it.operator), it.operands) for it in pikepdf.parse_content_stream(cell)]
        words = [word for word, _ in steps]
        assert words.index("gs") < words.index("f"), "before the cell is painted"
        (name,) = steps[words.index("gs")][1]
        assert cell.Resources.ExtGState[str(name)].op is True
    assert set_overprint(after, {"Gold Foil": True}) == (None, (said,)), "drawn so, it is said too"


def test_where_it_cannot_be_set_it_is_said_what_would_move_and_nothing_is_set() -> None:
    # The same letter is black below its foil, which overprints in one text and not in the other.
    with pikepdf.new() as pdf:
        font = drawn(pdf, "600 0 d0 /Gold cs 1 scn 0 0 600 600 re f 0 g 0 0 300 300 re f")
        states = Dictionary(O=Dictionary(OP=True, op=True), N=Dictionary(OP=False, op=False))
        content = GROUND + "BT /T 90 Tf 50 40 Td /O gs (a) Tj /N gs (a) Tj ET"
        data = finish(pdf, content, Font=Dictionary(T=font), ExtGState=states)
    after, (said,) = set_overprint(data, {"Gold Foil": True}, "card")
    assert after is None
    assert said.code == "overprint-not-set"
    assert "'Gold Foil'" in said.message
    assert "in glyph" in said.message
    assert (said.place.file, said.place.page) == ("card", 1)


def test_a_stencil_is_painted_as_its_text_and_keeps_its_bytes() -> None:
    with pikepdf.new() as pdf:
        stencil = drawn(pdf, "600 0 0 0 600 600 d1 0 0 600 600 re f")
        content = GROUND + "BT /Gold cs 1 scn /T 100 Tf 50 40 Td (a) Tj ET"
        spaces = Dictionary(Gold=foil())
        data = finish(pdf, content, Font=Dictionary(T=stencil), ColorSpace=spaces)
        letter = stencil.CharProcs.a.read_bytes()
    after, said = set_overprint(data, {"Gold Foil": True})
    assert after is not None
    assert said == ()
    with pikepdf.open(io.BytesIO(after)) as pdf:
        assert pdf.pages[0].Resources.Font.T.CharProcs.a.read_bytes() == letter
