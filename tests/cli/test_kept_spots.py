"""A spot that the order keeps needs no mention: with all its tints, gradients and mixtures."""

import struct

import numpy as np
import pikepdf
import pytest

from artwork_kit import KELP, parsed, stream
from inkaccord.errors import ExitCode
from outside import plates
from run_kit import inkaccord, record_all, run_of

pytestmark = pytest.mark.slow

ORDER = """
order: tags
date: 2026-11-28
suites: 10
shelf: shelf.sqlite
colours:
  kelp: {aim: {lab: [40, -22, 4]}, in_artwork: [cmyk 60 20 50 10]}
keep: [KEPT]
stocks:
  card: {size: letter, colour: [95, 0, 0]}
vendors:
  studio: {delivers: pieces, spots: keep, marks: false, bleed: 0.125in, devices: {press: {}},
           levels: {image-half-resolution: warning}}
pieces:
  tag: {artwork: tag.pdf, trim: 5in x 7in, device: press, stock: card}
"""
CONTENT = b"""
0.6 0.2 0.5 0.1 k 40 40 200 100 re f
/Plum cs 1 scn 40 160 50 50 re f 0.4 scn 100 160 50 50 re f
/Mixed cs 0.5 0.3 scn 160 160 50 50 re f
q 40 240 200 60 re W n /Fade sh Q
"""


@pytest.fixture(scope="module")
def artwork(tmp_path_factory):
    path = tmp_path_factory.mktemp("plum") / "tag.pdf"
    with pikepdf.new() as pdf:
        page = pdf.add_blank_page(page_size=(378, 522))
        page.MediaBox, page.TrimBox = [0, 0, 378, 522], [9, 9, 369, 513]
        page.BleedBox = page.MediaBox
        plum = KELP.replace("/Kelp", "/Plum")
        calculator = pdf.make_stream(b"{ 0 0 4 -1 roll 4 -1 roll }")
        calculator.update(
            parsed("<< /FunctionType 4 /Domain [0 1 0 1] /Range [0 1 0 1 0 1 0 1] >>")
        )
        mixed = parsed("[ /DeviceN [ /Plum /Black ] /DeviceCMYK null ]")
        mixed[3] = calculator
        fade = (
            f"<< /ShadingType 2 /Coords [40 0 240 0] /ColorSpace {plum} "
            "/Function << /FunctionType 2 /Domain [0 1] /C0 [0.9] /C1 [0.1] /N 1 >> >>"
        )
        page.Resources = pikepdf.Dictionary(
            ColorSpace=pikepdf.Dictionary(Plum=parsed(plum), Mixed=mixed),
            Shading=pikepdf.Dictionary(Fade=parsed(fade)),
        )
        page.Contents = pdf.make_stream(CONTENT)
        pdf.save(path)
    return path


def unknown(artwork, folder, kept):
    (folder / "order.yaml").write_text(ORDER.replace("KEPT", kept), "utf-8")
    (folder / "tag.pdf").write_bytes(artwork.read_bytes())
    inkaccord("run", folder)
    (found,) = run_of(folder)["artworks"]
    return {it["text"] for it in found["colours"] if it["found_as"] == "unknown"}


def test_the_spot_means_its_tints_gradients_and_mixtures(artwork, tmp_path):
    assert unknown(artwork, tmp_path, "spot Plum") == set()


def test_a_tint_means_that_tint_alone(artwork, tmp_path):
    left = unknown(artwork, tmp_path, "spot Plum 40%")
    assert "spot Plum" in left
    assert "spot Plum 40%" not in left
    assert len(left) >= 4


# -- pictures, meshes and patterns of mixtures ----------------------------------------------------

EVERYTHING = b"""
0.6 0.2 0.5 0.1 k 40 40 200 60 re f
q 60 0 0 60 40 120 cm /Picture Do Q q 60 0 0 60 110 120 cm /Table Do Q
q 60 0 0 60 180 120 cm /Single Do Q
/Pattern cs /Tile scn 40 200 60 60 re f /Stencil cs 0.3 0.6 /Dots scn 110 200 60 60 re f
/Mesh sh q 200 320 140 80 re W n /Fade sh Q
"""


def _picture(pdf, data, side, space):
    return pdf.make_stream(
        data, Type=pikepdf.Name.XObject, Subtype=pikepdf.Name.Image, Width=side, Height=side,
        BitsPerComponent=8, ColorSpace=space,
    )  # fmt: skip


def _mesh(pdf, space):
    corners = [(40, 320, 255, 0), (140, 320, 51, 128), (90, 400, 0, 255)]
    data = b"".join(
        struct.pack(">BHHBB", 0, round(x / 400 * 65535), round(y / 600 * 65535), plum, black)
        for x, y, plum, black in corners
    )
    return pdf.make_stream(
        data, ShadingType=4, ColorSpace=space, BitsPerCoordinate=16, BitsPerComponent=8,
        BitsPerFlag=8, Decode=pikepdf.Array([0, 400, 0, 600, 0, 1, 0, 1]),
    )  # fmt: skip


@pytest.fixture(scope="module")
def mixtures(artwork, tmp_path_factory):
    """Return artwork with everything that can hold mixtures of Plum and black."""
    path = tmp_path_factory.mktemp("mixtures") / "tag.pdf"
    with pikepdf.open(artwork) as pdf:
        page = pdf.pages[0]
        both = page.Resources.ColorSpace.Mixed = pdf.make_indirect(page.Resources.ColorSpace.Mixed)
        samples = np.random.default_rng(0).integers(0, 256, (16, 16, 2)).astype(np.uint8)
        table = pikepdf.String(bytes([255, 0, 128, 20, 0, 200]))
        indexed = pikepdf.Array([pikepdf.Name.Indexed, both, 2, table])
        tile, dots = (
            stream(
                pdf, data, f"<< /Type /Pattern /PatternType 1 /PaintType {kind} /TilingType 1 "
                "/BBox [0 0 10 10] /XStep 10 /YStep 10 /Resources << >> >>",
            )
            for kind, data in ((1, b"/Mixed cs 0.7 0.2 scn 0 0 5 5 re f"), (2, b"0 0 5 5 re f"))
        )  # fmt: skip
        tile.Resources = pikepdf.Dictionary(ColorSpace=pikepdf.Dictionary(Mixed=both))
        fade = parsed(
            "<< /ShadingType 2 /Coords [200 0 340 0] /Function << /FunctionType 2 /Domain [0 1] "
            "/C0 [0.9 0.1] /C1 [0.1 0.6] /N 1 >> >>"
        )
        fade.ColorSpace = both
        page.Resources.ColorSpace.Stencil = pikepdf.Array([pikepdf.Name.Pattern, both])
        page.Resources.XObject = pikepdf.Dictionary(
            Picture=_picture(pdf, samples.tobytes(), 16, both),
            Table=_picture(pdf, bytes([0, 1, 2, 0]), 2, indexed),
            Single=_picture(pdf, bytes(range(256)), 16, page.Resources.ColorSpace.Plum),
        )
        page.Resources.Shading = pikepdf.Dictionary(Mesh=_mesh(pdf, both), Fade=fade)
        page.Resources.Pattern = pikepdf.Dictionary(Tile=tile, Dots=dots)
        page.Contents = pdf.make_stream(EVERYTHING)
        pdf.save(path)
    return path


def test_pictures_meshes_and_patterns_of_mixtures_print_on_their_plates(mixtures, tmp_path):
    assert unknown(mixtures, tmp_path, "spot Plum") == set()
    record_all(tmp_path)
    code, out, _ = inkaccord("run", tmp_path)
    assert code == ExitCode.DONE, out
    assert "samples" not in out
    before = plates(mixtures.read_bytes(), tmp_path)
    after = plates((tmp_path / "out" / "studio" / "tags-tag.pdf").read_bytes(), tmp_path)
    assert np.abs(before["Plum"] - after["Plum"]).max() < 0.5
    above = slice(0, 522 - 110)  # but for kelp, which is below
    assert np.abs(before["Black"] - after["Black"])[above].max() < 0.5
    assert before["Plum"][above].max() > 99
