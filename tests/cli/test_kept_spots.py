"""A spot that the order keeps needs no mention: with all its tints, gradients and mixtures."""

import pikepdf
import pytest

from artwork_kit import KELP, parsed
from run_kit import inkaccord, run_of

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
  studio: {delivers: pieces, spots: keep, devices: {press: {}}}
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
