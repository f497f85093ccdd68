"""Colours in forms, patterns, glyphs, annotations, images and gradients."""

import io

import pikepdf
import pytest

from artwork_kit import (
    KELP,
    NEW,
    NEW_K,
    OLD,
    OLD_K,
    codes,
    content_of,
    document,
    form,
    opened,
    parsed,
    proven,
    resource,
    stream,
    swaps,
)
from inkaccord.artwork.content.walk import Where, walk
from inkaccord.artwork.limits import Limits
from inkaccord.artwork.objects.functions import read_function
from inkaccord.artwork.objects.shadings import read_shading
from inkaccord.artwork.objects.space_reader import SpaceReader
from inkaccord.artwork.objects.streams import StreamReader
from inkaccord.artwork.paints import Paint
from inkaccord.artwork.recolouring.recolour import RecolourOptions, SpotMode, Swap, recolour
from inkaccord.artwork.roles import Role
from inkaccord.artwork.swaps import TintTable
from inkaccord.colour.builds import Build

SWAP = f"{OLD} = {NEW}"
PROCESS = RecolourOptions(spots=SpotMode.PROCESS)
BOX = b" 0 0 50 50 re f"

# -- forms ------------------------------------------------------------------------------------


def test_a_form_in_a_form() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        outer = form(pdf, b"/In Do", "<< /Resources << /XObject << >> >> >>")
        outer.Resources.XObject.In = form(pdf, OLD_K + BOX)
        resource(page, "/XObject", "/Out", outer)

    result = proven(document(b"/Out Do", setup=setup), SWAP, render=True)
    with opened(result) as pdf:
        inner = pdf.pages[0].Resources.XObject.Out.Resources.XObject.In
        assert inner.read_bytes() == NEW_K + BOX


def test_a_form_shared_by_two_pages_stays_one_object() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        shared = form(pdf, OLD_K + BOX)
        second = pdf.add_blank_page(page_size=(100, 100))
        for one in (page, second):
            one.obj.Resources = parsed("<< /XObject << >> >>")
            one.obj.Resources.XObject.F = shared
        second.obj.Contents = pdf.make_stream(b"/F Do")

    result = proven(document(b"/F Do", setup=setup), SWAP)
    with opened(result) as pdf:
        first, second = (page.Resources.XObject.F for page in pdf.pages)
        assert first.objgen == second.objgen
        assert first.read_bytes() == NEW_K + BOX


def test_a_form_called_in_two_colour_states_is_forked() -> None:
    """Its ``sc`` means RGB in one call and CMYK in the other."""

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        resource(page, "/XObject", "/F", form(pdf, b"1 0 0 sc 0 0 20 20 re f"))

    source = document(
        b"/DeviceRGB cs /F Do q 1 0 0 1 50 50 cm /DeviceGray cs /F Do Q /F Do", setup=setup
    )
    result = proven(source, "rgb 255 0 0 = rgb 0 0 255", "gray 100 = gray 50", render=True)
    text = content_of(result.data)
    names = [part.split()[-1] for part in text.split(b" Do")[:-1]]
    assert names[0] == names[2] == b"/F"
    assert names[1] != b"/F"
    with opened(result) as pdf:
        objects = pdf.pages[0].Resources.XObject
        assert objects.F.read_bytes() == b"0 0 1 rg 0 0 20 20 re f"
        assert objects[names[1].decode()].read_bytes() == b"0.5 g 0 0 20 20 re f"


def test_a_form_takes_over_its_caller_s_swapped_colour() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        resource(page, "/XObject", "/F", form(pdf, b"0 0 20 20 re f"))

    result = proven(document(OLD_K + b" /F Do", setup=setup), SWAP, render=True)
    with opened(result) as pdf:
        assert pdf.pages[0].Resources.XObject.F.read_bytes() == b"0 0 20 20 re f"


def test_a_form_without_resources_takes_the_caller_s() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        resource(page, "/XObject", "/F", form(pdf, b"/S cs 1 scn 0 0 20 20 re f"))

    resources = f"<< /ColorSpace << /S {KELP} >> >>"
    source = document(b"/F Do", resources, setup)
    result = proven(source, "spot Kelp = cmyk 1 2 3 4", options=PROCESS, render=True)
    with opened(result) as pdf:
        data = bytes(pdf.pages[0].Resources.XObject.F.read_bytes())
    assert data.count(b"0.01 0.02 0.03 0.04 k") == 2
    assert b"/S" not in data


def test_a_stream_shared_under_different_resources_is_forked() -> None:
    """``/S`` is one spot for the first page and another for the second."""

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        shared = form(pdf, b"/S cs 1 scn 0 0 20 20 re f")
        second = pdf.add_blank_page(page_size=(100, 100))
        second.obj.Contents = pdf.make_stream(b"/F Do")
        for one, name in ((page, "Kelp"), (second, "Slate")):
            space = KELP.replace("Kelp", name)
            one.obj.Resources = parsed(f"<< /ColorSpace << /S {space} >> /XObject << >> >>")
            one.obj.Resources.XObject.F = shared

    source = document(b"/F Do", setup=setup)
    result = proven(
        source, "spot Kelp = cmyk 1 2 3 4", "spot Slate = cmyk 9 8 7 6", options=PROCESS
    )
    with opened(result) as pdf:
        found = []
        for number, page in enumerate(pdf.pages):
            name = content_of(result.data, number).split()[0].decode()
            found.append(bytes(page.Resources.XObject[name].read_bytes()))
    assert b"0.01 0.02 0.03 0.04 k" in found[0]
    assert b"0.09 0.08 0.07 0.06 k" in found[1]


def test_a_hidden_layer_is_recoloured_too() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        layer = pdf.make_indirect(parsed("<< /Type /OCG /Name (Hidden) >>"))
        page.obj.Resources = pikepdf.Dictionary(Properties=pikepdf.Dictionary(L=layer))
        pdf.Root.OCProperties = pikepdf.Dictionary(OCGs=[layer], D=pikepdf.Dictionary(OFF=[layer]))

    result = proven(document(b"/OC /L BDC " + OLD_K + BOX + b" EMC", setup=setup), SWAP)
    assert NEW_K in content_of(result.data)


def test_resources_inherited_from_the_page_tree() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        del page.obj["/Resources"]
        pdf.Root.Pages.Resources = parsed(f"<< /ColorSpace << /S {KELP} >> >>")

    result = proven(document(b"/S cs 1 scn" + BOX, setup=setup), "spot Kelp = cmyk 1 2 3 4")
    with opened(result) as pdf:
        space = pdf.pages[0].Resources.ColorSpace.S
        assert [float(v) for v in space[3].C1] == [0.01, 0.02, 0.03, 0.04]


def test_a_colour_hidden_under_another_object_does_not_escape() -> None:
    """No rendering shows it; the structural proof does."""
    source = document(OLD_K + BOX + b" 1 0 0 0 k" + BOX)
    result = proven(source, SWAP, render=True)
    assert OLD_K not in content_of(result.data)


# -- patterns and glyphs ----------------------------------------------------------------------

PATTERN = "<< /Type /Pattern /PatternType 1 /TilingType 1 /BBox [0 0 10 10] /XStep 10 /YStep 10 "


def test_a_coloured_pattern() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        one = stream(pdf, OLD_K + b" 0 0 5 5 re f", PATTERN + "/PaintType 1 /Resources << >> >>")
        resource(page, "/Pattern", "/P", one)

    result = proven(document(b"/Pattern cs /P scn" + BOX, setup=setup), SWAP, render=True)
    with opened(result) as pdf:
        assert pdf.pages[0].Resources.Pattern.P.read_bytes() == NEW_K + b" 0 0 5 5 re f"


@pytest.mark.parametrize("swap", [SWAP, f"{OLD} = rgb 10 20 30"])
def test_an_uncoloured_pattern_is_painted_with_the_new_colour(swap: str) -> None:
    """Its own colour operators count for nothing and stay."""

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        one = stream(pdf, OLD_K + b" 0 0 5 5 re f", PATTERN + "/PaintType 2 /Resources << >> >>")
        resource(page, "/Pattern", "/P", one)
        page.obj.Resources.ColorSpace = parsed("<< /U [/Pattern /DeviceCMYK] >>")

    source = document(b"/U cs 0.85 0.2 0.6 0.3 /P scn" + BOX, setup=setup)
    result = proven(source, swap, render=True)
    with opened(result) as pdf:
        assert pdf.pages[0].Resources.Pattern.P.read_bytes() == OLD_K + b" 0 0 5 5 re f"
        uses = [use for use in walk(pdf) if use.role is Role.PATTERN]
    assert [str(use.colour) for use in uses] == [swap.split(" = ")[1]]


def _type3(pdf: pikepdf.Pdf, glyph: bytes) -> pikepdf.Object:
    font = parsed(
        "<< /Type /Font /Subtype /Type3 /FontBBox [0 0 10 10] /FontMatrix [0.1 0 0 0.1 0 0] "
        "/FirstChar 97 /LastChar 97 /Widths [10] /Encoding << /Differences [97 /a] >> "
        "/CharProcs << >> /Resources << >> >>"
    )
    font.CharProcs.a = pdf.make_stream(glyph)
    return pdf.make_indirect(font)


def test_a_coloured_glyph() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        resource(page, "/Font", "/T", _type3(pdf, b"10 0 d0 " + OLD_K + b" 0 0 9 9 re f"))

    source = document(b"BT /T 20 Tf 10 10 Td (a) Tj ET", setup=setup)
    result = proven(source, SWAP, render=True)
    with opened(result) as pdf:
        glyph = pdf.pages[0].Resources.Font.T.CharProcs.a
        assert glyph.read_bytes() == b"10 0 d0 " + NEW_K + b" 0 0 9 9 re f"


def test_a_stencil_glyph_keeps_its_bytes_and_takes_the_text_s_colour() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        glyph = b"10 0 0 0 10 10 d1 " + OLD_K + b" 0 0 9 9 re f"
        resource(page, "/Font", "/T", _type3(pdf, glyph))

    source = document(OLD_K + b" BT /T 20 Tf 10 10 Td (a) Tj ET", setup=setup)
    result = proven(source, SWAP, render=True)
    with opened(result) as pdf:
        assert OLD_K in pdf.pages[0].Resources.Font.T.CharProcs.a.read_bytes()
    assert content_of(result.data).startswith(NEW_K)


# -- annotations ------------------------------------------------------------------------------


def test_annotation_appearances_and_colours() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        note = parsed(
            "<< /Type /Annot /Subtype /Square /Rect [10 10 60 60] /F 4 /C [0.85 0.2 0.6 0.3] "
            "/IC [0 0 0] >>"
        )
        note.AP = pikepdf.Dictionary(N=form(pdf, OLD_K + BOX))
        page.obj.Annots = pikepdf.Array([pdf.make_indirect(note)])

    result = proven(document(setup=setup), SWAP, render=True)
    with opened(result) as pdf:
        note = pdf.pages[0].Annots[0]
        assert note.AP.N.read_bytes() == NEW_K + BOX
        assert [float(v) for v in note.C] == [0.78, 0.12, 0.55, 0.41]
        assert [float(v) for v in note.IC] == [0, 0, 0]


def test_form_fields_with_states_and_default_appearance() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        field = parsed(
            "<< /Type /Annot /Subtype /Widget /FT /Btn /T (a) /Rect [0 0 20 20] /AS /On "
            "/MK << /BG [0.85 0.2 0.6 0.3] >> /DA (/F 9 Tf 0.85 0.2 0.6 0.3 k) >>"
        )
        states = pikepdf.Dictionary(On=form(pdf, OLD_K + BOX), Off=form(pdf, OLD_K + b" n"))
        field.AP = pikepdf.Dictionary(N=states)
        one = pdf.make_indirect(field)
        page.obj.Annots = pikepdf.Array([one])
        pdf.Root.AcroForm = pikepdf.Dictionary(
            Fields=[one], DA=pikepdf.String("0.85 0.2 0.6 0.3 k /F 9 Tf")
        )

    result = proven(document(setup=setup), SWAP)
    with opened(result) as pdf:
        field = pdf.pages[0].Annots[0]
        assert field.AP.N.On.read_bytes() == NEW_K + BOX
        assert field.AP.N.Off.read_bytes() == NEW_K + b" n"
        assert bytes(field.DA) == b"/F 9 Tf " + NEW_K
        assert bytes(pdf.Root.AcroForm.DA) == NEW_K + b" /F 9 Tf"
        assert float(field.MK.BG[3]) == 0.41


# -- soft masks -------------------------------------------------------------------------------


@pytest.mark.parametrize("shared", [False, True], ids=["alone", "shared-with-print"])
def test_a_luminosity_mask_is_never_touched(shared: bool) -> None:
    """Also when the mask's own group is drawn as ordinary artwork as well."""
    mask_bytes = b"0.25 g 0 0 100 100 re f"

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        group = form(pdf, mask_bytes, "<< /Group << /S /Transparency /CS /DeviceGray >> >>")
        state = pikepdf.Dictionary(
            SMask=pikepdf.Dictionary(S=pikepdf.Name.Luminosity, G=group),
            Type=pikepdf.Name.ExtGState,
        )
        resource(page, "/ExtGState", "/M", state)
        if shared:
            resource(page, "/XObject", "/F", group)

    content = b"q /M gs 0.25 g 0 0 50 50 re f Q" + (b" /F Do" if shared else b"")
    result = proven(document(content, setup=setup), "gray 75 = cmyk 1 2 3 70")
    with opened(result) as pdf:
        resources = pdf.pages[0].Resources
        assert resources.ExtGState.M.SMask.G.read_bytes() == mask_bytes
        if shared:
            assert resources.XObject.F.read_bytes() == b"0.01 0.02 0.03 0.7 k 0 0 100 100 re f"
    assert b"0.01 0.02 0.03 0.7 k" in content_of(result.data)


# -- images -----------------------------------------------------------------------------------

IMAGE = "<< /Type /XObject /Subtype /Image /Width 2 /Height 2 /BitsPerComponent 8 "
PLACE = b"q 50 0 0 50 0 0 cm /I Do Q"


def test_a_colour_table_changes_and_its_indices_stay() -> None:
    """A colour-key mask compares indices, so they must stay what they were."""

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        entries = "/ColorSpace [/Indexed /DeviceRGB 2 <FF000000FF00FFFFFF>] /Mask [1 1] >>"
        resource(page, "/XObject", "/I", stream(pdf, bytes([0, 1, 2, 0]), IMAGE + entries))

    result = proven(document(PLACE, setup=setup), "rgb 255 0 0 = rgb 0 0 255", render=True)
    with opened(result) as pdf:
        image = pdf.pages[0].Resources.XObject.I
        assert bytes(image.ColorSpace[3]) == bytes.fromhex("0000FF 00FF00 FFFFFF")
        assert image.read_bytes() == bytes([0, 1, 2, 0])
        assert list(image.Mask) == [1, 1]


def test_a_colour_table_leaves_its_space_only_as_a_whole() -> None:
    def setup(table: str) -> bytes:
        def inner(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
            entries = f"/ColorSpace [/Indexed /DeviceRGB 1 <{table}>] >>"
            resource(page, "/XObject", "/I", stream(pdf, bytes([0, 1, 1, 0]), IMAGE + entries))

        return document(PLACE, setup=inner)

    whole = proven(setup("FF0000FFFFFF"), "rgb 255 0 0 = cmyk 0 100 0 0", render=True)
    with opened(whole) as pdf:
        space = pdf.pages[0].Resources.XObject.I.ColorSpace
        assert (str(space[1]), bytes(space[3])) == ("/DeviceCMYK", b"\0\xff\0\0\0\0\0\0")
    mixed = recolour(setup("FF000000FF00"), swaps("rgb 255 0 0 = cmyk 0 100 0 0"))
    assert "mixed-kinds" in codes(mixed)


def test_a_colour_table_in_a_stream_shared_by_two_spaces() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        table = pdf.make_stream(bytes([255, 0, 0, 0, 255, 0]))
        for name in ("/I", "/J"):
            image = stream(pdf, bytes([0, 1, 1, 0]), IMAGE + ">>")
            image.ColorSpace = pikepdf.Array(
                [pikepdf.Name.Indexed, pikepdf.Name.DeviceRGB, 1, table]
            )
            resource(page, "/XObject", name, image)

    source = document(PLACE + b" q 50 0 0 50 50 50 cm /J Do Q", setup=setup)
    result = proven(source, "rgb 255 0 0 = rgb 0 255 0", "rgb 0 255 0 = rgb 255 0 0", render=True)
    with opened(result) as pdf:
        for name in ("/I", "/J"):
            table = pdf.pages[0].Resources.XObject[name].ColorSpace[3]
            assert bytes(table) == bytes([0, 255, 0, 255, 0, 0])


def test_an_inline_image_s_colour_table() -> None:
    data = (
        b"q 50 0 0 50 0 0 cm BI /W 2 /H 1 /BPC 8 /CS [/I /RGB 1 <FF000000FF00>] ID \x00\x01 EI Q "
        b"0 g"
    )
    result = proven(document(data), "rgb 255 0 0 = rgb 0 0 255", render=True)
    text = content_of(result.data)
    assert b"ID \x00\x01 EI Q 0 g" in text
    with opened(result) as pdf:
        colours = {str(use.colour) for use in walk(pdf) if use.role is Role.IMAGE}
    assert colours == {"rgb 0 0 255", "rgb 0 255 0"}


@pytest.mark.parametrize("decode", ["", "/Decode [1 0]"])
def test_a_spot_image_becomes_process_by_a_table(decode: str) -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        image = stream(pdf, bytes([0, 64, 128, 255]), IMAGE + f"/ColorSpace {KELP} {decode} >>")
        resource(page, "/XObject", "/I", image)

    source = document(PLACE, setup=setup)
    kept = proven(source, "spot Kelp = cmyk 10 20 30 40", render=True)
    with opened(kept) as pdf:
        assert str(pdf.pages[0].Resources.XObject.I.ColorSpace[0]) == "/Separation"
    result = proven(source, "spot Kelp = cmyk 10 20 30 40", options=PROCESS)
    with opened(result) as pdf:
        image = pdf.pages[0].Resources.XObject.I
        assert image.read_bytes() == bytes([0, 64, 128, 255])
        full = 0 if decode else 255
        assert bytes(image.ColorSpace[3])[4 * full : 4 * full + 4] == bytes([26, 51, 76, 102])


def test_photographs_stay_and_are_counted() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        resource(
            page, "/XObject", "/I", stream(pdf, bytes(12), IMAGE + "/ColorSpace /DeviceRGB >>")
        )

    result = proven(document(PLACE, setup=setup), "rgb 0 0 0 = rgb 255 0 0")
    assert result.photographs == 1
    with opened(result) as pdf:
        assert pdf.pages[0].Resources.XObject.I.read_bytes() == bytes(12)


def test_an_image_mask_takes_the_swapped_colour() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        mask = "<< /Type /XObject /Subtype /Image /Width 8 /Height 1 /ImageMask true >>"
        resource(page, "/XObject", "/I", stream(pdf, b"\x0f", mask))

    source = document(OLD_K + b" " + PLACE, setup=setup)
    with opened(proven(source, SWAP, render=True)) as pdf:
        assert [str(use.colour) for use in walk(pdf) if use.role is Role.MASK] == [NEW]


# -- several inks -----------------------------------------------------------------------------


def test_a_brand_colour_among_several_inks() -> None:
    """A duotone of Kelp and black: only what Kelp adds is new."""

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        transform = stream(
            pdf,
            b"{ exch dup 0.4 mul exch 0.6 mul 0 exch 0 3 1 roll pop 3 -1 roll }",
            "<< /FunctionType 4 /Domain [0 1 0 1] /Range [0 1 0 1 0 1 0 1] >>",
        )
        space = parsed("[/DeviceN [/Kelp /Black] /DeviceCMYK null]")
        space[3] = transform
        page.obj.Resources = pikepdf.Dictionary(ColorSpace=pikepdf.Dictionary(D=space))

    source = document(b"/D cs 1 0 scn 0 0 50 50 re f 0 0.5 scn 50 50 50 50 re f", setup=setup)
    with pikepdf.open(io.BytesIO(source)) as pdf:
        old = read_function(pdf.pages[0].Resources.ColorSpace.D[3], StreamReader(Limits()))
        black = old(0, 0.5)
    result = recolour(source, swaps("spot Kelp = cmyk 10 20 30 0"))
    with opened(result) as pdf:
        new = read_function(pdf.pages[0].Resources.ColorSpace.D[3], StreamReader(Limits()))
        assert new(1, 0) == pytest.approx((0.1, 0.2, 0.3, 0), abs=2e-5)
        assert new(0.5, 0) == pytest.approx((0.05, 0.1, 0.15, 0), abs=2e-5)
        assert new(0, 0.5) == pytest.approx(black, abs=2e-5)


# -- gradients --------------------------------------------------------------------------------

AXIAL = "<< /ShadingType 2 /ColorSpace /DeviceCMYK /Coords [0 0 100 0] /Extend [true true] "
RAMP = "/Function << /FunctionType 2 /Domain [0 1] /N 1 /C0 [0.85 0.2 0.6 0.3] /C1 [0 0 0 0] >> >>"


def _gradient(shading: str) -> bytes:
    return document(b"/S sh", f"<< /Shading << /S {shading} >> >>")


def _colours_at(data: bytes, *places: float) -> list[tuple[float, ...]]:
    with pikepdf.open(io.BytesIO(data)) as pdf:
        resources = pdf.pages[0].Resources
        shading = read_shading(
            resources.Shading.S, resources, SpaceReader(), StreamReader(Limits())
        )
        assert shading.function is not None
        return [shading.function(place) for place in places]


@pytest.mark.parametrize("kind", ["axial", "radial"])
def test_a_gradient_to_paper(kind: str) -> None:
    shading = AXIAL + RAMP
    if kind == "radial":
        shading = shading.replace("/ShadingType 2", "/ShadingType 3")
        shading = shading.replace("[0 0 100 0]", "[50 50 0 50 50 50]")
    result = proven(_gradient(shading), SWAP, render=True)
    first, middle, last = _colours_at(result.data, 0, 0.5, 1)
    assert first == pytest.approx((0.78, 0.12, 0.55, 0.41))
    assert middle == pytest.approx((0.39, 0.06, 0.275, 0.205))
    assert last == pytest.approx((0, 0, 0, 0))


def test_a_gradient_between_two_swapped_colours() -> None:
    shading = AXIAL + RAMP.replace("/C1 [0 0 0 0]", "/C1 [0 1 0 0]")
    result = proven(_gradient(shading), SWAP, "cmyk 0 100 0 0 = cmyk 0 90 0 10")
    assert _colours_at(result.data, 0.5)[0] == pytest.approx((0.39, 0.51, 0.275, 0.255))


def test_a_gradient_follows_a_tint_table() -> None:
    table = TintTable(steps=((50, Build.cmyk(50, 0, 40, 10)), (100, Build.cmyk(78, 12, 55, 41))))
    swap = Swap(old=Paint.parse(OLD), new=Paint.parse(NEW), tints=table)
    result = proven(_gradient(AXIAL + RAMP), swap)
    half, quarter = _colours_at(result.data, 0.5, 0.75)
    assert half == pytest.approx((0.5, 0, 0.4, 0.1))
    assert quarter == pytest.approx((0.25, 0, 0.2, 0.05))


def test_a_gradient_of_several_stops_keeps_its_bounds() -> None:
    piece = "<< /FunctionType 2 /Domain [0 1] /N 1 /C0 [{}] /C1 [{}] >>"
    shading = (
        AXIAL
        + "/Function << /FunctionType 3 /Domain [0 1] /Bounds [0.3] /Encode [0 1 1 0] /Functions ["
        + piece.format("0.85 0.2 0.6 0.3", "0 0 0 0")
        + piece.format("0 1 0 0", "0 0 0 0")
        + "] >> >>"
    )
    result = proven(_gradient(shading), SWAP, render=True)
    start, bound, end = _colours_at(result.data, 0, 0.3, 1)
    assert start == pytest.approx((0.78, 0.12, 0.55, 0.41))
    assert bound == pytest.approx((0, 0, 0, 0))
    assert end == pytest.approx((0, 1, 0, 0))


def test_a_gradient_given_as_samples() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        old = (217, 51, 153, 76)
        samples = bytes(round(v * i / 15) for i in range(16) for v in old)
        function = stream(
            pdf,
            samples,
            "<< /FunctionType 0 /Domain [0 1] /Size [16] /BitsPerSample 8 "
            "/Range [0 1 0 1 0 1 0 1] >>",
        )
        shading = parsed(AXIAL + ">>")
        shading.Function = function
        resource(page, "/Shading", "/S", pdf.make_indirect(shading))

    result = proven(document(b"/S sh", setup=setup), SWAP, render=True)
    start, half, end = _colours_at(result.data, 0, 8 / 15, 1)
    assert start == pytest.approx((0, 0, 0, 0), abs=0.003)
    assert half == pytest.approx([v * 8 / 15 for v in (0.78, 0.12, 0.55, 0.41)], abs=0.004)
    assert end == pytest.approx((0.78, 0.12, 0.55, 0.41), abs=0.001)


def test_a_gradient_by_a_calculator() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        program = b"{ dup 0.85 mul exch dup 0.2 mul exch dup 0.6 mul exch 0.3 mul }"
        shading = parsed(AXIAL + ">>")
        shading.Function = stream(
            pdf, program, "<< /FunctionType 4 /Domain [0 1] /Range [0 1 0 1 0 1 0 1] >>"
        )
        resource(page, "/Shading", "/S", pdf.make_indirect(shading))

    result = proven(document(b"/S sh", setup=setup), SWAP)
    assert _colours_at(result.data, 0.5)[0] == pytest.approx((0.39, 0.06, 0.275, 0.205), abs=1e-5)


def test_a_gradient_pattern_and_its_background() -> None:
    shading = AXIAL + "/Background [0.85 0.2 0.6 0.3] " + RAMP
    resources = f"<< /Pattern << /P << /PatternType 2 /Shading {shading} >> >> >>"
    source = document(b"/Pattern cs /P scn" + BOX, resources)
    with opened(proven(source, SWAP, render=True)) as pdf:
        inner = pdf.pages[0].Resources.Pattern.P.Shading
        assert [float(v) for v in inner.Background] == [0.78, 0.12, 0.55, 0.41]
        assert {str(use.colour) for use in walk(pdf) if use.where is Where.PATTERN} == {
            NEW,
            "cmyk 0 0 0 0",
        }


def test_a_gradient_in_a_spot() -> None:
    shading = (
        f"<< /ShadingType 2 /ColorSpace {KELP} /Coords [0 0 100 0] "
        "/Function << /FunctionType 2 /Domain [0 1] /N 1 /C0 [1] /C1 [0] >> >>"
    )
    source = _gradient(shading)
    kept = proven(source, "spot Kelp = cmyk 10 20 30 40", render=True)
    assert _colours_at(kept.data, 0, 1) == [(1,), (0,)]
    process = proven(source, "spot Kelp = cmyk 10 20 30 40", options=PROCESS)
    start, half = _colours_at(process.data, 0, 0.5)
    assert start == pytest.approx((0.1, 0.2, 0.3, 0.4))
    assert half == pytest.approx((0.05, 0.1, 0.15, 0.2))


def test_a_gradient_that_can_only_half_leave_its_space_is_refused() -> None:
    shading = AXIAL.replace("CMYK", "RGB") + (
        "/Function << /FunctionType 2 /Domain [0 1] /N 1 /C0 [1 0 0] /C1 [0 1 0] >> >>"
    )
    result = recolour(_gradient(shading), swaps("rgb 255 0 0 = cmyk 0 90 80 0"))
    assert "mixed-kinds" in codes(result)
    whole = proven(
        _gradient(shading), "rgb 255 0 0 = cmyk 0 90 80 0", "rgb 0 255 0 = cmyk 80 0 90 0"
    )
    assert _colours_at(whole.data, 0.5)[0] == pytest.approx((0.4, 0.45, 0.85, 0))


def test_a_function_based_shading() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        red, green = bytes([255, 0, 0]), bytes([0, 255, 0])
        shading = parsed("<< /ShadingType 1 /ColorSpace /DeviceRGB /Matrix [100 0 0 100 0 0] >>")
        shading.Function = stream(
            pdf,
            red + green + green + red,
            "<< /FunctionType 0 /Domain [0 1 0 1] /Size [2 2] /BitsPerSample 8 "
            "/Range [0 1 0 1 0 1] >>",
        )
        resource(page, "/Shading", "/S", pdf.make_indirect(shading))

    result = proven(document(b"/S sh", setup=setup), "rgb 255 0 0 = rgb 0 0 255", render=True)
    with opened(result) as pdf:
        colours = {str(use.colour) for use in walk(pdf) if use.role is Role.GRADIENT}
    assert colours == {"rgb 0 0 255", "rgb 0 255 0"}


def _vertex(flag: int | None, x: int, y: int, colour: tuple[int, ...]) -> bytes:
    head = b"" if flag is None else bytes([flag])
    return head + bytes([x, y]) + bytes(colour)


RED, GREEN, WHITE = (255, 0, 0), (0, 255, 0), (255, 255, 255)
_PATCH_POINTS = bytes([0, 0, 0, 80, 0, 160, 0, 255, 80, 255, 160, 255, 255, 255, 255, 160,
                       255, 80, 255, 0, 160, 0, 80, 0])  # fmt: skip
_MESHES = {
    4: b"".join(
        _vertex(0, x, y, c) for x, y, c in ((0, 0, RED), (255, 0, GREEN), (0, 255, RED))
    ),
    5: b"".join(
        _vertex(None, x, y, c)
        for x, y, c in ((0, 0, RED), (255, 0, GREEN), (0, 255, RED), (255, 255, WHITE))
    ),
    6: bytes([0]) + _PATCH_POINTS + bytes(RED + GREEN + RED + WHITE),
    7: bytes([0]) + _PATCH_POINTS + bytes([80, 80, 80, 160, 160, 160, 160, 80])
    + bytes(RED + GREEN + RED + WHITE),
}  # fmt: skip


@pytest.mark.parametrize("kind", sorted(_MESHES))
def test_a_mesh(kind: int) -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        flag = "" if kind == 5 else "/BitsPerFlag 8"
        row = "/VerticesPerRow 2" if kind == 5 else ""
        shading = stream(
            pdf,
            _MESHES[kind],
            f"<< /ShadingType {kind} /ColorSpace /DeviceRGB /BitsPerCoordinate 8 "
            f"/BitsPerComponent 8 {flag} {row} /Decode [0 100 0 100 0 1 0 1 0 1] >>",
        )
        resource(page, "/Shading", "/S", shading)

    source = document(b"/S sh", setup=setup)
    same_kind = proven(source, "rgb 255 0 0 = rgb 0 0 255", render=True)
    with opened(same_kind) as pdf:
        colours = {str(use.colour) for use in walk(pdf) if use.role is Role.GRADIENT}
    assert "rgb 0 0 255" in colours
    assert "rgb 255 0 0" not in colours
    other = proven(source, "rgb 255 0 0 = cmyk 0 90 80 0", "rgb 0 255 0 = cmyk 80 0 90 0")
    with opened(other) as pdf:
        assert str(pdf.pages[0].Resources.Shading.S.ColorSpace) == "/DeviceCMYK"


def test_a_mesh_through_a_function() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        data = b"".join(
            _vertex(0, x, y, (v,)) for x, y, v in ((0, 0, 0), (255, 0, 128), (0, 255, 255))
        )
        shading = stream(
            pdf,
            data,
            "<< /ShadingType 4 /ColorSpace /DeviceCMYK /BitsPerCoordinate 8 /BitsPerComponent 8 "
            "/BitsPerFlag 8 /Decode [0 100 0 100 0 1] /Function << /FunctionType 2 /Domain [0 1] "
            "/N 1 /C0 [0.85 0.2 0.6 0.3] /C1 [0 0 0 0] >> >>",
        )
        resource(page, "/Shading", "/S", shading)

    source = document(b"/S sh", setup=setup)
    with opened(proven(source, SWAP, render=True)) as pdf:
        shading = pdf.pages[0].Resources.Shading.S
        assert [round(float(v), 2) for v in shading.Function.C0] == [0.78, 0.12, 0.55, 0.41]
        assert shading.read_bytes() == b"".join(
            _vertex(0, x, y, (v,)) for x, y, v in ((0, 0, 0), (255, 0, 128), (0, 255, 255))
        )


@pytest.mark.parametrize(
    ("entries", "data"),
    [
        ("/W 2 /H 2 /BPC 8 /CS /Cs1", b"\x00\x40\x80\xff"),
        ("/W 2 /H 2 /BitsPerComponent 8 /ColorSpace /Cs1 /D [1 0]", b"\x00\x40\x80\xff"),
        ("/W 4 /H 1 /BPC 2 /CS /Cs1 /F /AHx", b"1B>"),
    ],
)
def test_an_inline_image_in_a_spot_becomes_process_by_a_table(entries: str, data: bytes) -> None:
    content = b"q 50 0 0 50 0 0 cm BI " + entries.encode() + b" ID " + data + b" EI Q"
    source = document(content, f"<< /ColorSpace << /Cs1 {KELP} >> >>")
    assert b"/Cs1" in content_of(proven(source, "spot Kelp = cmyk 10 20 30 40").data)
    text = content_of(proven(source, "spot Kelp = cmyk 10 20 30 40", options=PROCESS).data)
    assert b"/Indexed" in text
    assert b"/Cs1" not in text
    assert b"ID " + data + b" EI Q" in text


def test_an_inline_image_in_a_spot_that_cannot_become_process_is_reported() -> None:
    content = b"q 50 0 0 50 0 0 cm BI /W 1 /H 1 /BPC 8 /CS /Cs1 /F /DCT ID abc EI Q"
    source = document(content, f"<< /ColorSpace << /Cs1 {KELP} >> >>")
    result = recolour(source, swaps("spot Kelp = cmyk 10 20 30 40"), options=PROCESS)
    assert "spot-image" in codes(result)
    with opened(result) as pdf:
        assert "/Cs1" in pdf.pages[0].Resources.ColorSpace


def test_inline_photographs_stay_and_are_counted_once() -> None:
    picture = b"q 9 0 0 9 0 0 cm BI /W 1 /H 1 /BPC 8 /CS /RGB ID abc EI Q "

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        resource(page, "/XObject", "/F", form(pdf, picture + b"0 0 9 9 re f"))

    content = picture * 2 + OLD_K + b" /F Do 0 g /F Do"  # the form is followed twice
    result = proven(document(content, setup=setup), f"{OLD} = {NEW}", "gray 100 = gray 90")
    assert result.photographs == 3
    assert content_of(result.data).count(picture) == 2
