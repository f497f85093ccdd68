"""Colours in forms, patterns, glyphs, annotations, soft masks and inks that mix."""

import io
from pathlib import Path

import numpy as np
import pikepdf
import pytest

from artwork_kit import (
    KELP,
    NEW,
    NEW_K,
    OLD,
    OLD_K,
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
from gradient_kit import value
from inkaccord.artwork.content.walk import walk
from inkaccord.artwork.proof.prove import prove
from inkaccord.artwork.recolouring.ink_mixtures import mixed_inks
from inkaccord.artwork.recolouring.recolour import (
    RecolourOptions,
    SpotMode,
    recolour,
    swap_table,
)
from inkaccord.artwork.roles import Role
from inkaccord.errors import OrderError
from inkaccord.pdf.colours.functions import read_function
from inkaccord.pdf.ink_rendering import ink_pages
from inkaccord.pdf.streams import StreamReader
from outside import need_program, plates
from page_kit import saved

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


@pytest.mark.parametrize("shown", [(0, 1), (0, 0), (0,)], ids=["look", "comment", "no-page"])
def test_colours_of_comments_that_share_objects_or_stand_on_no_page_change_once(
    shown: tuple[int, ...],
) -> None:
    """Each old colour becomes the other's new one: to change it twice would change it back."""

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        look = pdf.make_indirect(parsed("<< /BG [0.85 0.2 0.6 0.3] >>"))
        fields = []
        for name in "ab":
            field = parsed(
                f"<< /Type /Annot /Subtype /Widget /FT /Tx /T ({name}) /Rect [0 0 20 20] "
                "/C [0.85 0.2 0.6 0.3] /DA (/F 9 Tf 0.85 0.2 0.6 0.3 k) >>"
            )
            field.MK = look
            fields.append(pdf.make_indirect(field))
        page.obj.Annots = pikepdf.Array([fields[at] for at in shown])
        pdf.Root.AcroForm = pikepdf.Dictionary(Fields=fields)

    result = proven(document(setup=setup), SWAP, f"{NEW} = {OLD}")
    with opened(result) as pdf:
        for field in pdf.Root.AcroForm.Fields:
            assert [float(v) for v in field.MK.BG] == [0.78, 0.12, 0.55, 0.41]
            assert [float(v) for v in field.C] == [0.78, 0.12, 0.55, 0.41]
            assert bytes(field.DA) == b"/F 9 Tf " + NEW_K


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


@pytest.mark.parametrize("options", [RecolourOptions(), PROCESS], ids=["kept", "process"])
@pytest.mark.parametrize("inside", [False, True], ids=["alone", "by-a-form-in-it"])
def test_a_mask_takes_what_it_uses_from_the_page_before_the_page_changes(
    options: RecolourOptions, inside: bool
) -> None:
    """Its group has no resources of its own, and paints with a spot that the page names."""

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        painting = b"/K cs 0.5 scn 0 0 50 100 re f"
        if inside:
            resource(page, "/XObject", "/F", form(pdf, painting))
        entries = "<< /Group << /S /Transparency /CS /DeviceCMYK >> >>"
        group = form(pdf, b"/F Do" if inside else painting, entries)
        for name in ("/M", "/N"):  # two masks with one group
            mask = pikepdf.Dictionary(S=pikepdf.Name.Luminosity, G=group)
            resource(page, "/ExtGState", name, pikepdf.Dictionary(SMask=mask))
        resource(page, "/ColorSpace", "/K", pdf.make_indirect(parsed(KELP)))

    content = b"/K cs 1 scn 50 50 9 9 re f q /M gs 0 1 0 0 k 0 0 100 100 re f Q /N gs 1 0 0 1 re f"
    result = proven(
        document(content, setup=setup), "spot Kelp = cmyk 0 0 90 0", options=options, render=True
    )
    with opened(result) as pdf:
        states = pdf.pages[0].Resources.ExtGState
        for state in (states.M, states.N):
            group = state.SMask.G
            drawn = group.Resources.XObject.F if inside else group
            assert b"/K cs 0.5 scn" in drawn.read_bytes()
            space = (drawn if "/Resources" in drawn else group).Resources.ColorSpace.K
            assert [float(v) for v in space[3].C1] == [0.2, 0.4, 0.6, 0.1]


# -- the plates themselves --------------------------------------------------------------------


def test_a_spot_named_as_a_plate_is_that_plate() -> None:
    black = KELP.replace("/Kelp", "/Black")
    source = document(b"/K cs 1 scn 0 0 9 9 re f", f"<< /ColorSpace << /K {black} >> >>")
    with pytest.raises(OrderError, match="is the black plate itself") as caught:
        recolour(source, swaps("spot Black = cmyk 0 0 90 0"))
    assert caught.value.findings[0].code == "reserved-colorant"
    result = proven(source, "spot Black = cmyk 0 0 90 0", options=PROCESS, render=True)
    assert b"0 0 0.9 0 k" in content_of(result.data)


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
        old = read_function(pdf.pages[0].Resources.ColorSpace.D[3], StreamReader())
        black = old(0, 0.5)
    result = recolour(source, swaps("spot Kelp = cmyk 10 20 30 0"))
    with opened(result) as pdf:
        new = read_function(pdf.pages[0].Resources.ColorSpace.D[3], StreamReader())
        assert new(1, 0) == pytest.approx((0.1, 0.2, 0.3, 0), abs=2e-5)
        assert new(0.5, 0) == pytest.approx((0.05, 0.1, 0.15, 0), abs=2e-5)
        assert new(0, 0.5) == pytest.approx(black, abs=2e-5)


def test_a_brand_colour_among_the_plates_and_two_more_spots_that_stay() -> None:
    """All inks of a document in one space, as layout programs write it: the others stay."""
    names = ("Cyan", "Magenta", "Yellow", "Black", "Kelp", "Gold")

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        count = len(names)
        domain, bounds = "0 1 " * count, "0 1 " * 4
        entries = f"<< /FunctionType 4 /Domain [{domain}] /Range [{bounds}] >>"
        adding = stream(pdf, b"{ add 0.3 mul add dup 1 gt { pop 1 } if }", entries)
        space = parsed(f"[/DeviceN [{' '.join(f'/{name}' for name in names)}] /DeviceCMYK null]")
        space[3] = adding
        resource(page, "/ColorSpace", "/D", space)

    fills = (
        (0.1, 0.2, 0, 0.1, 0.5, 0), (0, 0, 0, 0, 0.25, 0.25), (0, 0, 0, 0, 1, 0),
        (0, 0, 0, 0, 0, 1), (0.1, 0.2, 0.3, 0.4, 0, 0),
    )  # fmt: skip
    bars = "".join(
        f"/D cs {' '.join(map(str, fill))} scn {20 * at} 0 20 99 re f "
        for at, fill in enumerate(fills)
    )
    made = proven(document(bars.encode(), setup=setup), f"spot Kelp = {NEW}", render=True)
    assert not made.errors
    need_program("gs", "ghostscript")
    (page,) = ink_pages(made.data, dpi=72, bits=16)
    build = (0.78, 0.12, 0.55, 0.41)
    for at, (*own_inks, kelp, gold) in enumerate(fills):
        adds = (0, 0, 0, 0.3 * gold)
        want = [
            min(own + kelp * new + more, 1.0)
            for own, new, more in zip(own_inks, build, adds, strict=True)
        ]
        assert page.samples[50, 20 * at + 10] / page.full == pytest.approx(want, abs=0.004)


def test_inks_that_stay_are_asked_once_for_all_tints_of_the_swapped_one() -> None:
    asked = []

    def others(*point: float) -> tuple[float, ...]:
        asked.append(point)
        return (0.0, 0.0, point[1], point[2])

    table = swap_table(swaps("spot Kelp = cmyk 10 20 30 40"), RecolourOptions())
    made = list(mixed_inks(table, ["Kelp", "Foil", "Black"], others, {0: 0}))
    assert len(made) == 17**3
    assert len(asked) == len(set(asked)) == 17**2
    # Half of Kelp, all of Foil, a sixteenth of Black: by hand.
    assert made[8 + 17 * 16 + 17**2] == pytest.approx((0.05, 0.1, 1, 0.2 + 1 / 16))


def _mixture(inks: str, alternate: str, outputs: str):
    """Return what puts a DeviceN space on a page that says in another kind how its inks look."""

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        transform = stream(
            pdf, b"{ 0.5 mul exch 0.3 mul add 1 exch sub dup dup }",
            f"<< /FunctionType 4 /Domain [0 1 0 1] /Range [{outputs}] >>",
        )  # fmt: skip
        space = parsed(f"[/DeviceN [{inks}] {alternate} null]")
        space[3] = transform
        page.obj.Resources = pikepdf.Dictionary(ColorSpace=pikepdf.Dictionary(D=space))

    return setup


OTHER_KINDS = [
    ("/DeviceRGB", "0 1 0 1 0 1"),
    ("[/Lab << /WhitePoint [0.9642 1 0.8249] >>]", "0 100 -100 100 -100 100"),
    ("[/CalRGB << /WhitePoint [0.95 1 1.09] >>]", "0 1 0 1 0 1"),
]


@pytest.mark.parametrize(("alternate", "outputs"), OTHER_KINDS)
def test_a_spot_beside_the_devices_own_inks_is_told_anew_in_cmyk(
    alternate: str, outputs: str, tmp_path: Path
) -> None:
    source = document(
        b"/D cs 1 0 scn 0 0 50 50 re f 0.5 0.4 scn 50 50 50 50 re f",
        setup=_mixture("/Kelp /Black", alternate, outputs),
    )
    result = proven(source, "spot Kelp = cmyk 10 20 30 0", render=True)
    with opened(result) as pdf:
        space = pdf.pages[0].Resources.ColorSpace.D
        assert space[2] == "/DeviceCMYK"
        assert value(space[3], 1.0, 0.0) == pytest.approx((0.1, 0.2, 0.3, 0), abs=2e-5)
        assert value(space[3], 0.5, 0.5) == pytest.approx((0.05, 0.1, 0.15, 0.5), abs=2e-5)
    found = plates(result.data, tmp_path)
    assert [found[ink].max() for ink in ("Kelp", "Black", "Cyan")] == pytest.approx([100, 40, 0])
    (page,) = ink_pages(result.data, dpi=72, bits=16, pages=[1])
    seen = np.asarray(page.samples, dtype=float)[25, 75] / 655.35
    assert seen == pytest.approx([5, 10, 15, 40], abs=0.1)


@pytest.mark.parametrize(("alternate", "outputs"), OTHER_KINDS)
def test_beside_another_spot_told_in_another_kind_it_is_refused_in_words(
    alternate: str, outputs: str
) -> None:
    source = document(
        b"/D cs 1 0.5 scn 0 0 50 50 re f", setup=_mixture("/Kelp /Plum", alternate, outputs)
    )
    result = recolour(source, swaps("spot Kelp = cmyk 10 20 30 0"))
    (said,) = [one for one in result.errors if one.code == "inks-not-rewritten"]
    assert "what Plum looks like" in said.message
    assert said.place.page == 1
    both = proven(source, "spot Kelp = cmyk 10 20 30 0", "spot Plum = cmyk 0 50 10 0")
    with opened(both) as pdf:
        made = value(pdf.pages[0].Resources.ColorSpace.D[3], 1.0, 0.5)
    assert made == pytest.approx((0.1, 0.45, 0.35, 0), abs=2e-5)


def test_a_broken_table_of_inks_told_anew_does_not_pass_the_proof() -> None:
    source = document(
        b"/D cs 1 0 scn 0 0 50 50 re f", setup=_mixture("/Kelp /Black", *OTHER_KINDS[0])
    )
    asked = swaps("spot Kelp = cmyk 10 20 30 0")
    good = recolour(source, asked)
    with opened(good) as pdf:
        function = pdf.pages[0].Resources.ColorSpace.D[3]
        data = bytearray(function.read_bytes())
        data[-2:] = b"\0\0"  # all of both inks: black goes missing
        function.write(bytes(data))
        broken = saved(pdf)
    assert prove(source, good.data, asked, render=False).passed
    assert prove(source, broken, asked, render=False).structure.verdict == "fail"
