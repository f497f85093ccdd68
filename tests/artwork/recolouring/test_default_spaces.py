"""Pages that send plain colour through a profile of their own: default colour spaces."""

import io

import numpy as np
import pikepdf
import pytest

from artwork_kit import (
    NEW,
    NEW_K,
    OLD,
    OLD_K,
    codes,
    content_of,
    document,
    failures,
    form,
    parsed,
    proven,
    resource,
    stream,
    swaps,
)
from inkaccord.artwork.proof.prove import prove
from inkaccord.artwork.recolouring.recolour import ProfiledMode, RecolourOptions, recolour
from inkaccord.pdf.rendering import ink_pages
from outside import KRITA_CMYK, need_file, need_program

PLAIN = RecolourOptions(profiled=ProfiledMode.PLAIN)
BOX = b" 0 0 50 50 re f"
SLATE, SLATE_RG = "rgb 51 102 153", b"0.2 0.4 0.6 rg"


def _cal_rgb(_: pikepdf.Pdf, page: pikepdf.Page) -> None:
    white = "[/CalRGB << /WhitePoint [0.9505 1 1.089] /Gamma [1.2 1.2 1.2] >>]"
    resource(page, "/ColorSpace", "/DefaultRGB", parsed(white))


def _cmyk(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
    profile = pdf.make_stream(need_file(KRITA_CMYK, "krita-data").read_bytes(), N=4)
    space = pikepdf.Array([pikepdf.Name.ICCBased, pdf.make_indirect(profile)])
    resource(page, "/ColorSpace", "/DefaultCMYK", space)


def _everything(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
    """Colours, a form, a picture and a gradient under one default space."""
    _cal_rgb(pdf, page)
    resource(page, "/XObject", "/F", form(pdf, SLATE_RG + BOX, "<< /Resources << >> >>"))
    entries = "<< /Subtype /Image /Width 2 /Height 1 /BitsPerComponent 8 /ColorSpace /DeviceRGB >>"
    resource(page, "/XObject", "/I", stream(pdf, bytes([51, 102, 153, 9, 8, 7]), entries))
    shading = (
        "<< /ShadingType 2 /ColorSpace /DeviceRGB /Coords [0 0 100 0] /Function << "
        "/FunctionType 2 /Domain [0 1] /C0 [0.2 0.4 0.6] /C1 [1 1 1] /N 1 >> >>"
    )
    resource(page, "/Shading", "/S", parsed(shading))


def _inks(data: bytes) -> list[np.ndarray]:
    return [page.samples for page in ink_pages(data, dpi=36, bits=16)]


def test_plain_takes_them_off_and_everything_counts_as_its_numbers() -> None:
    content = (
        SLATE_RG + BOX + b" 1 0 0 rg 60 0 9 9 re f q 9 0 0 9 80 80 cm /I Do Q /F Do "
        b"q 0 60 100 10 re W n /S sh Q"
    )
    swap = f"{SLATE} = rgb 200 90 10"
    made = proven(document(content, setup=_everything), swap, options=PLAIN, render=True)
    assert "default-space-gone" in codes(made)
    # The picture of two pixels shows a brand colour, which holds the piece, and is another matter.
    assert {finding.code for finding in made.errors} == {"brand-in-picture"}
    with pikepdf.open(io.BytesIO(made.data)) as pdf:
        assert "/DefaultRGB" not in pdf.pages[0].Resources.ColorSpace
    need_program("gs", "ghostscript")
    without = document(content, setup=_everything)
    with pikepdf.open(io.BytesIO(without)) as pdf:
        del pdf.pages[0].Resources.ColorSpace.DefaultRGB
        out = io.BytesIO()
        pdf.save(out)
    twin = recolour(out.getvalue(), swaps(swap)).data
    for have, want in zip(_inks(made.data), _inks(twin), strict=True):
        assert (have == want).all()


def test_plain_builds_stand_where_a_default_cmyk_stood() -> None:
    made = proven(document(OLD_K + BOX, setup=_cmyk), f"{OLD} = {NEW}", options=PLAIN, render=True)
    assert content_of(made.data) == NEW_K + BOX


def test_as_profiled_a_build_that_would_go_through_one_is_refused() -> None:
    source, wanted = document(SLATE_RG + BOX, setup=_cmyk), swaps(f"{SLATE} = {NEW}")
    made = recolour(source, wanted)
    assert [one.code for one in made.errors] == ["default-space"]
    assert not prove(source, made.data, wanted, render=False).passed


@pytest.mark.parametrize("harm", [b"1 0 0 rg", b"0.3 0.4 0.6 rg"])
def test_the_proof_sees_another_change_beside_a_default_space_that_went(harm: bytes) -> None:
    content = SLATE_RG + BOX + b" 0 1 0 rg 60 0 9 9 re f"
    source, wanted = document(content, setup=_cal_rgb), swaps(f"{SLATE} = {NEW}")
    right = recolour(source, wanted, options=PLAIN).data
    assert prove(source, right, wanted, PLAIN, render=False).passed
    with pikepdf.open(io.BytesIO(right)) as pdf:
        page = pdf.pages[0]
        page.Contents = pdf.make_stream(page.Contents.read_bytes().replace(b"0 1 0 rg", harm))
        out = io.BytesIO()
        pdf.save(out)
    proof = prove(source, out.getvalue(), wanted, PLAIN, render=False)
    assert not proof.passed
    assert failures(proof)
