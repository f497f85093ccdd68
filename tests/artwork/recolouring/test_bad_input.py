"""Content that breaks the rules: a right result with a warning, or a clear refusal."""

from collections.abc import Callable
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
from inkaccord.artwork.content.walk import walk
from inkaccord.artwork.inventory.inventory import inventory
from inkaccord.artwork.recolouring.recolour import RecolourOptions, SpotMode, recolour
from inkaccord.artwork.recolouring.unhandled import LEFT_ALONE
from inkaccord.errors import FileError
from inkaccord.pdf.limits import FileLimits
from inkaccord.pdf.opening import open_artwork
from outside import plates

SWAP = f"{OLD} = {NEW}"
BOX = b" 0 0 50 50 re f"
PROCESS = RecolourOptions(spots=SpotMode.PROCESS)
KELP_SWAP = "spot Kelp = cmyk 10 20 30 0"


@pytest.mark.parametrize("content", [b"q q " + OLD_K + BOX, b"Q Q " + OLD_K + BOX + b" Q"])
def test_unbalanced_states(content: bytes) -> None:
    result = proven(document(content), SWAP, render=True)
    assert "unbalanced-states" in codes(result)
    assert content_of(result.data) == content.replace(OLD_K, NEW_K)


@pytest.mark.parametrize(
    "bad",
    [b"0.85 0.2 k", b"(a) k", b"[1 0 0 0] k", b"cs", b"/X /Y rg", b"sc", b"0..5 g", b"1-2 0 0 rg"],
)
def test_wrong_operands_stay_and_are_reported(bad: bytes) -> None:
    content = bad + b" " + OLD_K + BOX
    result = recolour(document(content), swaps(SWAP))
    assert content_of(result.data) == content.replace(OLD_K, NEW_K)
    assert "bad-operands" in codes(result)


@pytest.mark.parametrize(
    "numbers",
    [
        b"--0.85 0.2 0.6 0.3", b"0.85 0.2 0.6-0.3", b"0.85.2.6.3", b"0.85 0.2 0.6 0.3.",
        b"0.85 0.2 0.6 0.3-5", b"0.85 . 0.2 0.6 0.3", b"0.85 %c\n0.2 0.6 0.3.1",
    ],
)  # fmt: skip
@pytest.mark.parametrize("word", [b"k", b"K", b"sc", b"SCN"])
def test_misspelt_numbers_that_some_reader_takes_for_a_swapped_colour_hold_the_piece(
    numbers: bytes, word: bytes
) -> None:
    """Ghostscript, PDFium and poppler each read other numbers in these (tried)."""
    start = {b"sc": b"/DeviceCMYK cs ", b"SCN": b"/DeviceCMYK CS "}.get(word, b"")
    content = OLD_K + BOX + b" 0 1 0 0 k " + start + numbers + b" " + word + BOX
    result = recolour(document(content), swaps(SWAP))
    assert [one.code for one in result.errors] == ["misspelt-colour"]
    assert "cmyk 85 20 60 30" in result.errors[0].message
    assert result.errors[0].place.box_mm is None  # what is spelt well stands elsewhere


@pytest.mark.parametrize(
    ("name", "space", "held"),
    [
        ("/G", KELP, True),
        ("/RGB", "[/DeviceCMYK]", True),
        ("/CMYK", f"[/Indexed {KELP} 0 <FF>]", True),
        ("/RGB", "/DeviceRGB", False),
        ("/CS0", KELP, False),
    ],
)
def test_a_space_called_as_one_of_the_device_holds_the_piece(
    name: str, space: str, held: bool
) -> None:
    """Of ``/G cs`` Ghostscript prints the device's grey, poppler and PDFium the other (tried)."""
    source = document(
        f"{OLD_K.decode()} 0 0 9 9 re f {name} cs".encode(),
        f"<< /ColorSpace << {name} {space} >> >>",
    )
    made = recolour(source, swaps(SWAP), options=PROCESS)
    assert [one.code for one in made.errors] == ["named-space"] * held


@pytest.mark.parametrize("kind", ["picture", "gradient", "plain gradient"])
def test_what_names_the_space_that_it_would_have_to_leave_holds_the_piece(kind: str) -> None:
    """Ghostscript finds the name in the page's resources, poppler does not (tried)."""

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        resource(page, "/XObject", "/I", stream(pdf, b"\xff", f"<< {_PIXEL} >>"))
        page.obj.Resources.XObject.I["/ColorSpace"] = pikepdf.Name("/K")

    ends = {"gradient": "/C0 [1] /C1 [0]", "plain gradient": "/C0 [0.85 0.2 0.6 0.3] /C1 [0 0 0 0]"}
    ramp = f"<< /FunctionType 2 /Domain [0 1] /N 1 {ends.get(kind, '')} >>"
    shading = f"<< /ShadingType 2 /ColorSpace /K /Coords [0 0 9 0] /Function {ramp} >>"
    space = "[/DeviceCMYK]" if kind == "plain gradient" else KELP
    resources = f"/ColorSpace << /K {space} >>"
    if kind == "picture":
        source = document(b"/I Do", f"<< {resources} >>", setup)
    else:
        source = document(b"/S sh", f"<< {resources} /Shading << /S {shading} >> >>")
    result = recolour(source, swaps(SWAP, KELP_SWAP), options=PROCESS)
    assert "named-space" in {one.code for one in result.errors}
    (said,) = [one.message for one in result.errors if one.code == "named-space"]
    assert "/K" in said


AGAIN = b"/K cs .3 scn" + BOX + b" "


@pytest.mark.parametrize(
    "content",
    [
        AGAIN + b"/K cs" + BOX, AGAIN + b"q /K cs 0 0 9 9 re B Q",
        b"/K CS .3 SCN /K CS 0 0 9 9 re s",
        AGAIN + b"/K cs q 0 0 9 9 re f Q 1 scn", AGAIN + b"/F Do", b"/F Do " + AGAIN + b"/F Do",
        AGAIN + b"/G Do",
    ],
)  # fmt: skip
def test_a_spot_chosen_again_after_a_tint_holds_the_piece(content: bytes) -> None:
    """Full ink by the standard (8.6.8) and for poppler; Ghostscript, PDFium go on with the tint."""
    result = recolour(_again(content), swaps(KELP_SWAP), options=PROCESS)
    assert [one.code for one in result.errors] == ["chosen-again"]
    assert "after spot Kelp 30%" in result.errors[0].message


@pytest.mark.parametrize(
    "content",
    [
        AGAIN + b"/K cs .6 scn" + BOX, AGAIN + b"q /K cs Q" + BOX, AGAIN + b"/K cs 0 0 9 9 re S",
        b"/K cs 1 scn" + BOX + b" /K cs" + BOX, AGAIN + b"0 g /K cs" + BOX,
        b"/K cs" + BOX + b" /F Do",
        AGAIN + b"/K cs q 0 g" + BOX + b" Q 1 scn" + BOX, AGAIN + b"/K cs 0 0 9 9 re n",
    ],
)  # fmt: skip
def test_a_spot_chosen_again_in_vain_or_as_it_was_is_fine(content: bytes) -> None:
    proven(_again(content), KELP_SWAP, options=PROCESS)
    assert not recolour(_again(content), swaps(KELP_SWAP), options=PROCESS).errors


def _again(content: bytes) -> bytes:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        resource(page, "/XObject", "/F", form(pdf, b"/K cs" + BOX))
        resource(page, "/XObject", "/G", form(pdf, b"/F Do"))

    return document(content, f"<< /ColorSpace << /K {KELP} >> >>", setup)


def test_misspelt_numbers_in_the_space_of_whoever_draws_them() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        resource(page, "/XObject", "/F", form(pdf, b"0.85 0.2 0.6 0.3. sc 0 0 9 9 re f"))

    for space, held in ((b"/DeviceGray", False), (b"/DeviceCMYK", True)):
        content = b"/DeviceRGB cs /F Do " + space + b" cs /F Do " + OLD_K + BOX
        assert bool(recolour(document(content, setup=setup), swaps(SWAP)).errors) is held


@pytest.mark.parametrize("outside", [True, False])
def test_only_a_drawn_character_is_a_stencil(outside: bool) -> None:
    """Elsewhere renderers pass over the operator that says so, and go on painting."""
    stray = b"9 0 0 0 9 9 d1 " + OLD_K + BOX

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        hidden = form(pdf, stray)
        hidden["/OC"] = pdf.make_indirect(parsed("<< /Type /OCG /Name (Notes) >>"))
        layers = pikepdf.Dictionary(OCGs=[hidden.OC], D=pikepdf.Dictionary(OFF=[hidden.OC]))
        pdf.Root["/OCProperties"] = layers
        resource(page, "/XObject", "/F", hidden)

    content = stray if outside else OLD_K + BOX + b" /F Do"
    result = proven(document(content, setup=setup), SWAP, render=True)
    assert content_of(result.data) == content.replace(OLD_K, NEW_K)
    with opened(result) as pdf:
        assert pdf.pages[0].Resources.XObject.F.read_bytes() == stray.replace(OLD_K, NEW_K)


@pytest.mark.parametrize(
    "content", [b"/No cs 1 sc", b"/No gs", b"/No Do", b"/No sh", b"/Pattern cs /No scn"]
)
def test_missing_resources(content: bytes) -> None:
    result = proven(document(content + b" " + OLD_K + BOX), SWAP)
    assert content_of(result.data).endswith(NEW_K + BOX)


def test_a_form_that_draws_itself() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        loop = form(pdf, OLD_K + BOX + b" /F Do", "<< /Resources << /XObject << >> >> >>")
        loop.Resources.XObject.F = loop
        resource(page, "/XObject", "/F", loop)

    result = proven(document(b"/F Do", setup=setup), SWAP)
    assert "content-loop" in codes(result)
    with opened(result) as pdf:
        assert pdf.pages[0].Resources.XObject.F.read_bytes() == NEW_K + BOX + b" /F Do"


def test_a_pattern_that_paints_with_itself() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        entries = (
            "<< /PatternType 1 /PaintType 1 /TilingType 1 /BBox [0 0 9 9] /XStep 9 /YStep 9 "
            "/Resources << /Pattern << >> >> >>"
        )
        loop = stream(pdf, b"/Pattern cs /P scn" + BOX, entries)
        loop.Resources.Pattern.P = loop
        resource(page, "/Pattern", "/P", loop)

    result = proven(document(b"/Pattern cs /P scn" + BOX, setup=setup), SWAP)
    with opened(result) as pdf:
        assert pdf.pages[0].Resources.Pattern.P.read_bytes() == b"/Pattern cs /P scn" + BOX


def _nested(depth: int) -> bytes:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        inner = form(pdf, OLD_K + BOX)
        for _ in range(depth - 1):
            outer = form(pdf, b"/F Do", "<< /Resources << /XObject << >> >> >>")
            outer.Resources.XObject.F = inner
            inner = outer
        resource(page, "/XObject", "/F", inner)

    return document(b"/F Do", setup=setup)


def test_forms_nested_to_the_limit_and_beyond() -> None:
    proven(_nested(FileLimits.nesting), SWAP)
    with pytest.raises(FileError) as problem:
        recolour(_nested(FileLimits.nesting + 1), swaps(SWAP))
    assert problem.value.findings[0].code == "nested-too-deep"
    assert problem.value.findings[0].place.page == 1


def test_forms_that_multiply_are_followed_once() -> None:
    """Four levels of ten calls each: ten thousand drawings, five streams."""

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        inner = form(pdf, OLD_K + BOX)
        for _ in range(4):
            outer = form(pdf, b"/F Do " * 10, "<< /Resources << /XObject << >> >> >>")
            outer.Resources.XObject.F = inner
            inner = outer
        resource(page, "/XObject", "/F", inner)

    source = document(b"/F Do", setup=setup)
    proven(source, SWAP)
    with open_artwork(source) as pdf:
        assert [use.count for use in walk(pdf) if str(use.colour) == OLD] == [10**4]


def test_a_limit_on_the_streams_that_are_followed(bound: Callable[..., None]) -> None:
    bound(calls=5)
    with pytest.raises(FileError) as problem:
        recolour(_nested(9), swaps(SWAP))
    assert problem.value.findings[0].code == "too-much-drawn"


@pytest.mark.parametrize(
    "space",
    [
        "[/Indexed [/Indexed /DeviceRGB 0 <00>] 0 <00>]",
        "[/Indexed /DeviceRGB]",
        "[/Separation /Kelp /DeviceCMYK]",
        "[/ICCBased 7]",
        "[/DeviceN [] /DeviceCMYK null]",
        "[/Nobody]",
        "/S",
        "[/Lab << >>]",
        "42",
    ],
)
def test_colour_spaces_that_make_no_sense(space: str) -> None:
    source = document(
        b"/S cs 1 sc" + BOX + b" " + OLD_K + BOX, f"<< /ColorSpace << /S {space} >> >>"
    )
    result = recolour(source, swaps(SWAP, "spot Kelp = cmyk 1 2 3 4"))
    assert content_of(result.data).endswith(NEW_K + BOX)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("/S cs 1 scn /Nowhere cs .5 scn", "0.15 0 0.45 0.1 k"),
        ("/S cs 1 scn /Nowhere cs", "0.3 0 0.9 0.2 k"),
        ("/I cs 1 sc /Nowhere cs 0 sc", "0.78 0.12 0.55 0.41 k"),
        ("0 0 0 1 k /Nowhere cs .85 .2 .6 .3 scn", "0.78 0.12 0.55 0.41 k"),
    ],
)
def test_a_space_that_is_not_there_leaves_the_colour_before(
    old: str, new: str, tmp_path: Path
) -> None:
    """Ghostscript 10.00, poppler and PDFium pass the choice over (tried)."""
    box = " 0 0 60 60 re f"
    resources = f"<< /ColorSpace << /S {KELP} /I [/Indexed /DeviceCMYK 1 <D933994DFF000000>] >> >>"
    asked = ["spot Kelp = cmyk 30 0 90 20", SWAP]
    made = proven(document((old + box).encode(), resources), *asked, options=PROCESS, render=True)
    assert codes(made) == {"bad-colour-space"}
    found, wanted = (plates(one, tmp_path) for one in (made.data, document((new + box).encode())))
    assert max(np.abs(found[name] - wanted[name]).max() for name in wanted) < 1


@pytest.mark.parametrize(
    ("place", "held"), [("1", False), ("1.4", True), (".6", True), ("2.5", False)]
)
def test_a_place_between_two_of_a_table_is_held_if_one_of_them_changes(
    place: str, held: bool
) -> None:
    """Ghostscript 10.00 and PDFium take the one before, poppler the nearest (tried)."""
    table = "[/Indexed /DeviceCMYK 3 <00FF0000D933994D000000FF00FF00FF>]"
    content = f"/I cs {place} sc".encode() + BOX + b" 1 sc" + BOX
    made = recolour(document(content, f"<< /ColorSpace << /I {table} >> >>"), swaps(SWAP))
    assert {it.code for it in made.errors} == ({"misspelt-colour"} if held else set())


@pytest.mark.parametrize("ends", ["/U scn 1 scn", "/U scn 0 1 0 0 scn"])
@pytest.mark.parametrize("form_takes_it", [False, True])
def test_a_colour_where_a_pattern_is_due_is_passed_over(
    ends: str, form_takes_it: bool, tmp_path: Path
) -> None:
    """As by Ghostscript 10.00, poppler and PDFium (tried)."""
    cell = "/PatternType 1 /PaintType 2 /TilingType 1 /BBox [0 0 20 20] /XStep 20 /YStep 20"

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        resource(
            page, "/Pattern", "/U", stream(pdf, b"0 0 9 20 re f", f"<< {cell} /Resources << >> >>")
        )
        resource(page, "/ColorSpace", "/P", parsed(f"[/Pattern {KELP}]"))
        resource(page, "/ColorSpace", "/C", parsed("[/Pattern /DeviceCMYK]"))
        inner = b".3 scn" + BOX if form_takes_it else b"0 0 1 0 k" + BOX
        resource(page, "/XObject", "/F", form(pdf, inner))

    old = document(f"/P cs 1 {ends}".encode() + BOX + b" /F Do", setup=setup)
    made = proven(old, KELP_SWAP, options=PROCESS, render=True)
    assert codes(made) == {"bad-operands"}
    twin = document(b"/C cs .1 .2 .3 0 /U scn" + BOX + b" /F Do", setup=setup)
    found, wanted = (plates(one, tmp_path) for one in (made.data, twin))
    assert max(np.abs(found[name] - wanted[name]).max() for name in wanted) < 1


@pytest.mark.parametrize(
    "names", ["/Separation [/Kelp]", "/Separation (Kelp)", "/DeviceN [(Kelp)]"]
)
def test_an_ink_whose_name_is_no_name_is_not_taken_for_that_ink(names: str) -> None:
    space = KELP.replace("/Separation /Kelp", names)
    source = document(b"/S cs 1 sc" + BOX, f"<< /ColorSpace << /S {space} >> >>")
    result = recolour(source, swaps("spot Kelp = cmyk 1 2 3 4"))
    assert "bad-colour-space" in {one.code for one in result.findings}
    assert all(not count.solids for count in result.counts)


def test_a_colour_space_built_on_itself() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        space = pdf.make_indirect(parsed("[/Separation /Kelp null << /FunctionType 2 >>]"))
        space[2] = space
        page.obj.Resources = pikepdf.Dictionary(ColorSpace=pikepdf.Dictionary(S=space))

    result = recolour(document(b"/S cs 1 sc" + BOX, setup=setup), swaps("spot Kelp = cmyk 1 2 3 4"))
    assert result.data


def test_a_colour_table_built_on_itself_does_not_hold_the_proof_up() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        table = pdf.make_indirect(parsed("[/Indexed null 1 <0000>]"))
        table[1] = table
        page.obj.Resources = pikepdf.Dictionary(ColorSpace=pikepdf.Dictionary(L=table))

    proven(document(OLD_K + BOX, setup=setup), f"{OLD} = {NEW}")


@pytest.mark.parametrize(
    "function",
    [
        "<< /FunctionType 9 /Domain [0 1] >>",
        "<< /FunctionType 2 /Domain [0 1] >>",
        "<< /FunctionType 2 /Domain [0 1] /N 1 /C0 [0] /C1 [1 1] >>",
        "<< /FunctionType 3 /Domain [0 1] /Functions [] /Bounds [] /Encode [] >>",
        "null",
        "[]",
    ],
)
def test_gradients_whose_function_makes_no_sense(function: str) -> None:
    shading = f"<< /ShadingType 2 /ColorSpace /DeviceCMYK /Coords [0 0 9 9] /Function {function} >>"
    source = document(b"/S sh " + OLD_K + BOX, f"<< /Shading << /S {shading} >> >>")
    result = proven(source, SWAP)
    assert "bad-shading" in codes(result)


@pytest.mark.parametrize(
    "program",
    [b"{", b"{ 1 2 }}", b"{ nobody }", b"{ pop pop pop }", b"{ 0 div }", b"{ 9 99 copy }", b"x",
     b"{ -1 sqrt }", b"{ 1e999 cvi }", b"{" * 200 + b"}" * 200],
)  # fmt: skip
def test_calculators_that_fail(program: bytes) -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        shading = parsed("<< /ShadingType 2 /ColorSpace /DeviceGray /Coords [0 0 9 9] >>")
        shading.Function = stream(pdf, program, "<< /FunctionType 4 /Domain [0 1] /Range [0 1] >>")
        resource(page, "/Shading", "/S", shading)

    assert "bad-shading" in codes(proven(document(b"/S sh", setup=setup), SWAP))


# -- found by fuzzing (fuzz_recolour.py), made small ----------------------------------------------


@pytest.mark.parametrize(
    "resources",
    [
        pytest.param("<< /ColorSpace << /S /n#ef#01 >> >>", id="space-name-no-utf8"),
        pytest.param("<< /ColorSpace << /S [/n#ff /Kelp] >> >>", id="family-no-utf8"),
        pytest.param("<< /ColorSpace << /a#ff [/Separation /Kelp] >> >>", id="key-no-utf8"),
        pytest.param("<< /ExtGState << /G << /OPM /Odd /OP true >> >> >>", id="mode-is-a-name"),
        pytest.param("<< /Shading << /S 1 >> /Pattern << /P 2 >> /XObject 3 >>", id="numbers"),
        pytest.param("<< /Pattern << /P << /PatternType 2 /Shading 7 >> >> >>", id="no-shading"),
    ],
)
def test_entries_of_a_wrong_kind(resources: str) -> None:
    source = document(b"/S cs /G gs " + OLD_K + BOX, resources)
    result = proven(source, SWAP, "spot Kelp = cmyk 1 2 3 4")
    assert content_of(result.data).endswith(NEW_K + BOX)


def test_an_operator_that_is_no_utf8_is_compared_by_bytes() -> None:
    proven(document(b"\xe9\xff " + OLD_K + BOX), SWAP)


def test_a_spot_whose_name_is_no_utf8_is_listed_and_swapped() -> None:
    """Older programs write the letters of their system, such as Latin-1."""
    space = KELP.replace("/Kelp", "/Gr#fcn")
    source = document(b"/K cs 1 scn" + BOX, f"<< /ColorSpace << /K {space} >> >>")
    (found,) = inventory(source).colours
    assert found.colour.paint is not None
    made = proven(source, f"{found.colour.paint.spoken} = {NEW}", options=PROCESS, render=True)
    assert content_of(made.data).endswith(NEW_K + BOX)


@pytest.mark.parametrize("filters", ["/n#c0#01", "[/FlateDecode /n#ff]"])
def test_a_filter_whose_name_is_no_utf8(filters: str) -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        page.obj.Contents.write(b"abc", filter=parsed(filters))

    assert "unreadable-stream" in codes(recolour(document(setup=setup), swaps(SWAP)))


def test_a_field_that_is_in_no_form_of_the_file_is_recoloured_in_silence() -> None:
    """Merged files have such; a warning of a library would fail here, and stand on the screen."""

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        field = parsed("<< /Type /Annot /Subtype /Widget /FT /Btn /T (a) /Rect [0 0 9 9] >>")
        field["/AP"] = pikepdf.Dictionary(N=form(pdf, OLD_K + BOX))
        page.obj["/Annots"] = pikepdf.Array([pdf.make_indirect(field)])
        pdf.Root["/AcroForm"] = pikepdf.Dictionary(Fields=page.Annots)

    source = document(setup=setup).replace(b"/AcroForm", b"/NotAForm")
    with opened(proven(source, SWAP)) as pdf:
        assert pdf.pages[0].Annots[0].AP.N.read_bytes() == NEW_K + BOX


def test_form_fields_that_are_no_array() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        pdf.Root.AcroForm = parsed("<< /Fields << /A 1 >> /DA 5 >>")

    proven(document(OLD_K + BOX, setup=setup), SWAP)


def test_an_appearance_without_a_subtype_is_content_all_the_same() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        note = parsed("<< /Type /Annot /Subtype /Square /Rect [0 0 9 9] >>")
        note.AP = pikepdf.Dictionary(N=pdf.make_stream(OLD_K + BOX))
        page.obj.Annots = pikepdf.Array([pdf.make_indirect(note)])

    proven(document(setup=setup), SWAP)


def test_text_in_a_glyph_s_inherited_colour_counts_as_text_only() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        font = parsed(
            "<< /Type /Font /Subtype /Type3 /FontBBox [0 0 9 9] /FontMatrix [0.1 0 0 0.1 0 0] "
            "/FirstChar 97 /LastChar 97 /Widths [9] /Encoding << /Differences [97 /a] >> "
            "/CharProcs << >> /Resources << >> >>"
        )
        font.CharProcs.a = pdf.make_stream(b"9 0 d0 0 0 9 9 re f")
        resource(page, "/Font", "/T", pdf.make_indirect(font))

    source = document(OLD_K + b" BT /T 9 Tf (a) Tj ET", setup=setup)
    proven(source, SWAP, "gray 100 = gray 90")


# -- what is not handled, each shown being reported ----------------------------------------------


def _state(entries: str) -> bytes:
    return document(b"/G gs", f"<< /ExtGState << /G << {entries} >> >> >>")


def _annotation(entries: str) -> bytes:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        page.obj.Annots = parsed(f"[<< /Type /Annot /Rect [0 0 9 9] {entries} >>]")

    return document(setup=setup)


def _root(entries: str) -> bytes:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        for key, value in parsed(f"<< {entries} >>").items():
            pdf.Root[key] = value

    return document(setup=setup)


def _object(entries: str) -> bytes:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        resource(page, "/XObject", "/X", stream(pdf, b"\0", f"<< /Type /XObject {entries} >>"))

    return document(setup=setup)


_PIXEL = "/Subtype /Image /Width 1 /Height 1 /BitsPerComponent 8 /ColorSpace /DeviceGray"
_IDENTITY = "<< /FunctionType 2 /Domain [0 1] /N 1 >>"
_DUOTONE = (
    "[/DeviceN [/Kelp /Black] /DeviceCMYK << /FunctionType 2 /Domain [0 1] /N 1 "
    "/C0 [0 0 0 0] /C1 [1 0 0 0] >>]"
)


def _alternates() -> bytes:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        picture, other = (stream(pdf, b"\0", f"<< {_PIXEL} >>") for _ in range(2))
        picture["/Alternates"] = pikepdf.Array([pikepdf.Dictionary(Image=other)])
        resource(page, "/XObject", "/X", picture)

    return document(b"/X Do", setup=setup)


SHOWN = {
    "attachment": _root("/Names << /EmbeddedFiles << /Names [] >> >>"),
    "portfolio": _root("/Collection << >>"),
    "xfa": _root("/AcroForm << /Fields [] /XFA () >>"),
    "rich-text": _annotation("/Subtype /FreeText /RC (<b>a</b>)"),
    "script": _root("/OpenAction << /S /JavaScript /JS (1) >>"),
    "media": _annotation("/Subtype /Movie"),
    "private-data": _root("/PieceInfo << >>"),
    "transfer-function": _state(f"/TR {_IDENTITY}"),
    "halftone": _state("/HT << /HalftoneType 1 /Frequency 60 /Angle 45 /SpotFunction /Round >>"),
    "black-generation": _state(f"/BG {_IDENTITY}"),
    "postscript": _object("/Subtype /PS"),
    "alternate-image": _alternates(),
    "proxy-image": _object(_PIXEL + " /OPI << >>"),
    "other-document": _object("/Subtype /Form /BBox [0 0 9 9] /Ref << /Page 0 >>"),
    "many-ink-picture": _object(_PIXEL.replace("/DeviceGray", _DUOTONE)),
}


def test_every_construct_that_is_left_alone_is_shown() -> None:
    assert set(SHOWN) == set(LEFT_ALONE)


@pytest.mark.parametrize("code", sorted(SHOWN))
def test_what_is_left_alone_is_reported(code: str) -> None:
    result = recolour(SHOWN[code], swaps(SWAP, "spot Kelp = cmyk 10 20 30 0"))
    messages = [one.message for one in result.findings if one.code == "left-alone"]
    assert any(LEFT_ALONE[code] in message for message in messages)
    assert not any(one.code == "left-alone" for one in recolour(document(), swaps(SWAP)).findings)


def test_a_glyph_that_sets_a_colour_in_its_caller_s_space_is_held() -> None:
    """Where the text leaves a table or spot, it would set a colour of another space."""

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        font = parsed(
            "<< /Type /Font /Subtype /Type3 /FontBBox [0 0 9 9] /FontMatrix [0.1 0 0 0.1 0 0] "
            "/FirstChar 97 /LastChar 97 /Widths [9] /Encoding << /Differences [97 /a] >> "
            "/CharProcs << >> /Resources << >> >>"
        )
        font.CharProcs.a = pdf.make_stream(b"9 0 d0 1 sc 0 0 9 9 re f")
        resource(page, "/Font", "/T", pdf.make_indirect(font))

    table = "[/Indexed /DeviceCMYK 1 <D933994D00FF0000>]"
    source = document(
        b"/I cs 0 sc BT /T 9 Tf (a) Tj ET", f"<< /ColorSpace << /I {table} >> >>", setup
    )
    assert {it.code for it in recolour(source, swaps(SWAP)).errors} == {"glyph-state"}


@pytest.mark.parametrize(
    ("category", "thing"),
    [
        ("/Pattern", "<< /PatternType 1 >>"),
        ("/XObject", "<< /Subtype /Form >>"),
        ("/XObject", "<< /Subtype /Image /ColorSpace /DeviceCMYK /Width 1 /Height 1 >>"),
        ("/Shading", "<< /ShadingType 4 /ColorSpace /DeviceCMYK >>"),
        (
            "/Shading",
            "<< /ShadingType 2 /ColorSpace /DeviceCMYK /Coords [0 0 1 1] /Function << "
            "/FunctionType 4 /Domain [0 1] /Range [0 1 0 1 0 1 0 1] >> >>",
        ),
    ],
)  # fmt: skip
def test_a_dictionary_that_should_be_a_stream_and_that_nothing_draws(
    category: str, thing: str
) -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        resource(page, category, "/Odd", pdf.make_indirect(parsed(thing)))

    result = proven(document(OLD_K + b" 0 0 50 50 re f", setup=setup), f"{OLD} = {NEW}")
    assert content_of(result.data).startswith(NEW_K)
    assert not result.errors


_SIGNED_FIELD = "<< /FT /Sig /T (S) /V << /Type /Sig /Filter /Standard /ByteRange [0 1 2 3] >> >>"


@pytest.mark.parametrize(
    ("entries", "signed"),
    [
        (f"/AcroForm << /SigFlags 3 /Fields [{_SIGNED_FIELD}] >>", True),
        (f"/AcroForm << /Fields [<< /T (A) /Kids [{_SIGNED_FIELD}] >>] >>", True),
        ("/Perms << /DocMDP << /Type /Sig >> >>", True),
        ("/AcroForm << /SigFlags 1 /Fields [<< /FT /Sig /T (waits) >>] >>", False),
        ("/AcroForm << /SigFlags 3 /Fields [] >>", False),
    ],
)  # fmt: skip
def test_a_signature_that_recolouring_would_break_stops_it(entries: str, *, signed: bool) -> None:
    made = recolour(_root(entries), swaps(SWAP))
    assert [one.code for one in made.errors] == (["signed-file"] if signed else [])
