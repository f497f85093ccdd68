"""Colours with a profile: recognised by what that makes of them, judged by Ghostscript's plates."""

import io
from pathlib import Path

import pikepdf
import pytest
from PIL import Image, ImageCms

from artwork_kit import (
    codes,
    content_of,
    document,
    opened,
    parsed,
    proven,
    resource,
    stream,
    swaps,
)  # fmt: skip
from inkaccord.artwork.profiled import Profiled
from inkaccord.artwork.recolouring.recolour import (
    RecolouredFile,
    RecolourOptions,
    recolour,
)
from inkaccord.artwork.swaps import NEUTRALS, NEUTRALS_IN_RGB
from outside import GHOSTSCRIPT_CMYK, KRITA_CMYK, need_file, plates
from page_kit import saved

pytestmark = pytest.mark.slow

KELP = "rgb 20 92 78 = cmyk 78 12 55 41"
PLAIN = RecolourOptions(profiled=Profiled.PLAIN)
SRGB = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
CALIBRATED = (  # sRGB's colorants and white (IEC 61966-2-1), and a gamma near its curve
    "[/CalRGB << /WhitePoint [0.9505 1 1.089] /Gamma [2.2 2.2 2.2] /Matrix [0.4124 0.2126 0.0193"
    " 0.3576 0.7152 0.1192 0.1805 0.0722 0.9505] >>]"
)
WIDE = GHOSTSCRIPT_CMYK.parent / "a98.icc"
"""A published RGB profile with wider colorants than sRGB."""


def _with_profile(data: bytes, count: int):
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        profile = pdf.make_indirect(pdf.make_stream(data, N=count))
        resource(page, "/ColorSpace", "/Cs", pikepdf.Array([pikepdf.Name.ICCBased, profile]))

    return setup


def _painted(numbers: str, data: bytes = SRGB, count: int = 3) -> bytes:
    content = f"/Cs cs {numbers} sc 0 0 50 50 re f".encode()
    return document(content, setup=_with_profile(data, count))


def _in(profile: bytes, rgb: tuple[int, int, int]) -> str:
    """Return sRGB in another RGB, by LittleCMS, 8 bits: as a program writes it."""
    ends = [ImageCms.ImageCmsProfile(io.BytesIO(one)) for one in (SRGB, profile)]
    intent = ImageCms.Intent.RELATIVE_COLORIMETRIC
    turned = ImageCms.profileToProfile(
        Image.new("RGB", (1, 1), rgb), *ends, renderingIntent=intent, outputMode="RGB"
    )
    assert turned is not None
    return " ".join(f"{value / 255:.5f}" for value in turned.getpixel((0, 0)))


def _inks(made: RecolouredFile, folder: Path, x: int = 20, y: int = 20) -> list[float]:
    found = plates(made.data, folder)
    row = found["Cyan"].shape[0] - 1 - y
    return [float(found[ink][row, x]) for ink in ("Cyan", "Magenta", "Yellow", "Black")]


def _is(*inks: float) -> object:
    return pytest.approx(list(inks), abs=0.3)


def test_a_colour_in_srgb_is_the_rgb_of_the_order(tmp_path: Path) -> None:
    made = proven(_painted("0.078431 0.360784 0.305882"), KELP, render=True)
    assert _inks(made, tmp_path) == _is(78, 12, 55, 41)


def test_a_tint_in_srgb_is_a_tint(tmp_path: Path) -> None:
    made = proven(_painted("0.53922 0.68039 0.65294"), KELP, render=True)
    assert _inks(made, tmp_path) == _is(39, 6, 27.5, 20.5)


def test_a_colour_in_a_wider_rgb_is_found_by_its_look(tmp_path: Path) -> None:
    wide = need_file(WIDE, "libgs-common").read_bytes()
    numbers = _in(wide, (20, 92, 78))
    assert (
        max(abs(float(v) * 255 - w) for v, w in zip(numbers.split(), (20, 92, 78), strict=True))
        > 20
    )
    made = proven(_painted(numbers, wide), KELP, render=True)
    assert _inks(made, tmp_path) == _is(78, 12, 55, 41)


def test_its_numbers_in_a_wider_rgb_are_another_colour_unless_they_are_plain(
    tmp_path: Path,
) -> None:
    source = _painted("0.078431 0.360784 0.305882", need_file(WIDE, "libgs-common").read_bytes())
    made = proven(source, KELP)
    assert content_of(made.data) == content_of(source)
    assert "profiled-colour" in codes(made)
    plain = proven(source, KELP, options=PLAIN, render=True)
    assert _inks(plain, tmp_path) == _is(78, 12, 55, 41)


def test_calibrated_rgb_and_cielab_are_found_by_their_look(tmp_path: Path) -> None:
    # kelp's CIELAB by LittleCMS: transicc -n -t1 -i sRGB -o *Lab4, 20 92 78
    lab = "[/Lab << /WhitePoint [0.9642 1 0.8249] /Range [-100 100 -100 100] >>]"
    content = (
        b"/C cs 0.078 0.361 0.306 sc 0 0 50 50 re f /L cs 34.58 -25.35 1.53 sc 50 0 50 50 re f"
    )
    source = document(content, f"<< /ColorSpace << /C {CALIBRATED} /L {lab} >> >>")
    made = proven(source, KELP, render=True)
    assert _inks(made, tmp_path) == _is(78, 12, 55, 41)
    assert _inks(made, tmp_path, x=70) == _is(78, 12, 55, 41)


def test_cielab_of_the_order_is_found_in_rgb_with_a_profile(tmp_path: Path) -> None:
    made = proven(_painted("0.078431 0.360784 0.305882"), "lab 34.6 -25.4 1.5 = cmyk 78 12 55 41")
    assert _inks(made, tmp_path) == _is(78, 12, 55, 41)


@pytest.mark.parametrize("profile", [KRITA_CMYK, GHOSTSCRIPT_CMYK], ids=lambda it: it.stem)
def test_a_build_means_its_numbers_where_the_document_has_a_profile_for_them(
    profile: Path, tmp_path: Path
) -> None:
    data = need_file(profile, "krita-data and libgs-common").read_bytes()
    made = proven(
        _painted("0.8496 0.2 0.5996 0.3", data, 4),
        "cmyk 85 20 60 30 = cmyk 78 12 55 41",
        render=True,
    )
    assert _inks(made, tmp_path) == _is(78, 12, 55, 41)


def test_black_type_in_cmyk_with_a_profile_is_black_ink(tmp_path: Path) -> None:
    data = need_file(KRITA_CMYK, "krita-data").read_bytes()
    made = proven(_painted("0 0 0 1", data, 4), KELP, NEUTRALS, render=True)
    assert _inks(made, tmp_path) == _is(0, 0, 0, 100)


def test_black_type_is_no_dark_brand_colour(tmp_path: Path) -> None:
    made = proven(_painted("0 0 0"), "rgb 2 0 1 = cmyk 60 40 40 100", NEUTRALS)
    assert _inks(made, tmp_path) == _is(0, 0, 0, 100)


def test_greys_with_a_profile_are_plain_rgb_for_a_device_in_rgb() -> None:
    made = proven(_painted("0.5 0.5 0.5"), NEUTRALS_IN_RGB)
    assert b"0.5 0.5 0.5 rg" in content_of(made.data)
    plain = document(b"0.2 0.201 0.2 rg 0 0 50 50 re f")
    assert content_of(proven(plain, NEUTRALS_IN_RGB).data) == content_of(plain)


def test_a_slip_is_told_by_how_far_it_looks_off() -> None:
    source = _painted("0.1 0.37 0.33")
    made = proven(source, KELP)
    assert content_of(made.data) == content_of(source)
    (said,) = [one.message for one in made.findings if one.code == "near-miss"]
    assert "ΔE00" in said


def test_a_damaged_profile_leaves_its_colours_alone() -> None:
    source = _painted("0.078431 0.360784 0.305882", SRGB[:300])
    made = proven(source, KELP)
    assert content_of(made.data) == content_of(source)
    assert any("can't be read" in one.message for one in made.findings)


# -- gradients ----------------------------------------------------------------------------------


def _ramp(first: str, last: str, data: bytes = SRGB) -> bytes:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        profile = pdf.make_indirect(pdf.make_stream(data, N=3))
        function = f"<< /FunctionType 2 /Domain [0 1] /N 1 /C0 [{first}] /C1 [{last}] >>"
        shading = parsed(f"<< /ShadingType 2 /Coords [0 0 100 0] /Function {function} >>")
        shading["/ColorSpace"] = pikepdf.Array([pikepdf.Name.ICCBased, profile])
        resource(page, "/Shading", "/S", shading)

    return document(b"/S sh", setup=setup)


KELP_TO_AMBER = ("0.078431 0.360784 0.305882", "0.941176 0.619608 0.156863")
AMBER = "rgb 240 158 40 = cmyk 4 60 70 0"


@pytest.mark.parametrize("options", [RecolourOptions(), PLAIN], ids=["as-profiled", "plain"])
def test_a_gradient_of_two_brand_colours_moves(options: RecolourOptions, tmp_path: Path) -> None:
    made = proven(_ramp(*KELP_TO_AMBER), KELP, AMBER, options=options, render=True)
    assert _inks(made, tmp_path, x=50) == pytest.approx([41, 36, 62.5, 20.5], abs=1.2)


def test_a_gradient_to_white_follows_the_tints(tmp_path: Path) -> None:
    made = proven(_ramp(KELP_TO_AMBER[0], "1 1 1"), KELP, render=True)
    assert _inks(made, tmp_path, x=50) == pytest.approx([39, 6, 27.5, 20.5], abs=1.2)


def test_the_other_end_is_named_by_its_look_and_can_be_given_so(tmp_path: Path) -> None:
    source = _ramp(*KELP_TO_AMBER)
    made = recolour(source, swaps(KELP))
    assert "mixed-kinds" in codes(made)
    (other,) = made.without_build
    assert other.kind == "lab"
    beside = RecolourOptions(beside=tuple(swaps(f"{other} = cmyk 4 60 70 0")))
    whole = proven(source, KELP, options=beside, render=True)
    assert _inks(whole, tmp_path, x=50) == pytest.approx([41, 36, 62.5, 20.5], abs=1.2)
    named = proven(source, KELP, f"{other} = cmyk 4 60 70 0", render=True)
    assert _inks(named, tmp_path, x=50) == pytest.approx([41, 36, 62.5, 20.5], abs=1.2)


def test_the_other_end_of_plain_numbers_is_named_by_those(tmp_path: Path) -> None:
    source = _ramp(*KELP_TO_AMBER)
    (other,) = recolour(source, swaps(KELP), options=PLAIN).without_build
    assert str(other).startswith("rgb 240")
    beside = PLAIN.model_copy(update={"beside": tuple(swaps(f"{other} = cmyk 4 60 70 0"))})
    whole = proven(source, KELP, options=beside, render=True)
    assert _inks(whole, tmp_path, x=50) == pytest.approx([41, 36, 62.5, 20.5], abs=1.2)


@pytest.mark.parametrize("options", [RecolourOptions(), PLAIN], ids=["as-profiled", "plain"])
def test_a_gradient_of_greys_with_a_profile_is_black_ink(
    options: RecolourOptions, tmp_path: Path
) -> None:
    made = proven(_ramp("0 0 0", "1 1 1"), NEUTRALS, options=options, render=True)
    assert _inks(made, tmp_path, x=30) == pytest.approx([0, 0, 0, 70], abs=1.2)


def test_in_rgb_the_other_end_is_the_rgb_that_looks_alike() -> None:
    made = proven(_ramp(*KELP_TO_AMBER), "rgb 20 92 78 = rgb 32 70 116", render=True)
    with pikepdf.open(io.BytesIO(made.data)) as pdf:
        shading = pdf.pages[0].Resources.Shading.S
        assert shading.ColorSpace == "/DeviceRGB"
        last = [float(value) for value in shading.Function.C1]
    assert last == pytest.approx([0.941176, 0.619608, 0.156863], abs=0.002)


def test_white_may_stay_in_a_gradient_and_go_beside_it() -> None:
    source = _ramp("1 1 1", "0.8 0.1 0.2")
    with pikepdf.open(io.BytesIO(source)) as pdf:
        page = pdf.pages[0]
        page.Resources.ColorSpace = pikepdf.Dictionary(Cs=page.Resources.Shading.S.ColorSpace)
        page.Contents = pdf.make_stream(b"/S sh /Cs cs 1 1 1 sc 0 0 50 50 re f")
        both = saved(pdf)
    made = proven(both, KELP, NEUTRALS, render=True)
    assert b"0 0 0 0 k" in content_of(made.data)


def test_plain_a_colour_that_only_loses_its_profile_follows_in_a_table() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        entries = "<< /Subtype /Image /Width 2 /Height 1 /BitsPerComponent 8 >>"
        image = stream(pdf, b"\x00\x01", entries)
        profile = pdf.make_stream(need_file(GHOSTSCRIPT_CMYK).read_bytes(), N=4)
        base = pikepdf.Array([pikepdf.Name.ICCBased, profile])
        table = pikepdf.String(bytes([217, 51, 153, 76, 0, 51, 0, 26]))
        image["/ColorSpace"] = pikepdf.Array([pikepdf.Name.Indexed, base, 1, table])
        resource(page, "/XObject", "/I", image)

    made = proven(
        document(b"q 50 0 0 50 0 0 cm /I Do Q", setup=setup),
        "cmyk 85 20 60 30 = cmyk 10 90 55 0",
        options=PLAIN,
    )
    with opened(made) as pdf:
        space = pdf.pages[0].Resources.XObject.I.ColorSpace
        assert space[1] == "/DeviceCMYK"
        assert bytes(space[3]) == bytes([26, 230, 140, 0, 0, 51, 0, 26])


def test_plain_a_colour_that_only_loses_its_profile_follows_in_a_gradient(tmp_path: Path) -> None:
    source, kept = _ramp(*KELP_TO_AMBER), "rgb 240 158 40 = rgb 240 158 40"
    (other,) = recolour(source, swaps(KELP, kept), options=PLAIN).without_build
    beside = PLAIN.model_copy(update={"beside": tuple(swaps(f"{other} = cmyk 4 60 70 0"))})
    whole = proven(source, KELP, kept, options=beside, render=True)
    assert _inks(whole, tmp_path, x=50) == pytest.approx([41, 36, 62.5, 20.5], abs=1.2)
