"""Gradients in several inks at once: process inks are swapped in them, spots kept or converted."""

import io
from pathlib import Path

import numpy as np
import pikepdf
import pytest

import gradient_kit
from artwork_kit import codes, document, failures, parsed, proven, resource, stream, swaps
from gradient_kit import CONSTRUCTS, Build, Numbers, Stripe, axial, exact, mixed
from inkaccord.artwork.inventory.inventory import inventory
from inkaccord.artwork.proof.prove import prove
from inkaccord.artwork.recolouring.recolour import RecolourOptions, SpotMode, recolour
from inkaccord.pdf.ink_rendering import ink_pages
from outside import need_program, plates
from page_kit import saved

pytestmark = pytest.mark.slow

CLOSE = 2 / 255
PROCESS = RecolourOptions(spots=SpotMode.PROCESS)
KEEP = RecolourOptions()
KELP, LANTERN, SLATE = (
    (0.85, 0.2, 0.6, 0.3, 0.0), (0.0, 0.38, 0.88, 0.02, 0.0), (0.0, 0.0, 0.0, 0.0, 1.0),
)  # fmt: skip
NEW_KELP, NEW_LANTERN = (0.3, 0.9, 0.1, 0.0, 0.0), (0.8, 0.0, 0.0, 0.1, 0.0)
BUILD = (0.0, 0.0, 0.9, 0.2)
SWAPS = ("cmyk 85 20 60 30 = cmyk 30 90 10 0", "cmyk 0 38 88 2 = cmyk 80 0 0 10")
SPOT = "spot Slate = cmyk 0 0 90 20"


def _stripes(kelp: Numbers, lantern: Numbers, slate: Numbers) -> list[Stripe]:
    """With a derived stop, an edge, and a mixture of a brand colour and the spot."""
    mean = mixed(0.5, kelp, lantern)
    return [
        Stripe(0, 0.2, kelp, mean),
        Stripe(0.2, 0.5, mean, lantern),
        Stripe(0.5, 0.8, lantern, slate),
        Stripe(0.8, 1, kelp, kelp),
    ]


def _space(pdf: pikepdf.Pdf) -> pikepdf.Object:
    made = parsed("[/DeviceN [/Cyan /Magenta /Yellow /Black /Slate] /DeviceCMYK null]")
    corners = [tuple(number >> i & 1 for i in range(5)) for number in range(32)]
    slate = (0.55, 0.3, 0.25, 0.45)
    samples = bytes(
        round(255 * min(corner[i] + corner[4] * slate[i], 1))
        for corner in corners
        for i in range(4)
    )
    made[3] = stream(
        pdf, samples,
        "<< /FunctionType 0 /BitsPerSample 8 /Size [2 2 2 2 2] "
        "/Domain [0 1 0 1 0 1 0 1 0 1] /Range [0 1 0 1 0 1 0 1] >>",
    )  # fmt: skip
    return made


def _source(build: Build, stripes: list[Stripe], content: bytes = b"") -> bytes:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        shading = axial(pdf, build(pdf, stripes), "/DeviceGray")
        shading["/ColorSpace"] = _space(pdf)
        resource(page, "/Shading", "/S", shading)
        resource(page, "/ColorSpace", "/N", _space(pdf))

    return document(content + b"q 0 0 100 50 re W n /S sh Q", setup=setup)


def _value(data: bytes, place: float) -> Numbers:
    with pikepdf.open(io.BytesIO(data)) as pdf:
        return gradient_kit.value(pdf.pages[0].Resources.Shading.S.Function, place)


PLACES = [i / 500 for i in range(501) if min(abs(i / 500 - e) for e in (0.5, 0.8)) > 0.001]


@pytest.mark.parametrize("build", CONSTRUCTS, ids=lambda one: one.__name__)
def test_process_inks_are_swapped_and_the_spot_runs_on(build: Build) -> None:
    made = proven(_source(build, _stripes(KELP, LANTERN, SLATE)), *SWAPS, options=KEEP)
    wanted = _stripes(NEW_KELP, NEW_LANTERN, SLATE)
    for place in PLACES:
        assert _value(made.data, place) == pytest.approx(exact(wanted, place), abs=CLOSE)


@pytest.mark.parametrize("build", CONSTRUCTS[::3], ids=lambda one: one.__name__)
def test_a_spot_that_becomes_process_colour_leaves_no_plate(build: Build) -> None:
    made = proven(_source(build, _stripes(KELP, LANTERN, SLATE)), *SWAPS, SPOT, options=PROCESS)
    wanted = _stripes(NEW_KELP[:4], NEW_LANTERN[:4], BUILD)
    for place in PLACES:
        assert _value(made.data, place) == pytest.approx(exact(wanted, place), abs=CLOSE)
    with pikepdf.open(io.BytesIO(made.data)) as pdf:
        assert pdf.pages[0].Resources.Shading.S.ColorSpace == "/DeviceCMYK"


def test_spots_alone_become_process_colour_too() -> None:
    """Two spots in one gradient, no process ink among them."""

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        stripes = [Stripe(0, 1, (1.0, 0.0), (0.0, 1.0))]
        shading = axial(pdf, gradient_kit.stitched(pdf, stripes), "/DeviceGray")
        space = parsed("[/DeviceN [/Slate /Rust] /DeviceCMYK null]")
        space[3] = stream(
            pdf, bytes([0] * 4 + [140, 76, 64, 115] + [0, 200, 200, 0] + [140, 255, 255, 115]),
            "<< /FunctionType 0 /BitsPerSample 8 /Size [2 2] /Domain [0 1 0 1] "
            "/Range [0 1 0 1 0 1 0 1] >>",
        )  # fmt: skip
        shading["/ColorSpace"] = space
        resource(page, "/Shading", "/S", shading)

    source = document(b"/S sh", setup=setup)
    made = proven(source, SPOT, "spot Rust = cmyk 0 80 80 0", options=PROCESS)
    for share in (0.0, 0.25, 0.9):
        want = mixed(share, BUILD, (0.0, 0.8, 0.8, 0.0))
        assert _value(made.data, share) == pytest.approx(want, abs=CLOSE)
    assert b"Slate" not in made.data
    assert "inks-stay" not in codes(made)


def test_it_prints_as_one_drawn_in_the_new_inks() -> None:
    need_program("gs", "ghostscript")
    made = proven(
        _source(gradient_kit.stitched, _stripes(KELP, LANTERN, SLATE)),
        *SWAPS, SPOT, options=PROCESS, render=True,
    )  # fmt: skip
    stripes = _stripes(NEW_KELP[:4], NEW_LANTERN[:4], BUILD)
    wanted = document(
        b"q 0 0 100 50 re W n /S sh Q",
        setup=lambda pdf, page: resource(
            page, "/Shading", "/S",
            axial(pdf, gradient_kit.stitched(pdf, stripes), "/DeviceCMYK"),
        ),
    )  # fmt: skip
    inks = [
        next(iter(ink_pages(one, dpi=72, bits=16))).samples / 65535 for one in (made.data, wanted)
    ]
    assert np.abs(inks[0] - inks[1]).max() <= CLOSE


@pytest.mark.parametrize("options", [KEEP, PROCESS], ids=["kept", "process"])
def test_a_build_spelt_with_the_names_of_the_plates_is_that_build(options: RecolourOptions) -> None:
    content = b"/N cs 0.85 0.2 0.6 0.3 0 sc 0 60 50 30 re f 0 0 0 0 1 sc 50 60 50 30 re f "
    source = _source(gradient_kit.stitched, _stripes(KELP, LANTERN, SLATE), content)
    made = proven(source, *SWAPS, options=options, render=True)
    with pikepdf.open(io.BytesIO(made.data)) as pdf:
        assert b"0.3 0.9 0.1 0 k" in pdf.pages[0].Contents.read_bytes()
        assert b"0 0 0 0 1 sc" in pdf.pages[0].Contents.read_bytes()
    found = {one.colour.text for one in inventory(source).colours}
    assert "cmyk 85 20 60 30" in found


def test_the_proof_refuses_a_gradient_that_kept_its_inks() -> None:
    source = _source(gradient_kit.stitched, _stripes(KELP, LANTERN, SLATE))
    asked = swaps(*SWAPS)
    made = recolour(source, asked, options=KEEP)
    for left in (_stripes(KELP, NEW_LANTERN, SLATE), _stripes(NEW_KELP, NEW_LANTERN, NEW_KELP)):
        with pikepdf.open(io.BytesIO(made.data)) as pdf:
            function = gradient_kit.stitched(pdf, left)
            pdf.pages[0].Resources.Shading.S.Function = pdf.make_indirect(function)
            out = io.BytesIO()
            pdf.save(out)
        assert failures(prove(source, out.getvalue(), asked, KEEP, render=False))


@pytest.mark.parametrize("field", [False, True])
def test_a_mesh_or_field_keeps_spots_whose_look_alone_is_new(field: bool) -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        data = bytes([0, 0, 0, 255, 0, 0, 255, 0, 0, 255, 0, 0, 128, 255, 128])
        entries = (
            "<< /ShadingType 4 /BitsPerCoordinate 8 /BitsPerFlag 8 /BitsPerComponent 8 "
            "/Decode [0 100 0 100 0 1 0 1] >>"
        )
        mesh = stream(pdf, data, entries)
        if field:
            mesh = parsed("<< /ShadingType 1 /Matrix [90 0 0 90 0 0] >>")
            mesh["/Function"] = stream(
                pdf, bytes(range(8)),
                "<< /FunctionType 0 /BitsPerSample 8 /Size [2 2] /Domain [0 1 0 1] "
                "/Range [0 1 0 1] >>",
            )  # fmt: skip
        look = "{ 0.3 mul exch 0.6 mul 0 0 }"
        mesh["/ColorSpace"] = parsed("[/DeviceN [/Slate /Foil] /DeviceCMYK null]")
        mesh.ColorSpace[3] = stream(
            pdf, look.encode(), "<< /FunctionType 4 /Domain [0 1 0 1] /Range [0 1 0 1 0 1 0 1] >>"
        )
        resource(page, "/Shading", "/S", mesh)

    source = document(b"/S sh", setup=setup)
    proven(source, SPOT, options=KEEP)
    with pikepdf.open(io.BytesIO(recolour(source, swaps(SPOT), options=KEEP).data)) as pdf:
        shading = pdf.pages[0].obj.Resources.Shading.S
        (shading.Function if field else shading).write(bytes(15))
        harmed = saved(pdf)
    assert any("in several inks" in one for one in failures(prove(source, harmed, swaps(SPOT))))


def test_a_mesh_in_several_inks_with_a_swapped_colour_is_refused() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        data = b"".join(
            bytes([x, y, *(round(255 * v) for v in colour)])
            for x, y, colour in ((0, 0, KELP), (255, 0, SLATE), (0, 255, SLATE), (255, 255, KELP))
        )
        mesh = stream(
            pdf, data,
            "<< /ShadingType 5 /BitsPerCoordinate 8 /BitsPerComponent 8 /VerticesPerRow 2 "
            "/Decode [0 50 0 50 0 1 0 1 0 1 0 1 0 1] >>",
        )  # fmt: skip
        mesh["/ColorSpace"] = _space(pdf)
        resource(page, "/Shading", "/S", mesh)

    made = recolour(document(b"/S sh", setup=setup), swaps(*SWAPS), options=KEEP)
    assert "mixed-kinds" in codes(made)


@pytest.mark.parametrize("build", CONSTRUCTS[1::4], ids=lambda one: one.__name__)
def test_a_spot_becomes_process_colour_beside_one_that_runs_on(
    build: Build, tmp_path: Path
) -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        stripes = [
            Stripe(0, 0.5, (0.4, 1.0, 0.0), (0.4, 0.0, 1.0)),
            Stripe(0.5, 1, (0.0, 0.2, 0.6), (0.0, 0.8, 0.6)),
        ]
        shading = axial(pdf, build(pdf, stripes), "/DeviceGray")
        space = parsed("[/DeviceN [/Cyan /Slate /Foil] /DeviceCMYK null]")
        domain = "/FunctionType 4 /Domain [0 1 0 1 0 1] /Range [0 1 0 1 0 1 0 1]"
        space[3] = stream(pdf, b"{ 0.3 mul exch 0.5 mul 0 }", f"<< {domain} >>")
        shading["/ColorSpace"] = space
        resource(page, "/Shading", "/S", shading)

    made = proven(document(b"/S sh", setup=setup), SPOT, options=PROCESS, render=True)
    assert not made.errors
    wanted = [
        Stripe(0, 0.5, (0.4, 0.9, 0.2, 0.0), (0.4, 0.0, 0.0, 1.0)),
        Stripe(0.5, 1, (0.0, 0.18, 0.04, 0.6), (0.0, 0.72, 0.16, 0.6)),
    ]
    with pikepdf.open(io.BytesIO(made.data)) as pdf:
        inks = pdf.pages[0].Resources.Shading.S.ColorSpace[1]
        assert [str(name) for name in inks] == ["/Cyan", "/Yellow", "/Black", "/Foil"]
    found = plates(made.data, tmp_path)
    assert "Slate" not in found
    for at in (25, 40, 45, 60, 75):
        place = (at + 0.5 - 20) / 60  # the kit's gradients run from 20 to 80
        assert _value(made.data, place) == pytest.approx(exact(wanted, place), abs=CLOSE)
        have = [found[name][50, at] / 100 for name in ("Cyan", "Yellow", "Black", "Foil")]
        assert have == pytest.approx(exact(wanted, place), abs=0.02)
