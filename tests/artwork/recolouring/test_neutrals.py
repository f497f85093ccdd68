"""White, black and greys that a program writes in RGB, as ink and paper."""

import io
from pathlib import Path

import numpy as np
import pikepdf
import pytest
from PIL import ImageCms

from artwork_kit import codes, content_of, document, proven, resource, swaps
from inkaccord.artwork.proof.prove import prove
from inkaccord.artwork.swap_table import SwapTable
from inkaccord.artwork.swaps import NEUTRALS
from inkaccord.colour.paints import Paint
from outside import plates

KELP = swaps("rgb 20 92 78 = cmyk 85 20 60 30")
SRGB = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


def _profiled(name: str, components: int):
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        profile = pdf.make_indirect(pdf.make_stream(SRGB, N=components))
        space = pikepdf.Array([pikepdf.Name.ICCBased, profile])
        resource(page, "/ColorSpace", name, space)

    return setup


def _at(data: bytes, tmp_path: Path, x: int, y: int) -> list[float]:
    found = plates(data, tmp_path)
    rows = found["Cyan"].shape[0]
    return [float(found[name][rows - 1 - y, x]) for name in ("Cyan", "Magenta", "Yellow", "Black")]


def test_black_white_and_greys_are_ink_and_paper_alone(tmp_path: Path) -> None:
    result = proven(
        document(
            b"0 0 0 rg 0 0 20 20 re f 0.5019608 0.5019608 0.5019608 rg 20 0 20 20 re f "
            b"0.98 0.98 0.98 rg 40 0 20 20 re f 0.078431 0.360784 0.305882 rg 0 40 60 40 re f "
            b"1 1 1 rg 10 50 20 20 re f 0.5 0.501 0.498 RG 0 30 m 60 30 l S"
        ),
        *KELP,
        NEUTRALS,
        render=True,
    )
    assert b"rg" not in content_of(result.data).lower()
    assert _at(result.data, tmp_path, 10, 10) == pytest.approx([0, 0, 0, 100], abs=0.3)
    assert _at(result.data, tmp_path, 30, 10) == pytest.approx([0, 0, 0, 49.8], abs=0.4)
    assert _at(result.data, tmp_path, 50, 10) == pytest.approx([0, 0, 0, 2], abs=0.4)
    assert _at(result.data, tmp_path, 20, 60) == pytest.approx([0, 0, 0, 0])
    assert _at(result.data, tmp_path, 50, 60) == pytest.approx([85, 20, 60, 30], abs=0.4)


def test_a_colour_that_is_nearly_grey_and_no_rounding_stays() -> None:
    result = proven(document(b"0.5 0.49 0.5 rg 0 0 20 20 re f"), NEUTRALS)
    assert b"0.5 0.49 0.5 rg" in content_of(result.data)


def test_a_slip_beside_a_grey_brand_colour_stays_and_is_told() -> None:
    result = proven(
        document(b"0.29 0.29 0.29 rg 0 0 20 20 re f"),
        *swaps("rgb 72 72 72 = cmyk 0 0 0 80"),
        NEUTRALS,
    )
    assert b"0.29 0.29 0.29 rg" in content_of(result.data)
    assert "near-miss" in codes(result)


@pytest.mark.parametrize(("components", "black"), [(1, b"0"), (3, b"0 0 0")])
def test_black_text_through_a_profile_is_black_ink(
    components: int, black: bytes, tmp_path: Path
) -> None:
    content = b"/Cs cs " + black + b" sc 0 0 40 40 re f"
    source = document(content, setup=_profiled("/Cs", components))
    result = proven(source, *KELP, NEUTRALS)
    assert _at(result.data, tmp_path, 20, 20) == pytest.approx([0, 0, 0, 100], abs=0.3)


def _ramp(first: str, last: str, space: str = "/DeviceRGB") -> bytes:
    function = f"<< /FunctionType 2 /Domain [0 1] /N 1 /C0 [{first}] /C1 [{last}] >>"
    shading = f"<< /ShadingType 2 /ColorSpace {space} /Coords [0 0 100 0] /Function {function} >>"
    return document(b"/S sh", f"<< /Shading << /S {shading} >> >>")


def test_a_gradient_of_greys_is_one_of_black_ink(tmp_path: Path) -> None:
    result = proven(_ramp("0 0 0", "1 1 1"), NEUTRALS, render=True)
    for x in (10, 50, 90):
        assert _at(result.data, tmp_path, x, 20) == pytest.approx([0, 0, 0, 100 - x], abs=1)


def test_a_gradient_of_greys_left_alone_does_not_pass_the_proof() -> None:
    source = _ramp("0 0 0", "1 1 1")
    assert prove(source, source, [NEUTRALS], render=False).structure.verdict == "fail"


def test_a_brand_colour_fades_to_white_by_its_tints_and_to_black(tmp_path: Path) -> None:
    paper = proven(_ramp("0.078431 0.360784 0.305882", "1 1 1"), *KELP, NEUTRALS)
    assert _at(paper.data, tmp_path, 50, 20) == pytest.approx([42.5, 10, 30, 15], abs=1)
    black = proven(_ramp("0.078431 0.360784 0.305882", "0 0 0"), *KELP, NEUTRALS)
    assert _at(black.data, tmp_path, 50, 20) == pytest.approx([42.5, 10, 30, 65], abs=1)


def test_a_black_that_fades_to_a_colour_that_stays_takes_nothing_with_it() -> None:
    source = _ramp("0 0 0", "0.4 0.8 0.9")
    result = proven(source, *KELP, NEUTRALS)
    with pikepdf.open(io.BytesIO(result.data)) as pdf:
        assert pdf.pages[0].Resources.Shading.S.ColorSpace == "/DeviceRGB"


def test_a_picture_with_black_in_its_table_stays() -> None:
    pixels = bytes([0, 1, 2, 0])

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        table = pikepdf.String(bytes([0, 0, 0, 255, 255, 255, 10, 200, 90]))
        space = pikepdf.Array([pikepdf.Name.Indexed, pikepdf.Name.DeviceRGB, 2, table])
        picture = pdf.make_stream(
            pixels, Type=pikepdf.Name.XObject, Subtype=pikepdf.Name.Image, Width=2, Height=2,
            ColorSpace=space, BitsPerComponent=8,
        )  # fmt: skip
        resource(page, "/XObject", "/I", picture)

    source = document(b"q 50 0 0 50 0 0 cm /I Do Q", setup=setup)
    result = proven(source, *KELP, NEUTRALS)
    assert not result.findings
    with pikepdf.open(io.BytesIO(result.data)) as pdf:
        assert pdf.pages[0].Resources.XObject.I.ColorSpace[1] == "/DeviceRGB"


def test_every_grey_of_eight_bits_is_so_much_black() -> None:
    table = SwapTable([NEUTRALS])
    for level in range(256):
        mapped = table.of_paint(Paint(kind="rgb", values=(level,) * 3))
        assert mapped is not None
        assert np.allclose(mapped.paint.values, (0, 0, 0, 100 * (1 - level / 255)), atol=1e-4)


def test_a_space_that_follows_an_operator_without_a_blank(tmp_path: Path) -> None:
    content = b"q 1 0 0 1 0 0 cm/Cs cs 0.2 0.5 0.3 sc 0 0 20 20 re f Q q/Cs cs 50 0 40 40 re f Q"
    result = proven(document(content, setup=_profiled("/Cs", 3)), NEUTRALS, render=True)
    assert _at(result.data, tmp_path, 60, 20) == pytest.approx([0, 0, 0, 100], abs=0.3)
