"""Gradients of which one end stays are converted whole, once the other end has a build there."""

import io
from collections.abc import Sequence

import numpy as np
import pikepdf
import pytest

import gradient_kit
from artwork_kit import codes, document, failures, proven, resource, stream, swaps
from gradient_kit import CONSTRUCTS, Build, Numbers, Stripe, axial, exact, mixed
from inkaccord.artwork.proof.prove import prove
from inkaccord.artwork.recolouring.recolour import RecolourOptions, Swap, recolour
from inkaccord.colour.paints import Paint, PaintKind
from inkaccord.pdf.ink_rendering import ink_pages
from outside import need_program

CLOSE = 2 / 255
KELP, SKY, WHITE = (20 / 255, 92 / 255, 78 / 255), (0.4, 0.8, 0.6), (1.0, 1.0, 1.0)
NEW_KELP, NEW_SKY, PAPER = (0.85, 0.2, 0.6, 0.3), (0.6, 0.2, 0.4, 0.0), (0.0,) * 4
SWAP, BESIDE = "rgb 20 92 78 = cmyk 85 20 60 30", "rgb 102 204 153 = cmyk 60 20 40 0"
SKY_PAINT = Paint(kind=PaintKind.RGB, values=(102, 204, 153))
OPTIONS = RecolourOptions(beside=tuple(swaps(BESIDE)))
NEW = {KELP: NEW_KELP, SKY: NEW_SKY, WHITE: PAPER}


def _stripes(kelp: Numbers, sky: Numbers, white: Numbers) -> list[Stripe]:
    """A gradient with a derived stop, a stretch without the swapped colour, and an edge."""
    mean = mixed(0.5, kelp, sky)
    return [
        Stripe(0, 0.3, kelp, mean),
        Stripe(0.3, 0.5, mean, sky),
        Stripe(0.5, 0.7, sky, white),
        Stripe(0.7, 1, sky, sky),
    ]


def _source(build: Build, stripes: list[Stripe], space: str, content: bytes = b"") -> bytes:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        resource(page, "/Shading", "/S", axial(pdf, build(pdf, stripes), space))

    return document(content + b"q 0 0 100 50 re W n /S sh Q", setup=setup)


@pytest.mark.parametrize("build", CONSTRUCTS, ids=lambda one: one.__name__)
def test_the_whole_ramp_is_the_exact_mixture(build: Build) -> None:
    source = _source(build, _stripes(*NEW), "/DeviceRGB")
    # A table, or a calculator, has its stops nowhere written, so others stand for them.
    lacking = recolour(source, swaps(SWAP)).without_build
    assert SKY_PAINT in lacking
    beside = [
        Swap(
            old=it, new=Paint(kind=PaintKind.CMYK, values=(*(100 - v / 2.55 for v in it.values), 0))
        )
        for it in lacking
    ]
    made = proven(source, SWAP, options=RecolourOptions(beside=tuple(beside)))
    wanted = _stripes(*NEW.values())
    with pikepdf.open(io.BytesIO(made.data)) as pdf:
        shading = pdf.pages[0].Resources.Shading.S
        assert shading.ColorSpace == "/DeviceCMYK"
        places = [i / 500 for i in range(501) if min(abs(i / 500 - e) for e in (0.5, 0.7)) > 0.001]
        for place in places:
            found = gradient_kit.value(shading.Function, place)
            assert found == pytest.approx(exact(wanted, place), abs=CLOSE)


def test_it_prints_as_one_drawn_in_process_colour() -> None:
    need_program("gs", "ghostscript")
    made = proven(
        _source(gradient_kit.stitched, _stripes(*NEW), "/DeviceRGB"),
        SWAP, options=OPTIONS, render=True,
    )  # fmt: skip
    wanted = _source(gradient_kit.stitched, _stripes(*NEW.values()), "/DeviceCMYK")
    inks = [
        next(iter(ink_pages(one, dpi=72, bits=16))).samples / 65535 for one in (made.data, wanted)
    ]
    assert np.abs(inks[0] - inks[1]).max() <= CLOSE


def test_the_other_colour_stays_wherever_it_stands_alone() -> None:
    alone = b"0.4 0.8 0.6 rg 0 60 50 30 re f "
    source = _source(gradient_kit.stitched, _stripes(*NEW), "/DeviceRGB", alone)
    made = proven(source, SWAP, options=OPTIONS, render=True)
    with pikepdf.open(io.BytesIO(made.data)) as pdf:
        assert alone.strip() in pdf.pages[0].Contents.read_bytes()


def test_without_a_build_every_colour_that_lacks_one_is_named() -> None:
    stripes = [
        Stripe(0, 0.4, KELP, SKY), Stripe(0.4, 0.7, SKY, (1.0, 0.0, 0.0)),
        Stripe(0.7, 1, (1.0, 0.0, 0.0), WHITE),
    ]  # fmt: skip
    made = recolour(_source(gradient_kit.stitched, stripes, "/DeviceRGB"), swaps(SWAP))
    assert "mixed-kinds" in codes(made)
    assert [str(paint) for paint in made.without_build] == ["rgb 102 204 153", "rgb 255 0 0"]


def test_a_derived_stop_needs_no_build() -> None:
    source = _source(gradient_kit.stitched, _stripes(*NEW), "/DeviceRGB")
    made = recolour(source, swaps(SWAP))
    assert [str(paint) for paint in made.without_build] == ["rgb 102 204 153"]


def _strips(colours: Sequence[Numbers]) -> bytes:
    return b"".join(
        " ".join(f"{v:.6f}" for v in colour).encode() + f" rg {i} 0 1.5 50 re f\n".encode()
        for i, colour in enumerate(colours)
    )


@pytest.mark.parametrize("turned", [False, True])
def test_a_flight_from_a_swapped_colour_to_another(turned: bool) -> None:
    shares = [i / 40 for i in range(41)]
    if turned:
        shares.reverse()
    source = document(_strips([mixed(share, KELP, SKY) for share in shares]))
    made = proven(source, SWAP, options=OPTIONS, render=True)
    with pikepdf.open(io.BytesIO(made.data)) as pdf:
        sets = [
            (str(operator), [float(v) for v in operands])
            for operands, operator in pikepdf.parse_content_stream(pdf.pages[0])
            if str(operator) in ("rg", "k")
        ]
    for (operator, found), share in zip(sets, shares, strict=True):
        assert operator == "k"
        assert found == pytest.approx(mixed(share, NEW_KELP, NEW_SKY), abs=CLOSE)


def test_a_mesh_a_background_and_a_colour_table() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        data = b"".join(
            bytes([x, y, *(round(255 * v) for v in colour)])
            for x, y, colour in ((0, 0, KELP), (255, 0, SKY), (0, 255, WHITE), (255, 255, KELP))
        )
        mesh = stream(
            pdf, data,
            "<< /ShadingType 5 /ColorSpace /DeviceRGB /BitsPerCoordinate 8 /BitsPerComponent 8 "
            "/VerticesPerRow 2 /Decode [0 50 0 50 0 1 0 1 0 1] /Background [0.4 0.8 0.6] >>",
        )  # fmt: skip
        resource(page, "/Shading", "/S", mesh)
        image = stream(
            pdf, bytes([0, 1, 2, 1]),
            "<< /Subtype /Image /Width 2 /Height 2 /BitsPerComponent 8 >>",
        )  # fmt: skip
        table = bytes(round(255 * v) for colour in (KELP, SKY, WHITE) for v in colour)
        image["/ColorSpace"] = pikepdf.Array(
            [pikepdf.Name.Indexed, pikepdf.Name.DeviceRGB, 2, pikepdf.String(table)]
        )
        resource(page, "/XObject", "/I", image)

    source = document(b"q 0 0 50 50 re W n /S sh Q q 40 0 0 40 55 55 cm /I Do Q", setup=setup)
    made = proven(source, SWAP, options=OPTIONS, render=True)
    with pikepdf.open(io.BytesIO(made.data)) as pdf:
        resources = pdf.pages[0].Resources
        background = [float(v) for v in resources.Shading.S.Background]
        assert background == pytest.approx(NEW_SKY)
        table = bytes(resources.XObject.I.ColorSpace[3])
        assert list(table) == [round(255 * v) for c in (NEW_KELP, NEW_SKY, PAPER) for v in c]


def test_the_proof_refuses_another_build_than_the_one_that_was_given() -> None:
    source = _source(gradient_kit.stitched, _stripes(*NEW), "/DeviceRGB")
    asked = swaps(SWAP)
    made = recolour(source, asked, options=OPTIONS)
    other = OPTIONS.model_copy(update={"beside": tuple(swaps("rgb 102 204 153 = cmyk 60 10 40 0"))})
    assert prove(source, made.data, asked, OPTIONS, render=False).passed
    assert failures(prove(source, made.data, asked, other, render=False))
    assert failures(prove(source, made.data, asked, RecolourOptions(), render=False))
