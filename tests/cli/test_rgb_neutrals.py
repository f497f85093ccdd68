"""Whole orders of what general programs export: black type in RGB, and colours all converted.

The delivered plates are judged by Ghostscript.
"""

import shutil
from pathlib import Path

import numpy as np
import pikepdf
import pytest

from artwork_kit import document, parsed, resource
from inkaccord.errors import ExitCode
from outside import plates
from run_kit import inkaccord, record_all, run_of

pytestmark = pytest.mark.slow

EXPORTS = Path(__file__).parents[1] / "exports" / "files"
ORDER = """
order: exported
date: 2026-11-28
suites: 4
shelf: shelf.sqlite
colours:
  kelp: {aim: {lab: [40, -24, 3]}, in_artwork: [rgb 20 92 78]}
  lantern: {aim: {lab: [70, 20, 55]}, in_artwork: [rgb 240 158 40]}
  slate: {aim: {lab: [40, -3, -6]}, in_artwork: [rgb 74 88 97]}
stocks:
  white: {size: 320mm x 450mm}
vendors:
  shop: {bleed: 3mm, devices: {press: {}}}
pieces:
  invitation: {artwork: inkscape-invitation.pdf, trim: 127mm x 178mm, device: press, stock: white}
  card: {artwork: gs-cmyk-inkscape-invitation.pdf, trim: 127mm x 178mm, device: press, stock: white}
tolerances: {between_pieces: 20, to_aim: 20}
release: regardless
"""


@pytest.fixture(scope="module")
def order(tmp_path_factory):
    folder = tmp_path_factory.mktemp("rgb")
    (folder / "order.yaml").write_text(ORDER, "utf-8")
    for name in ("inkscape-invitation.pdf", "gs-cmyk-inkscape-invitation.pdf"):
        shutil.copyfile(EXPORTS / name, folder / name)
    inkaccord("run", folder)
    record_all(folder)
    inkaccord("run", folder)
    return folder


def test_black_type_in_rgb_is_delivered_as_black_ink_alone(order, tmp_path):
    (file,) = (order / "out" / "shop").glob("*invitation*.pdf")
    found = plates(file.read_bytes(), tmp_path, dpi=150)
    black = found["Black"] > 99
    assert black.sum() > 500
    for ink in ("Cyan", "Magenta", "Yellow"):
        assert np.mean(found[ink][black] < 1) > 0.99  # but for rims that smoothing mixes


def test_an_export_that_was_converted_is_held_and_told_as_that(order):
    pieces = {piece["name"]: piece for piece in run_of(order)["pieces"]}
    assert pieces["card"]["status"] == "failed"
    code, out, err = inkaccord("run", order)
    assert code == ExitCode.DISAGREE
    said = " ".join((out + err).split())
    assert said.count("the program converted all colours when it exported") == 1
    assert "cmyk 86.7 41.2 69.4 32" in said


def test_by_hand_black_goes_with_a_colour_that_takes_their_gradient_to_cmyk(tmp_path):
    def setup(_, page):
        shading = (
            "<< /ShadingType 2 /ColorSpace /DeviceRGB /Coords [0 0 100 0] /Function << "
            "/FunctionType 2 /Domain [0 1] /C0 [0.2 0.4 0.6] /C1 [0 0 0] /N 1 >> >>"
        )
        resource(page, "/Shading", "/S", parsed(shading))

    (tmp_path / "in.pdf").write_bytes(document(b"/S sh 0 0 0 rg 0 0 9 9 re f", setup=setup))
    files = tmp_path / "in.pdf", tmp_path / "out.pdf"
    code, out, _ = inkaccord("recolour", *files, "--swap", "rgb 51 102 153 = cmyk 12 63 41 7")
    assert code == 0
    assert "rgb 0 0 0 (#000000) becomes cmyk 0 0 0 100" in " ".join(out.split())
    with pikepdf.open(tmp_path / "out.pdf") as pdf:
        page = pdf.pages[0]
        assert b"0 0 0 rg" in page.Contents.read_bytes()  # where it stands alone it stays
        function = page.Resources.Shading.S.Function
        assert [float(it) for it in function.C0] == pytest.approx([0.12, 0.63, 0.41, 0.07])
        assert [float(it) for it in function.C1] == pytest.approx([0, 0, 0, 1])
