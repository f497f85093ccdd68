"""Stops that a program derived from their neighbours follow them, in every kind of gradient."""

import io
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import pikepdf
import pytest

import gradient_kit
from artwork_kit import document, opened, parsed, proven, resource, stream, swaps
from gradient_kit import CONSTRUCTS, Build, Frame, Numbers, Stripe, axial, exact, mixed
from inkaccord.artwork.proof.prove import prove
from inkaccord.artwork.recolouring.recolour import RecolourOptions, Swap, recolour
from inkaccord.artwork.swaps import TintTable, parse_swap
from inkaccord.colour.builds import Build as InkBuild
from inkaccord.colour.paints import Paint
from inkaccord.pdf.ink_rendering import ink_pages
from outside import need_program

pytestmark = pytest.mark.slow

CLOSE = 2 / 255
KELP, CORAL, SLATE = (0.85, 0.2, 0.6, 0.3), (0.0, 0.7, 0.6, 0.1), (0.3, 0.3, 0.0, 0.6)
NEW_KELP, NEW_CORAL = (0.78, 0.12, 0.55, 0.41), (0.1, 0.9, 0.2, 0.0)
PAPER = (0.0,) * 4
SWAPS = ("cmyk 85 20 60 30 = cmyk 78 12 55 41", "cmyk 0 70 60 10 = cmyk 10 90 20 0")
BECOMES = {KELP: NEW_KELP, CORAL: NEW_CORAL}


def _through(first: Numbers, last: Numbers, stops: Sequence[tuple[float, float]]) -> list[Stripe]:
    """A gradient with stops in between, each given by its place and its share of the mixture."""
    whole = [(0.0, 0.0), *stops, (1.0, 1.0)]
    return [
        Stripe(low, high, mixed(a, first, last), mixed(b, first, last))
        for (low, a), (high, b) in pairwise(whole)
    ]


def _new(colour: Numbers) -> Numbers:
    return BECOMES.get(colour, colour)


def _source(build: Build, stripes: list[Stripe], frame: Frame = axial) -> bytes:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        resource(page, "/Shading", "/S", frame(pdf, build(pdf, stripes), "/DeviceCMYK"))

    return document(b"/S sh", setup=setup)


def _off(data: bytes, wanted: list[Stripe]) -> float:
    with pikepdf.open(io.BytesIO(data)) as pdf:
        function = pdf.pages[0].Resources.Shading.S.Function
        return max(
            abs(a - b)
            for i in range(301)
            for a, b in zip(
                gradient_kit.value(function, i / 300), exact(wanted, i / 300), strict=True
            )
        )


STOPS = {
    "the mean": [(0.5, 0.5)],
    "the mean elsewhere": [(0.2, 0.5)],
    "several": [(0.1, 0.25), (0.4, 0.5), (0.9, 0.8)],
    "there and back": [(0.3, 0.7), (0.6, 0.4)],
}


@pytest.mark.parametrize("build", CONSTRUCTS, ids=lambda one: one.__name__)
@pytest.mark.parametrize("stops", STOPS.values(), ids=STOPS)
def test_stops_between_two_swapped_colours_follow_them(
    build: Build, stops: list[tuple[float, float]]
) -> None:
    made = proven(_source(build, _through(KELP, CORAL, stops)), *SWAPS)
    assert _off(made.data, _through(NEW_KELP, NEW_CORAL, stops)) <= CLOSE


@pytest.mark.parametrize("ends", [(KELP, SLATE), (SLATE, CORAL), (KELP, PAPER)], ids=str)
def test_a_stop_beside_an_end_that_stays_follows_too(ends: tuple[Numbers, Numbers]) -> None:
    """So that the gradient stays the exact mixture of its ends, without a band."""
    stops = STOPS["several"]
    made = proven(_source(gradient_kit.stitched, _through(*ends, stops)), *SWAPS)
    assert _off(made.data, _through(_new(ends[0]), _new(ends[1]), stops)) <= CLOSE


def test_ends_that_change_places_leave_no_band() -> None:
    """What typesetters write; both ends swapped, drawn by Ghostscript beside the right gradient."""
    need_program("gs", "ghostscript")
    stops = STOPS["the mean"]
    swaps = ("cmyk 85 20 60 30 = cmyk 0 70 60 10", "cmyk 0 70 60 10 = cmyk 85 20 60 30")
    for frame in gradient_kit.FRAMES:
        made = proven(_source(gradient_kit.stitched, _through(KELP, CORAL, stops), frame), *swaps)
        wanted = _source(gradient_kit.stitched, _through(CORAL, KELP, stops), frame)
        inks = [
            next(iter(ink_pages(one, dpi=72, bits=16))).samples / 65535
            for one in (made.data, wanted)
        ]
        assert np.abs(inks[0] - inks[1]).max() <= CLOSE


def test_a_stop_of_its_own_stays() -> None:
    stripes = [Stripe(0, 0.5, KELP, SLATE), Stripe(0.5, 1, SLATE, CORAL)]
    made = proven(_source(gradient_kit.stitched, stripes), *SWAPS)
    wanted = [Stripe(0, 0.5, NEW_KELP, SLATE), Stripe(0.5, 1, SLATE, NEW_CORAL)]
    assert _off(made.data, wanted) <= 1e-5


def test_a_swapped_colour_on_the_line_between_two_others_is_no_derived_stop() -> None:
    mean = tuple(round(v, 4) for v in mixed(0.5, KELP, CORAL))
    swap = "cmyk 42.5 45 60 20 = cmyk 0 0 0 50"
    stops = STOPS["the mean"]
    made = proven(_source(gradient_kit.stitched, _through(KELP, CORAL, stops)), *SWAPS, swap)
    assert mean == (0.425, 0.45, 0.6, 0.2)
    grey = (0.0, 0.0, 0.0, 0.5)
    wanted = [Stripe(0, 0.5, NEW_KELP, grey), Stripe(0.5, 1, grey, NEW_CORAL)]
    assert _off(made.data, wanted) <= 1e-5


def test_a_flat_stripe_between_two_colours_is_no_derived_stop() -> None:
    """A band with an edge at either side was put there."""
    mean = mixed(0.5, KELP, CORAL)
    stripes = [
        Stripe(0, 0.3, KELP, KELP),
        Stripe(0.3, 0.6, mean, mean),
        Stripe(0.6, 1, CORAL, CORAL),
    ]
    made = proven(_source(gradient_kit.stitched, stripes), *SWAPS)
    wanted = [
        Stripe(0, 0.3, NEW_KELP, NEW_KELP), Stripe(0.3, 0.6, mean, mean),
        Stripe(0.6, 1, NEW_CORAL, NEW_CORAL),
    ]  # fmt: skip
    assert _off(made.data, wanted) <= 1e-5


def test_stops_too_light_to_be_tints_follow_a_tint_table() -> None:
    table = TintTable(
        steps=((50, InkBuild.cmyk(50, 0, 40, 10)), (100, InkBuild.cmyk(78, 12, 55, 41)))
    )
    swap = Swap(
        old=Paint.parse("cmyk 85 20 60 30"), new=Paint.parse("cmyk 78 12 55 41"), tints=table
    )
    stops = [(0.9, 0.98)]
    made = proven(_source(gradient_kit.stitched, _through(KELP, PAPER, stops)), swap)
    half = (0.5, 0.0, 0.4, 0.1)
    place = 0.9 * 0.5 / 0.98  # where the gradient has come to 50 %
    with opened(made) as pdf:
        function = pdf.pages[0].Resources.Shading.S.Function
        assert gradient_kit.value(function, place) == pytest.approx(half, abs=0.005)
        assert gradient_kit.value(function, 0.0) == pytest.approx(NEW_KELP)


# -- surfaces ---------------------------------------------------------------------------------


def _corners(colours: Sequence[Numbers]) -> bytes:
    """A strip of triangles, the given colours from left to right, in 16 bits."""

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        data = b"".join(
            bytes([round(255 * i / (len(colours) - 1)), y])
            + b"".join(round(v * 65535).to_bytes(2, "big") for v in colour)
            for y in (0, 255)
            for i, colour in enumerate(colours)
        )
        shading = stream(
            pdf,
            data,
            f"<< /ShadingType 5 /VerticesPerRow {len(colours)} /ColorSpace /DeviceCMYK "
            "/BitsPerCoordinate 8 /BitsPerComponent 16 /Decode [0 100 0 100 0 1 0 1 0 1 0 1] >>",
        )
        resource(page, "/Shading", "/S", shading)

    return document(b"/S sh", setup=setup)


def _same_inks(made: bytes, wanted: bytes) -> None:
    inks = [next(iter(ink_pages(one, dpi=72, bits=16))).samples / 65535 for one in (made, wanted)]
    assert np.abs(inks[0] - inks[1]).max() <= CLOSE


@pytest.mark.parametrize("last", [CORAL, SLATE], ids=["swapped", "stays"])
def test_corners_of_a_mesh_between_its_ends_follow_them(last: Numbers) -> None:
    need_program("gs", "ghostscript")
    shares = (0.0, 0.25, 0.5, 0.9, 1.0)
    made = proven(_corners([mixed(share, KELP, last) for share in shares]), *SWAPS)
    _same_inks(made.data, _corners([mixed(share, NEW_KELP, _new(last)) for share in shares]))


def test_corners_between_two_of_three_colours_follow_those_two() -> None:
    need_program("gs", "ghostscript")
    made = proven(
        _corners([SLATE, KELP, mixed(0.3, KELP, CORAL), mixed(0.6, KELP, CORAL), CORAL]), *SWAPS
    )
    wanted = [
        SLATE, NEW_KELP, mixed(0.3, NEW_KELP, NEW_CORAL), mixed(0.6, NEW_KELP, NEW_CORAL),
        NEW_CORAL,
    ]  # fmt: skip
    _same_inks(made.data, _corners(wanted))


@pytest.mark.parametrize("last", [CORAL, SLATE], ids=["swapped", "stays"])
def test_a_table_of_two_variables_follows_its_ends(last: Numbers) -> None:
    shares = [0.0, 0.5, 0.2, 1.0, 0.7, 0.4]

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        shading = parsed("<< /ShadingType 1 /ColorSpace /DeviceCMYK /Matrix [100 0 0 100 0 0] >>")
        shading.Function = stream(
            pdf,
            bytes(round(255 * v) for share in shares for v in mixed(share, KELP, last)),
            "<< /FunctionType 0 /Domain [0 1 0 1] /Size [3 2] /BitsPerSample 8 "
            "/Range [0 1 0 1 0 1 0 1] >>",
        )
        resource(page, "/Shading", "/S", pdf.make_indirect(shading))

    with opened(proven(document(b"/S sh", setup=setup), *SWAPS)) as pdf:
        function = pdf.pages[0].Resources.Shading.S.Function
        for index, share in enumerate(shares):
            found = gradient_kit.value(function, (index % 3) / 2, float(index // 3))
            assert found == pytest.approx(mixed(share, NEW_KELP, _new(last)), abs=CLOSE)


# -- the proof --------------------------------------------------------------------------------


@pytest.mark.parametrize("build", CONSTRUCTS, ids=lambda one: one.__name__)
def test_the_proof_refuses_a_band(build: Build) -> None:
    """A copy with both ends swapped, the middle as it was."""
    source = _source(build, _through(KELP, CORAL, STOPS["the mean"]))
    mean = mixed(0.5, KELP, CORAL)
    banded = [Stripe(0, 0.5, NEW_KELP, mean), Stripe(0.5, 1, mean, NEW_CORAL)]
    asked = [parse_swap(text) for text in SWAPS]
    right = recolour(source, asked).data
    with pikepdf.open(io.BytesIO(right)) as pdf:
        pdf.pages[0].Resources.Shading.S.Function = pdf.make_indirect(
            gradient_kit.stitched(pdf, banded)
        )
        out = io.BytesIO()
        pdf.save(out)
    assert prove(source, right, asked, RecolourOptions(), render=False).passed
    assert not prove(source, out.getvalue(), asked, RecolourOptions(), render=False).passed


_ROUNDED = (
    "<< /ShadingType 2 /ColorSpace /DeviceRGB /Coords [0 0 100 0] /Function << /FunctionType 3 "
    "/Domain [0 1] /Bounds [0.22 0.24] /Encode [0 1 0 1 0 1] /Functions [ "
    "<< /FunctionType 2 /Domain [0 1] /C0 [0.968 0.9 0.9] /C1 [0.964 0.896 0.896] /N 1 >> "
    "<< /FunctionType 2 /Domain [0 1] /C0 [0.964 0.896 0.896] /C1 [0.966 0.932 0.93] /N 1 >> "
    "<< /FunctionType 2 /Domain [0 1] /C0 [0.966 0.932 0.93] /C1 [0.89 0.81 0.81] /N 1 >> ] >> >>"
)


def test_a_stop_rounded_off_the_line_between_stops_that_hardly_differ_is_a_mixture() -> None:
    def setup(_: pikepdf.Pdf, page: pikepdf.Page) -> None:
        resource(page, "/Shading", "/S", parsed(_ROUNDED))

    source = document(b"/S sh", setup=setup)
    wanted = swaps("rgb 246.84 229.5 229.5 = rgb 201 87 133")
    made = recolour(source, wanted)
    assert prove(source, made.data, wanted).passed
    out = io.BytesIO()
    with opened(made) as pdf:
        function = pdf.pages[0].Resources.Shading.S.Function
        parts = list(function.Functions) if "/Functions" in function else [function]
        parts[0].C0 = pikepdf.Array([0.9, 0.34, 0.52])
        pdf.save(out)
    assert not prove(source, out.getvalue(), wanted, render=False).passed
