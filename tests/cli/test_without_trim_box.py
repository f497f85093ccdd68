"""Whole orders of what general programs export: pages that state no TrimBox, to delivered files.

Judged by the boxes that pikepdf reads, and by pictures that PDFium draws of artwork and delivery.
"""

import io
import json
import shutil
from pathlib import Path

import numpy as np
import pikepdf
import pypdfium2
import pytest

from run_kit import inkaccord, record_all

EXPORTS = Path(__file__).parents[1] / "exports" / "files"
MM = 72 / 25.4
BLEED_MM = 3.0
ORDER = """
order: exported
date: 2026-11-28
suites: 4
shelf: shelf.sqlite
colours:
  kelp: {aim: {lab: [40, -24, 3]}, in_artwork: [cmyk 85 20 60 30]}
  lantern: {aim: {lab: [70, 20, 55]}, in_artwork: [cmyk 0 38 88 2]}
  slate: {aim: {lab: [40, -3, -6]}, in_artwork: [cmyk 55 30 25 45]}
keep: [cmyk 40 5 0 0, cmyk 60 40 40 100]
stocks:
  white: {size: 320mm x 450mm}
vendors:
  shop: {bleed: 3mm, devices: {press: {}}}
  studio: {delivers: sheets, bleed: 3mm, devices: {laser: {}}}
pieces:
  invitation: {artwork: tikz-cmyk-invitation.pdf, trim: 127mm x 178mm, device: press, stock: white}
  card: {artwork: typst-cmyk-invitation.pdf, trim: 127mm x 178mm, device: laser, stock: white}
tolerances: {between_pieces: 20, to_aim: 20}
"""


@pytest.fixture
def order(tmp_path):
    folder = tmp_path / "order"
    folder.mkdir()
    (folder / "order.yaml").write_text(ORDER, "utf-8")
    for name in ("tikz-cmyk-invitation.pdf", "typst-cmyk-invitation.pdf"):
        shutil.copyfile(EXPORTS / name, folder / name)
        with pikepdf.open(folder / name) as pdf:
            assert "/TrimBox" not in pdf.pages[0].obj
    return folder


def box(page, key):
    return [float(edge) / MM for edge in page.obj[key]]


def where_ink_is(data, left_mm, bottom_mm):
    """Return where the piece, whose trim begins there, is not white: 127 × 178 mm at 4 px a mm."""
    scale = 4 / MM
    with pypdfium2.PdfDocument(data) as pdf:
        page = pdf[0]
        pixels = np.asarray(page.render(scale=scale).to_pil().convert("L"))
        height = pixels.shape[0]
        page.close()
    top, left = height - round(4 * (bottom_mm + 178)), round(4 * left_mm)
    return pixels[top : top + 4 * 178, left : left + 4 * 127] < 250


@pytest.mark.slow
def test_they_go_through_check_and_run_to_delivered_files(order):
    code, out, err = inkaccord("check", order)
    assert code == 0, err
    assert out.count("taken as the piece, 127 × 178 mm, with 3 mm of bleed all round") == 2
    assert inkaccord("run", order)[0] == 3
    record_all(order)
    code, out, err = inkaccord("run", order)
    assert code == 0, out + err

    given = where_ink_is((order / "tikz-cmyk-invitation.pdf").read_bytes(), BLEED_MM, BLEED_MM)
    single = (order / "out" / "shop" / "exported-invitation.pdf").read_bytes()
    with pikepdf.open(io.BytesIO(single)) as pdf:
        trim, bleed = box(pdf.pages[0], "/TrimBox"), box(pdf.pages[0], "/BleedBox")
        media = box(pdf.pages[0], "/MediaBox")
    assert [trim[2] - trim[0], trim[3] - trim[1]] == pytest.approx([127, 178], abs=0.01)
    assert [b - t for b, t in zip(bleed, trim, strict=True)] == pytest.approx(
        [-3, -3, 3, 3], abs=0.01
    )
    printed = where_ink_is(single, trim[0] - media[0], trim[1] - media[1])
    assert np.mean(printed == given) > 0.99

    given = where_ink_is((order / "typst-cmyk-invitation.pdf").read_bytes(), BLEED_MM, BLEED_MM)
    sheet = (order / "out" / "studio" / "exported-card.pdf").read_bytes()
    record = json.loads((order / "out" / "run.json").read_text("utf-8"))
    (laid,) = record["sheets"]
    upright = [it["box_mm"] for it in laid["trims"] if it["box_mm"][2] - it["box_mm"][0] < 130]
    assert upright
    for left, bottom, right, top in upright:
        assert [right - left, top - bottom] == pytest.approx([127, 178], abs=0.02)
        assert np.mean(where_ink_is(sheet, left, bottom) == given) > 0.99
