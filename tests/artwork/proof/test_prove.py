"""The proof fails when it must: each kind of mistake, made by hand in a finished file."""

import io
import shutil
from collections.abc import Callable

import pikepdf
import pytest
from PIL import Image

from artwork_kit import (
    KELP,
    NEW,
    NEW_K,
    OLD,
    OLD_K,
    document,
    failures,
    form,
    parsed,
    proven,
    resource,
    stream,
    swaps,
)
from inkaccord.apart.crew import Allowance
from inkaccord.artwork.proof.prove import CopyProof, ProofVerdict, prove
from inkaccord.artwork.proof.shading_values import UnreadableShadingError, evaluator
from inkaccord.artwork.recolouring.recolour import RecolourOptions, recolour
from inkaccord.pdf import ghostscript
from outside import need_program
from page_kit import changed

SWAPS = swaps(f"{OLD} = {NEW}")
BOX = b" 0 0 50 50 re f"
TEXT = b" BT /F1 12 Tf 5 60 Td (lantern) Tj ET"
FONT = "<< /Font << /F1 << /Type /Font /Subtype /Type1 /BaseFont /Helvetica >> >> >>"
SOURCE = document(OLD_K + BOX + b" 0 0 0 1 k 60 60 9 9 re f" + TEXT, FONT)


def replaced(old: bytes, new: bytes) -> Callable[[pikepdf.Pdf], None]:
    def change(pdf: pikepdf.Pdf) -> None:
        contents = pdf.pages[0].obj.Contents
        data = bytes(contents.read_bytes())
        assert old in data
        contents.write(data.replace(old, new))

    return change


def proof_of(change: Callable[[pikepdf.Pdf], None], *, render: bool = False) -> CopyProof:
    made = recolour(SOURCE, SWAPS)
    return prove(SOURCE, changed(made.data, change), SWAPS, render=render)


def test_a_right_file_passes_all_three_parts() -> None:
    need_program("gs", "ghostscript")
    proof = prove(SOURCE, recolour(SOURCE, SWAPS).data, SWAPS)
    assert [proof.inventory.verdict, proof.structure.verdict, proof.rendering.verdict] == [
        ProofVerdict.PASS
    ] * 3
    assert proof.passed
    assert "1 content stream read by a second parser" in proof.structure.checked
    assert "0 as mixtures" in proof.rendering.checked


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        pytest.param(NEW_K, OLD_K, "missing: cmyk 78 12 55 41", id="not-swapped"),
        pytest.param(NEW_K, b"0.78 0.12 0.55 0.42 k", "not expected", id="one-percent-off"),
        pytest.param(b"0 0 0 1 k", NEW_K, "cmyk 0 0 0 100 as fill", id="swapped-too-much"),
    ],
)
def test_the_inventory_sees_a_wrong_colour(old: bytes, new: bytes, words: str) -> None:
    proof = proof_of(replaced(old, new))
    assert proof.inventory.verdict is ProofVerdict.FAIL
    assert any(words in detail for detail in proof.inventory.details)
    assert not proof.passed


@pytest.mark.parametrize(
    ("old", "new"),
    [
        pytest.param(b"(lantern)", b"(Lantern)", id="text"),
        pytest.param(b"50 re f", b"51 re f", id="geometry"),
        pytest.param(b"12 Tf", b"11 Tf", id="font-size"),
        pytest.param(b" f", b" f*", id="filling-rule"),
        pytest.param(b"BT", b"q Q BT", id="an-operator-more"),
    ],
)
def test_the_structure_sees_any_other_change(old: bytes, new: bytes) -> None:
    proof = proof_of(replaced(old, new))
    assert proof.structure.verdict is ProofVerdict.FAIL
    assert proof.structure.details
    assert not proof.passed


def _other_font(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].Resources.Font.F1.BaseFont = pikepdf.Name.Courier


def _other_box(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].obj.MediaBox = pikepdf.Array([0, 0, 99, 100])


def _more_metadata(pdf: pikepdf.Pdf) -> None:
    pdf.Root.Lang = pikepdf.String("en")


def _another_page(pdf: pikepdf.Pdf) -> None:
    pdf.add_blank_page()


@pytest.mark.parametrize("change", [_other_font, _other_box, _more_metadata, _another_page])
def test_the_structure_sees_a_change_of_objects(change: Callable[[pikepdf.Pdf], None]) -> None:
    assert proof_of(change).structure.verdict is ProofVerdict.FAIL


def test_image_samples_must_stay() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        image = (
            "<< /Subtype /Image /Width 1 /Height 1 /BitsPerComponent 8 /ColorSpace /DeviceRGB >>"
        )
        resource(page, "/XObject", "/I", stream(pdf, b"abc", image))

    def change(pdf: pikepdf.Pdf) -> None:
        pdf.pages[0].Resources.XObject.I.write(b"abd")

    source = document(b"/I Do", setup=setup)
    proof = prove(source, changed(source, change), SWAPS, render=False)
    assert proof.structure.verdict is ProofVerdict.FAIL


def test_a_spot_with_a_wrong_build_fails() -> None:
    source = document(b"/K cs 1 scn" + BOX, f"<< /ColorSpace << /K {KELP} >> >>")
    wanted = swaps("spot Kelp = cmyk 10 20 30 40")
    made = recolour(source, wanted)

    def change(pdf: pikepdf.Pdf) -> None:
        pdf.pages[0].Resources.ColorSpace.K[3].C1 = parsed("[0.1 0.2 0.3 0.41]")

    assert prove(source, made.data, wanted, render=False).passed
    proof = prove(source, changed(made.data, change), wanted, render=False)
    assert any("off its build by 1.00 %" in detail for detail in proof.inventory.details)


def test_a_leftover_under_another_object_fails_though_no_rendering_shows_it() -> None:
    source = document(OLD_K + BOX + b" 0 0 0 1 k" + BOX)
    made = recolour(source, SWAPS)
    proof = prove(source, changed(made.data, replaced(NEW_K, OLD_K)), SWAPS)
    assert proof.rendering.verdict is not ProofVerdict.FAIL
    assert proof.inventory.verdict is ProofVerdict.FAIL


def test_a_colour_set_in_vain_becomes_one_that_is_painted_beside_it() -> None:
    """What is painted, set first in vain, is one colour in two spellings, and in one afterwards."""
    content = b"/DeviceCMYK cs 0.85 0.2 0.6 0.3 sc " + OLD_K + BOX + b" " + NEW_K + BOX
    made = proven(document(content), f"{OLD} = {NEW}", render=True)
    left = changed(made.data, replaced(NEW_K + b" " + NEW_K, OLD_K + b" " + NEW_K))
    assert any("old colour" in one for one in failures(prove(document(content), left, SWAPS)))


@pytest.mark.parametrize("render", ["whole-stream", "by-bytes"])
def test_streams_the_second_parser_cannot_take_are_compared_by_bytes(render: str) -> None:
    source = document(b"0.85 0.2 0.6 0.3k" + BOX)
    made = proven(source, f"{OLD} = {NEW}")
    proof = prove(source, made.data, SWAPS, render=False)
    assert "1 compared byte by byte" in proof.structure.checked
    if render == "by-bytes":
        bad = changed(made.data, replaced(b"50 re", b"51 re"))
        assert not prove(source, bad, SWAPS, render=False).passed


def test_what_cannot_be_read_cannot_be_vouched_for() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        page.obj.Contents.write(b"abc", filter=pikepdf.Name("/NobodyKnows"))

    source = document(setup=setup)
    proof = prove(source, recolour(source, SWAPS).data, SWAPS, render=False)
    assert proof.inventory.verdict is ProofVerdict.FAIL


# -- gradients --------------------------------------------------------------------------------

_STOPS = (
    "<< /FunctionType 3 /Domain [0 1] /Bounds [0.5] /Encode [0 1 0 1] /Functions ["
    "<< /FunctionType 2 /Domain [0 1] /N 1 /C0 [{}] /C1 [{}] >>"
    "<< /FunctionType 2 /Domain [0 1] /N 1 /C0 [{}] /C1 [{}] >>] >>"
)
_OLD_STOPS = ("0 0 0 0", "0 1 0 0", "0.85 0.2 0.6 0.3", "0 0 0 0")
_NEW_STOP = "0.78 0.12 0.55 0.41"


def _with_gradient(*stops: str) -> bytes:
    shading = "<< /ShadingType 2 /ColorSpace /DeviceCMYK /Coords [0 0 100 0] /Function {} >>"
    return document(b"/S sh", f"<< /Shading << /S {shading.format(_STOPS.format(*stops))} >> >>")


@pytest.mark.parametrize(
    ("stops", "right"),
    [
        pytest.param(("0 0 0 0", "0 1 0 0", _NEW_STOP, "0 0 0 0"), True, id="right"),
        pytest.param(("0 0 0 0", _NEW_STOP, _NEW_STOP, "0 0 0 0"), False, id="a-jump-bridged"),
        pytest.param(("0 0 0 0", "0 1 0 0", _NEW_STOP, "0.1 0 0 0"), False, id="paper-inked"),
        pytest.param(("0 0 0 0", "0 0.97 0 0", _NEW_STOP, "0 0 0 0"), False, id="another-moved"),
        pytest.param(
            ("0 0 0 0", "0 1 0 0", "0.78 0.12 0.55 0.44", "0 0 0 0"), False, id="3-percent-off"
        ),
    ],
)
def test_gradients_are_computed(stops: tuple[str, ...], right: bool) -> None:
    proof = prove(_with_gradient(*_OLD_STOPS), _with_gradient(*stops), SWAPS, render=False)
    assert proof.passed is right
    if not right:
        assert any("the gradient" in detail for detail in proof.structure.details)


# -- renderings -------------------------------------------------------------------------------


def test_the_rendering_sees_a_colour_that_was_not_swapped() -> None:
    need_program("gs", "ghostscript")
    proof = prove(SOURCE, SOURCE, SWAPS)
    assert proof.rendering.verdict is ProofVerdict.FAIL
    assert any("still show cmyk 85 20 60 30" in detail for detail in proof.rendering.details)


def test_the_rendering_tells_759_from_760() -> None:
    """An 8-bit rendering does not: both are 194 of 255."""
    need_program("gs", "ghostscript")
    source = document(b"0.5 0 0 0 k" + BOX)
    wanted = swaps("cmyk 50 0 0 0 = cmyk 76 0 0 0")
    right = recolour(source, wanted)
    wrong = changed(right.data, replaced(b"0.76 0 0 0 k", b"0.759 0 0 0 k"))
    assert prove(source, right.data, wanted).rendering.verdict is ProofVerdict.PASS
    proof = prove(source, wrong, wanted)
    assert proof.rendering.verdict is ProofVerdict.FAIL
    assert any("to cmyk 75.9 0 0 0" in detail for detail in proof.rendering.details)
    assert round(0.759 * 255) == round(0.76 * 255)


def test_the_rendering_sees_a_change_where_no_swapped_colour_stood() -> None:
    need_program("gs", "ghostscript")
    proof = proof_of(replaced(b"60 60 9 9 re", b"60 60 20 9 re"), render=True)
    assert proof.rendering.verdict is ProofVerdict.FAIL


def test_a_blend_is_not_judged_pixel_by_pixel() -> None:
    need_program("gs", "ghostscript")
    source = document(
        b"0 1 0 0 k 0 0 30 30 re f /G gs " + OLD_K + BOX, "<< /ExtGState << /G << /ca 0.5 >> >> >>"
    )
    proof = prove(source, recolour(source, SWAPS).data, SWAPS)
    assert proof.passed
    assert ", 0 as mixtures" not in proof.rendering.checked


def test_a_highlight_without_a_look_of_its_own_is_a_blend() -> None:
    need_program("gs", "ghostscript")

    def mark(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        highlight = parsed(
            "<< /Type /Annot /Subtype /Highlight /F 4 /Rect [10 10 60 60] /C [0.9 0.9 0.2] "
            "/QuadPoints [10 60 60 60 10 10 60 10] >>"
        )
        page.obj.Annots = pikepdf.Array([pdf.make_indirect(highlight)])

    proven(document(OLD_K + BOX, setup=mark), *SWAPS, render=True)


def test_a_jpeg_2000_with_a_soft_mask_of_its_own_lets_the_swapped_colour_through() -> None:
    packed = io.BytesIO()
    Image.new("RGBA", (8, 8), (200, 30, 30, 128)).save(packed, "JPEG2000", irreversible=False)

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        entries = (
            "<< /Type /XObject /Subtype /Image /Width 8 /Height 8 /Filter /JPXDecode "
            "/SMaskInData 1 >>"
        )
        resource(page, "/XObject", "/I", stream(pdf, packed.getvalue(), entries))

    source = document(OLD_K + b" 0 0 60 60 re f q 50 0 0 50 20 20 cm /I Do Q", setup=setup)
    proven(source, f"{OLD} = {NEW}", render=True)


def test_without_ghostscript_the_rendering_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(shutil, "which", lambda _: None)
    proof = prove(SOURCE, recolour(SOURCE, SWAPS).data, SWAPS)
    assert proof.rendering.verdict is ProofVerdict.NOT_RUN
    assert proof.rendering.details == ("Ghostscript is not installed",)
    assert proof.passed


def test_a_file_over_which_ghostscript_is_stopped_is_not_proved(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    need_program("gs", "ghostscript")
    monkeypatch.setattr(ghostscript, "GHOSTSCRIPT", Allowance("Ghostscript", seconds=60, mib=8))
    proof = prove(SOURCE, recolour(SOURCE, SWAPS).data, SWAPS)
    assert proof.rendering.verdict is ProofVerdict.FAIL
    assert not proof.passed
    (said,) = proof.refusals
    assert said.code == "not-proved"
    assert "could not be compared" in said.message
    assert "Ghostscript" in said.message
    assert said.in_program


def test_forms_and_forks_are_compared_with_their_originals() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        resource(page, "/XObject", "/F", form(pdf, b"1 0 0 sc 0 0 20 20 re f"))

    def change(pdf: pikepdf.Pdf) -> None:
        for name, one in pdf.pages[0].Resources.XObject.items():
            if name != "/F":
                one.write(bytes(one.read_bytes()).replace(b"20 20 re", b"20 21 re"))

    source = document(b"/DeviceRGB cs /F Do /DeviceGray cs /F Do", setup=setup)
    wanted = swaps("rgb 255 0 0 = rgb 0 0 255", "gray 100 = gray 50")
    made = recolour(source, wanted)
    assert prove(source, made.data, wanted, render=False).passed
    proof = prove(source, changed(made.data, change), wanted, render=False)
    assert proof.structure.verdict is ProofVerdict.FAIL


def test_a_proof_is_a_value_that_goes_to_json() -> None:
    proof = prove(SOURCE, recolour(SOURCE, SWAPS).data, SWAPS, RecolourOptions(), render=False)
    assert CopyProof.model_validate_json(proof.model_dump_json()) == proof
    assert CopyProof.model_json_schema()["properties"]["structure"]


def test_an_extension_level_that_the_version_supersedes_may_go() -> None:
    """qpdf drops it from a file of PDF 2.0, which needs none."""
    entry = b"/Extensions << /ADBE << /BaseVersion /1.7 /ExtensionLevel 3 >> >> /Pages"
    source = SOURCE.replace(b"%PDF-1.3", b"%PDF-2.0").replace(b"/Pages", entry, 1)
    proven(source, f"{OLD} = {NEW}")


def test_a_calculator_without_end_is_not_computed() -> None:
    with pikepdf.new() as pdf:
        entries = "<< /FunctionType 4 /Domain [0 1] /Range [0 1] >>"
        long = stream(pdf, b"{ " + b"dup pop " * 500_000 + b"}", entries)
        with pytest.raises(UnreadableShadingError, match="too long"):
            evaluator(long)
        assert evaluator(stream(pdf, b"{ 2 div }", entries))(0.5) == (0.25,)


@pytest.mark.parametrize("inline", [False, True])
@pytest.mark.parametrize(
    ("entries", "passes"),
    [
        ("C71F8C69 00FF0000 00000000", True),
        ("00FF0000 C71F8C69 00000000", False),  # the same colours at each other's places
        ("C71F8C69 C71F8C69 00000000", False),  # a colour that stays, taken for the brand's
        ("C71F8C69 00FF0000 00FF0000", False),  # bare paper, inked
        ("C71F8C69 00FF0000", False),
    ],
)
def test_every_entry_of_a_colour_table_is_judged_at_its_place(
    inline: bool, entries: str, passes: bool
) -> None:
    """Fills hold each colour too, so that none of them is missing on the page."""
    of_colours = "[/Indexed /DeviceCMYK 2 <{}>]"
    rest = b" 0 1 0 0 k" + BOX + b" 0 0 0 0 k" + BOX + b" q 20 0 0 20 60 60 cm "

    def made(brand: bytes, table: str) -> bytes:
        space = of_colours.format(table)
        drawn = f"BI /W 3 /H 1 /BPC 8 /CS {space} ID \0\1\2 EI" if inline else "/I Do"

        def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
            head = "<< /Type /XObject /Subtype /Image /Width 3 /Height 1 /BitsPerComponent 8"
            image = stream(pdf, b"\0\1\2", f"{head} /ColorSpace {space} >>")
            resource(page, "/XObject", "/I", image)

        return document(brand + BOX + rest + drawn.encode() + b" Q", setup=setup)

    before = made(OLD_K, "D933994C 00FF0000 00000000")
    proof = prove(before, made(NEW_K, entries), SWAPS, render=False)
    assert proof.passed is passes
    if not passes:
        assert any("colour table" in it for it in proof.structure.details)


@pytest.mark.parametrize(
    ("entries", "passes"),
    [
        ("D933994C 00FF0000 00000000", True),  # the brand's old colour: thumbnails stay
        ("C71F8C69 00FF0000 00000000", True),
        ("C71F8C69 C71F8C69 00000000", False),
    ],
)
def test_a_page_s_thumbnail_stays_or_follows(entries: str, passes: bool) -> None:
    """It is shown in lists of pages, never printed (ISO 32000-2, 12.3.4)."""

    def made(brand: bytes, table: str) -> bytes:
        def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
            space = f"/ColorSpace [/Indexed /DeviceCMYK 2 <{table}>]"
            page.Thumb = stream(
                pdf, b"\0\1\2", f"<< /Width 3 /Height 1 /BitsPerComponent 8 {space} >>"
            )

        return document(brand + BOX + b" 0 1 0 0 k" + BOX + b" 0 0 0 0 k" + BOX, setup=setup)

    before = made(OLD_K, "D933994C 00FF0000 00000000")
    assert prove(before, made(NEW_K, entries), SWAPS, render=False).passed is passes
