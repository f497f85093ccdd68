"""Colours in gradients of all seven types, and in backgrounds."""

import io

import pikepdf
import pytest

from artwork_kit import (
    KELP,
    NEW,
    OLD,
    codes,
    document,
    opened,
    parsed,
    proven,
    resource,
    stream,
    swaps,
)
from inkaccord.artwork.content.walk import Where, walk
from inkaccord.artwork.proof.prove import prove
from inkaccord.artwork.recolouring.recolour import RecolourOptions, SpotMode, Swap, recolour
from inkaccord.artwork.roles import Role
from inkaccord.artwork.swaps import TintTable
from inkaccord.colour.builds import Build
from inkaccord.colour.paints import Paint
from inkaccord.pdf.colours import functions
from inkaccord.pdf.colours.shadings import read_shading
from inkaccord.pdf.colours.space_reader import SpaceReader
from inkaccord.pdf.streams import StreamReader

SWAP = f"{OLD} = {NEW}"
PROCESS = RecolourOptions(spots=SpotMode.PROCESS)
BOX = b" 0 0 50 50 re f"

AXIAL = "<< /ShadingType 2 /ColorSpace /DeviceCMYK /Coords [0 0 100 0] /Extend [true true] "
RAMP = "/Function << /FunctionType 2 /Domain [0 1] /N 1 /C0 [0.85 0.2 0.6 0.3] /C1 [0 0 0 0] >> >>"


def _gradient(shading: str) -> bytes:
    return document(b"/S sh", f"<< /Shading << /S {shading} >> >>")


def _colours_at(data: bytes, *places: float) -> list[tuple[float, ...]]:
    with pikepdf.open(io.BytesIO(data)) as pdf:
        resources = pdf.pages[0].Resources
        shading = read_shading(resources.Shading.S, resources, SpaceReader(), StreamReader())
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


def _upper(function: pikepdf.Object, place: float) -> list[float]:
    """Return a stitching function's colour where its parts hold their upper bounds."""
    bounds = [float(bound) for bound in function.Bounds]
    part = next((i for i, bound in enumerate(bounds) if place <= bound), len(bounds))
    return [float(ink) for ink in function.Functions[part].C1]


@pytest.mark.parametrize(("end", "word"), [(0.0, "le"), (1.0, "ge")])
def test_a_value_of_an_end_alone_is_one_for_all_readers(
    end: float, word: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ghostscript counts a bound to the part before it, others to the one behind it (tried)."""

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        words = f"{{ {end} {word} {{ 0.85 0.2 0.6 0.3 }} {{ 0 1 0 0 }} ifelse }}".encode()
        units = f"/Domain [0 1] /Range [{'0 1 ' * 4}]"
        shading = parsed(f"{AXIAL} >>")
        shading["/Function"] = stream(pdf, words, f"<< /FunctionType 4 {units} >>")
        resource(page, "/Shading", "/S", shading)

    source = document(b"/S sh", setup=setup)
    new = [0.78, 0.12, 0.55, 0.41]
    with opened(proven(source, SWAP)) as pdf:
        assert _upper(pdf.pages[0].Resources.Shading.S.Function, end) == new
    assert _colours_at(proven(source, SWAP).data, end, 0.5) == [tuple(new), (0, 1, 0, 0)]

    monkeypatch.setattr(functions, "NARROW", 0.0)
    asked = swaps(SWAP)
    assert not prove(source, recolour(source, asked).data, asked, render=False).passed
