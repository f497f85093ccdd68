"""Whole orders of what general programs export: black type in RGB, and colours all converted.

The delivered plates are judged by Ghostscript.
"""

import shutil
from pathlib import Path

import numpy as np
import pytest

from inkaccord.errors import ExitCode
from outside import plates
from run_kit import inkaccord, record_all, run_of

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
