"""The inventory against drawings whose colours and areas are known."""

import io
import json
import math

import numpy as np
import pikepdf
import pytest
from PIL import Image
from reportlab.lib.colors import CMYKColorSep
from reportlab.pdfgen.canvas import Canvas

from inkaccord.artwork.inventory.inventory import Inventory, inventory
from inkaccord.artwork.roles import Role
from inkaccord.errors import FileError
from outside import shared_pdfs
from page_kit import changed, drawn, finish, image, saved, written

MM2_PER_PT2 = (25.4 / 72) ** 2


def areas(found: Inventory) -> dict[str, float]:
    """Return the areas in square points."""
    return {e.colour.text: (e.area_mm2 or 0) / MM2_PER_PT2 for e in found.colours}


def test_rectangles_circles_lines_and_text() -> None:
    def draw(canvas: Canvas) -> None:
        canvas.setFillColorCMYK(0.85, 0.2, 0.6, 0.3)
        canvas.rect(20, 20, 100, 50, stroke=0, fill=1)
        canvas.setFillColorRGB(1, 0, 0)
        canvas.circle(100, 150, 40, stroke=0, fill=1)
        canvas.setStrokeColorCMYK(0, 0.38, 0.88, 0.02)
        canvas.setLineWidth(4)
        canvas.line(20, 250, 180, 250)
        canvas.setFillColor(CMYKColorSep(0.5, 0.2, 0.1, 0.1, spotName="Slate", density=0.4))
        canvas.setFont("Helvetica", 20)
        canvas.drawString(20, 270, "Boathouse")

    found = inventory(drawn(draw))
    measured = areas(found)
    assert measured["cmyk 85 20 60 30"] == pytest.approx(5000, rel=0.01)
    assert measured["rgb 255 0 0"] == pytest.approx(math.pi * 1600, rel=0.01)
    assert measured["cmyk 0 38 88 2"] == pytest.approx(640, rel=0.05)
    assert 0 < measured["spot Slate 40%"] < 100 * 20
    by_name = {entry.colour.text: entry for entry in found.colours}
    assert by_name["cmyk 85 20 60 30"].roles == (Role.FILL,)
    assert by_name["cmyk 0 38 88 2"].roles == (Role.STROKE,)
    assert by_name["spot Slate 40%"].roles == (Role.TEXT,)
    assert by_name["cmyk 85 20 60 30"].colour.total_ink == pytest.approx(195)
    assert by_name["rgb 255 0 0"].colour.total_ink is None
    box = by_name["cmyk 85 20 60 30"].pages[0].box_mm
    assert box == pytest.approx([p * 25.4 / 72 for p in (20, 20, 120, 70)], abs=0.01)
    assert found.fonts[0].name == "Helvetica"
    assert not found.fonts[0].embedded
    bare = (found.pages[0].bare_mm2 or 0) / MM2_PER_PT2
    assert bare == pytest.approx(60000 - sum(measured.values()), rel=0.001)


def test_what_is_covered_does_not_count_and_a_hidden_colour_is_still_listed() -> None:
    found = inventory(written("1 0 0 0 k 20 20 60 60 re f 0 1 0 0 k 20 20 60 60 re f"))
    measured = areas(found)
    assert measured["cmyk 100 0 0 0"] == 0
    assert measured["cmyk 0 100 0 0"] == pytest.approx(3600, rel=0.01)
    assert [e.colour.text for e in found.colours if e.area_mm2 == 0] == ["cmyk 100 0 0 0"]


def test_what_shows_through_counts_with_what_lies_on_top() -> None:
    state = pikepdf.Dictionary(G=pikepdf.Dictionary(ca=0.5))
    content = "1 0 0 0 k 20 20 60 60 re f /G gs 0 1 0 0 k 20 20 60 60 re f"
    measured = areas(inventory(written(content, ExtGState=state)))
    assert measured["cmyk 100 0 0 0"] == pytest.approx(3600, rel=0.01)
    assert measured["cmyk 0 100 0 0"] == pytest.approx(3600, rel=0.01)


def test_overprint_leaves_what_lies_under_it() -> None:
    state = pikepdf.Dictionary(G=pikepdf.Dictionary(OP=True, op=True, OPM=1))
    content = "1 0 0 0 k 20 20 60 60 re f /G gs 0 0 0 1 k 20 20 60 60 re f"
    found = inventory(written(content, ExtGState=state))
    assert areas(found)["cmyk 100 0 0 0"] == pytest.approx(3600, rel=0.01)
    assert {e.colour.text for e in found.colours if e.overprints} == {"cmyk 0 0 0 100"}


def test_the_same_form_in_two_colour_states() -> None:
    with pikepdf.new() as pdf:
        form = pdf.make_stream(
            b"0 0 10 10 re f", Type=pikepdf.Name.XObject, Subtype=pikepdf.Name.Form,
            BBox=[0, 0, 10, 10],
        )  # fmt: skip
        data = finish(
            pdf,
            "1 0 0 0 k q 2 0 0 2 20 20 cm /F Do Q 0 0 1 0 k q 3 0 0 3 100 100 cm /F Do Q",
            XObject=pikepdf.Dictionary(F=form),
        )
    measured = areas(inventory(data))
    assert measured["cmyk 100 0 0 0"] == pytest.approx(400, rel=0.05)
    assert measured["cmyk 0 0 100 0"] == pytest.approx(900, rel=0.05)


def tiling(pdf: pikepdf.Pdf, content: bytes, paint: int) -> pikepdf.Stream:
    return pdf.make_stream(
        content, Type=pikepdf.Name.Pattern, PatternType=1, PaintType=paint, TilingType=1,
        BBox=[0, 0, 10, 10], XStep=10, YStep=10, Resources=pikepdf.Dictionary(),
    )  # fmt: skip


def test_tiling_patterns_coloured_and_uncoloured() -> None:
    with pikepdf.new() as pdf:
        data = finish(
            pdf,
            "/Pattern cs /P1 scn 20 20 100 100 re f /U cs 0 0 1 0 /P2 scn 20 150 100 100 re f",
            Pattern=pikepdf.Dictionary(
                P1=tiling(pdf, b"0 1 0 0 k 0 0 5 10 re f", 1), P2=tiling(pdf, b"0 0 5 5 re f", 2)
            ),
            ColorSpace=pikepdf.Dictionary(
                U=pikepdf.Array([pikepdf.Name.Pattern, pikepdf.Name.DeviceCMYK])
            ),
        )
    measured = areas(inventory(data))
    # PDFium draws a cell once, on whole pixels, so small cells come out a little large.
    assert measured["cmyk 0 100 0 0"] == pytest.approx(5000, rel=0.08)
    assert measured["cmyk 0 0 100 0"] == pytest.approx(2500, rel=0.12)


def test_gradients_through_sh_and_as_a_pattern() -> None:
    def draw(canvas: Canvas) -> None:
        from reportlab.lib.colors import CMYKColor

        path = canvas.beginPath()
        path.rect(20, 20, 100, 50)
        canvas.saveState()
        canvas.clipPath(path, stroke=0)
        canvas.linearGradient(20, 20, 120, 20, (CMYKColor(1, 0, 0, 0), CMYKColor(0, 0, 1, 0)))
        canvas.restoreState()

    found = inventory(drawn(draw))
    (entry,) = found.colours
    assert entry.colour.text == "axial gradient, cmyk 100 0 0 0 to cmyk 0 0 100 0"
    assert entry.roles == (Role.GRADIENT,)
    assert areas(found)[entry.colour.text] == pytest.approx(5000, rel=0.02)

    shading = pikepdf.Dictionary(
        ShadingType=2, ColorSpace=pikepdf.Name.DeviceCMYK, Coords=[50, 0, 100, 0],
        Function=pikepdf.Dictionary(
            FunctionType=2, Domain=[0, 1], N=1, C0=[1, 0, 0, 0], C1=[0, 0, 1, 0]
        ),
    )  # fmt: skip
    pattern = pikepdf.Dictionary(PatternType=2, Shading=shading)
    content = "/Pattern cs /P scn 20 20 100 50 re f"
    found = inventory(written(content, Pattern=pikepdf.Dictionary(P=pattern)))
    # Without Extend the gradient covers only x from 50 to 100.
    assert areas(found)[found.colours[0].colour.text] == pytest.approx(2500, rel=0.03)


def test_images_with_and_without_masks_and_stencils() -> None:
    with pikepdf.new() as pdf:
        image = {"Type": pikepdf.Name.XObject, "Subtype": pikepdf.Name.Image}
        soft = pdf.make_stream(
            bytes([255, 255, 0, 0]), **image, Width=4, Height=1, BitsPerComponent=8,
            ColorSpace=pikepdf.Name.DeviceGray,
        )  # fmt: skip
        whole = pdf.make_stream(
            bytes(range(48)), **image, Width=4, Height=4, BitsPerComponent=8,
            ColorSpace=pikepdf.Name.DeviceRGB,
        )  # fmt: skip
        half = pdf.make_stream(
            bytes(range(16)), **image, Width=4, Height=1, BitsPerComponent=8,
            ColorSpace=pikepdf.Name.DeviceCMYK, SMask=soft,
        )  # fmt: skip
        stencil = pdf.make_stream(
            bytes([0b01000000]), **image, Width=2, Height=1, BitsPerComponent=1, ImageMask=True
        )
        data = finish(
            pdf,
            "q 40 0 0 40 10 10 cm /A Do Q q 40 0 0 40 60 10 cm /B Do Q "
            "0 0 1 0 k q 40 0 0 40 10 60 cm /C Do Q "
            "q 40 0 0 40 60 60 cm BI /W 2 /H 1 /BPC 8 /CS /G ID ab EI Q",
            XObject=pikepdf.Dictionary(A=whole, B=half, C=stencil),
        )
    found = inventory(data)
    measured = areas(found)
    assert measured["image 4 × 4 px, rgb"] == pytest.approx(1600, rel=0.02)
    assert measured["image 4 × 1 px, cmyk"] == pytest.approx(800, rel=0.05)
    assert measured["image 2 × 1 px, gray"] == pytest.approx(1600, rel=0.02)
    assert measured["cmyk 0 0 100 0"] == pytest.approx(800, rel=0.05)
    assert found.pictures[0].ppi == pytest.approx((7.2, 7.2))
    assert [picture.masked for picture in found.pictures] == [False, True, False]


@pytest.mark.parametrize("form", ["JPEG", "JPEG2000"])
def test_a_soft_mask_that_is_packed_as_a_picture_lets_show_what_it_lets_show(form: str) -> None:
    packed = io.BytesIO()
    half = np.zeros((64, 64), np.uint8)
    half[:, :32] = 255
    Image.fromarray(half).save(packed, form, **({} if form == "JPEG" else {"no_jp2": True}))
    with pikepdf.new() as pdf:
        image = {"Type": pikepdf.Name.XObject, "Subtype": pikepdf.Name.Image}
        soft = pdf.make_stream(
            packed.getvalue(), **image, Width=64, Height=64, BitsPerComponent=8,
            ColorSpace=pikepdf.Name.DeviceGray,
            Filter=pikepdf.Name("/DCTDecode" if form == "JPEG" else "/JPXDecode"),
        )  # fmt: skip
        one = pdf.make_stream(
            b"\xff\0\0", **image, Width=1, Height=1, BitsPerComponent=8,
            ColorSpace=pikepdf.Name.DeviceRGB, SMask=soft,
        )  # fmt: skip
        data = finish(pdf, "40 0 0 40 10 10 cm /A Do", XObject=pikepdf.Dictionary(A=one))
    assert list(areas(inventory(data)).values()) == [pytest.approx(800, rel=0.05)]


def test_an_image_with_a_colour_table_names_its_colours() -> None:
    with pikepdf.new() as pdf:
        space = pikepdf.Array(
            [pikepdf.Name.Indexed, pikepdf.Name.DeviceCMYK, 1,
             pikepdf.String(bytes([217, 51, 153, 77, 0, 0, 0, 0]))]
        )  # fmt: skip
        two = image(pdf, bytes([0b01000000]), (2, 1), space, BitsPerComponent=1)
        data = finish(pdf, "q 40 0 0 40 10 10 cm /I Do Q", XObject=pikepdf.Dictionary(I=two))
    (entry,) = inventory(data).colours
    assert entry.colour.text == "image 2 × 1 px, table of cmyk"
    assert [str(part) for part in entry.colour.parts] == [
        "cmyk 85.098 20 60 30.1961", "cmyk 0 0 0 0",
    ]  # fmt: skip


def type3(pdf: pikepdf.Pdf, glyph: bytes) -> pikepdf.Dictionary:
    return pdf.make_indirect(
        pikepdf.Dictionary(
            Type=pikepdf.Name.Font, Subtype=pikepdf.Name.Type3, FontBBox=[0, 0, 1000, 1000],
            FontMatrix=[0.001, 0, 0, 0.001, 0, 0], FirstChar=97, LastChar=97, Widths=[1000],
            Encoding=pikepdf.Dictionary(Differences=[97, pikepdf.Name.a]),
            CharProcs=pikepdf.Dictionary(a=pdf.make_stream(glyph)),
            Resources=pikepdf.Dictionary(),
        )
    )  # fmt: skip


@pytest.mark.parametrize(
    ("glyph", "expected"),
    [
        (b"1000 0 d0 0 1 0 0 k 0 0 1000 1000 re f", "cmyk 0 100 0 0"),
        (b"1000 0 0 0 1000 1000 d1 0 1 0 0 k 0 0 1000 1000 re f", "cmyk 100 0 0 0"),
        (b"1000 0 d0 0 0 1000 1000 re f", "cmyk 100 0 0 0"),
    ],
    ids=["own colour", "colour locked", "colour from outside"],
)
def test_type_3_glyphs(glyph: bytes, expected: str) -> None:
    with pikepdf.new() as pdf:
        data = finish(
            pdf, "1 0 0 0 k BT /T 30 Tf 20 20 Td (aa) Tj ET",
            Font=pikepdf.Dictionary(T=type3(pdf, glyph)),
        )  # fmt: skip
    found = inventory(data)
    (entry,) = found.colours
    assert entry.colour.text == expected
    assert entry.roles == (Role.TEXT,)
    assert areas(found)[expected] == pytest.approx(1800, rel=0.03)


def test_annotation_appearances_count_and_hidden_ones_do_not() -> None:
    with pikepdf.new() as pdf:
        data = finish(pdf, "")
    with pikepdf.open(io.BytesIO(data)) as pdf:
        annotations = []
        for left, flags in ((20, 0), (100, 2)):
            look = pdf.make_stream(
                b"0 1 0 0 k 0 0 10 10 re f", Subtype=pikepdf.Name.Form, BBox=[0, 0, 10, 10]
            )
            annotations.append(
                pikepdf.Dictionary(
                    Type=pikepdf.Name.Annot, Subtype=pikepdf.Name.Stamp, F=flags,
                    Rect=[left, 20, left + 50, 60], AP=pikepdf.Dictionary(N=look),
                )
            )  # fmt: skip
        pdf.pages[0].obj["/Annots"] = pikepdf.Array(annotations)
        data = saved(pdf)
    assert areas(inventory(data)) == {"cmyk 0 100 0 0": pytest.approx(2000, rel=0.03)}


def test_the_initial_colour_is_black_and_cs_resets_it() -> None:
    space = pikepdf.Dictionary(
        S=pikepdf.Array(
            [
                pikepdf.Name.Separation, pikepdf.Name.Kelp, pikepdf.Name.DeviceCMYK,
                pikepdf.Dictionary(
                    FunctionType=2, Domain=[0, 1], N=1, C0=[0, 0, 0, 0], C1=[0.9, 0.2, 0.6, 0.3]
                ),
            ]
        )
    )  # fmt: skip
    content = "10 10 20 20 re f /S cs 50 10 20 20 re f /DeviceCMYK cs 90 10 20 20 re f"
    found = inventory(written(content, ColorSpace=space))
    assert set(areas(found)) == {"gray 100", "spot Kelp", "cmyk 0 0 0 100"}


def test_layers_that_are_off_are_listed_without_area() -> None:
    with pikepdf.new() as pdf:
        group = pdf.make_indirect(
            pikepdf.Dictionary(Type=pikepdf.Name.OCG, Name=pikepdf.String("Die line"))
        )
        pdf.Root["/OCProperties"] = pikepdf.Dictionary(
            OCGs=[group], D=pikepdf.Dictionary(OFF=[group])
        )
        data = finish(
            pdf, "/OC /L BDC 0 1 0 0 k 20 20 60 60 re f EMC 1 0 0 0 k 100 20 60 60 re f",
            Properties=pikepdf.Dictionary(L=group),
        )  # fmt: skip
    found = inventory(data)
    by_name = {entry.colour.text: entry for entry in found.colours}
    assert by_name["cmyk 0 100 0 0"].area_mm2 == 0
    assert by_name["cmyk 0 100 0 0"].layers == ("Die line",)
    assert by_name["cmyk 100 0 0 0"].area_mm2


def test_user_unit_and_rotation_keep_areas_true() -> None:
    with pikepdf.new() as pdf:
        data = finish(pdf, "0 1 0 0 k 20 20 60 30 re f")

    def turn(pdf: pikepdf.Pdf) -> None:
        pdf.pages[0].obj["/UserUnit"] = 2
        pdf.pages[0].obj["/Rotate"] = 90

    found = inventory(changed(data, turn))
    assert areas(found)["cmyk 0 100 0 0"] == pytest.approx(4 * 1800, rel=0.01)
    box = found.colours[0].pages[0].box_mm
    assert box == pytest.approx([p * 2 * 25.4 / 72 for p in (20, 20, 80, 50)], abs=0.01)


def test_it_goes_to_json_and_back() -> None:
    found = inventory(written("0 1 0 0 k 20 20 60 30 re f"), dpi=72)
    assert Inventory.model_validate_json(found.model_dump_json()) == found
    assert json.loads(found.model_dump_json())["colours"][0]["colour"]["paint"] == "cmyk 0 100 0 0"


@pytest.mark.slow
def test_files_of_others_never_crash_it() -> None:
    refused = []
    for path in shared_pdfs():
        try:
            found = inventory(path, dpi=36)
        except FileError as refusal:
            refused += refusal.findings
        else:
            assert found.pages
    assert all(finding.mends for finding in refused)
