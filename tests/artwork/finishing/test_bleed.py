"""Made bleed: where it is needed, and what it looks like, on pages read back."""

import io

import numpy as np
import pikepdf
import pytest
from numpy.typing import NDArray

from inkaccord.artwork.finishing.bleed import Repair, make_bleed
from inkaccord.artwork.inventory.edges import bare_edges_of
from inkaccord.diagnostics import Diagnostic
from inkaccord.pdf.boxes import PageBoxes, page_boxes
from page_kit import changed, saved, unblended, written

TIGHT = {"MediaBox": [0.0, 0.0, 160.0, 260.0]}
# A ground with a darker bar 4 pt inside the left cut and one 6 pt under the top one.
CONTENT = "0.2 0.6 0.4 rg 0 0 160 260 re f 0 0 0 rg 4 0 3 260 re f 0 0 1 rg 0 248 160 6 re f"


def repaired(data: bytes, how: Repair) -> tuple[bytes, tuple[Diagnostic, ...], PageBoxes]:
    edges = bare_edges_of(data, 9)
    with pikepdf.open(io.BytesIO(data)) as pdf:
        findings = make_bleed(pdf, edges, how, 9, name="card.pdf")
        return saved(pdf), findings, page_boxes(pdf.pages[0])


def picture(data: bytes) -> NDArray[np.uint8]:
    return unblended(data)


def test_edges_of_artwork_without_bleed() -> None:
    found = bare_edges_of(written(CONTENT, TIGHT), 9)[1]
    assert [edge.side for edge in found] == ["left", "bottom", "right", "top"]
    assert found[0].length_mm == pytest.approx(260 * 25.4 / 72, abs=0.5)
    assert found[0].reach_pt == 0


def test_artwork_with_bleed_is_left_alone() -> None:
    data = written(
        "1 0 0 rg 0 0 200 300 re f",
        {"TrimBox": [20, 20, 180, 280], "BleedBox": [11, 11, 189, 289]},
    )
    with pikepdf.open(io.BytesIO(data)) as pdf:
        assert make_bleed(pdf, bare_edges_of(data, 9), "mirror", 9) == ()
        assert saved(pdf) == changed(data, lambda _: None)


def test_mirrored_bleed_is_the_rim_turned_round_and_the_piece_is_unchanged() -> None:
    data = written(CONTENT, TIGHT)
    before = picture(data)
    new, findings, boxes = repaired(data, "mirror")
    after = picture(new)
    assert boxes.trim == pytest.approx((0, 0, 160, 260))
    assert boxes.bleed == pytest.approx((-9, -9, 169, 269))
    assert after.shape == (278, 178, 3)
    piece = after[9:-9, 9:-9]
    assert np.mean((piece != before).any(axis=2)) < 0.02
    for outside, inside in (
        (after[9:-9, 1:9], after[9:-9, 9:17][:, ::-1]),
        (after[1:9, 9:-9], after[9:17, 9:-9][::-1]),
        (after[1:9, 1:9], after[9:17, 9:17][::-1, ::-1]),
        (after[-9:-1, -9:-1], after[-17:-9, -17:-9][::-1, ::-1]),
    ):
        assert np.mean((outside != inside).any(axis=2)) < 0.15  # one pixel of rounding
    assert (after != 255).any(axis=2).mean() > 0.99
    assert [one.code for one in findings] == ["bleed-mirrored"]
    assert "left, bottom, right and top" in findings[0].message
    assert bare_edges_of(new, 9) == {}


def test_only_the_sides_that_need_it_are_mirrored() -> None:
    data = written(
        "1 0 0 rg 20 11 169 269 re f 0 0 1 rg 180 11 9 278 re f",
        {"TrimBox": [20, 20, 180, 280], "BleedBox": [11, 11, 189, 289]},
    )
    new, findings, _ = repaired(data, "mirror")
    assert "on the left and top" in findings[0].message
    after = picture(new)
    assert tuple(after[150, 184]) == (0, 0, 255)  # drawn bleed on the right stays
    assert tuple(after[150, 15]) == (255, 0, 0)
    assert tuple(after[15, 100]) == (255, 0, 0)
    assert bare_edges_of(new, 9) == {}


def test_scaled_bleed_says_by_how_much() -> None:
    data = written(CONTENT, TIGHT)
    new, findings, boxes = repaired(data, "scale")
    assert boxes.trim_size.in_mm == pytest.approx((160 * 25.4 / 72, 260 * 25.4 / 72))
    assert "enlarged to 111.2%" in findings[0].message  # (160 + 18) / 160
    after = picture(new)
    assert (after != 255).any(axis=2).all()
    # The bar from 4 to 7 pt: 80 - (80 - 4) * 1.1125 = -4.6 pt, that is 4.4 px into the media.
    row = after[140]
    dark = np.nonzero((row == 0).all(axis=1))[0]
    assert dark.min() == pytest.approx(4.4, abs=1)
    assert bare_edges_of(new, 9) == {}


def test_user_unit_and_rotation() -> None:
    def turn(pdf: pikepdf.Pdf) -> None:
        page = pdf.pages[0].obj
        page["/UserUnit"] = 2
        page["/Rotate"] = 90

    data = changed(written(CONTENT, TIGHT), turn)
    new, _, boxes = repaired(data, "mirror")
    assert boxes.trim == pytest.approx((0, 0, 320, 520))
    assert boxes.bleed_pt.least_pt == pytest.approx(9)
    assert boxes.rotation == 90
    assert bare_edges_of(new, 9) == {}


def test_the_same_bytes_every_time() -> None:
    data = written(CONTENT, TIGHT)
    assert repaired(data, "mirror")[0] == repaired(data, "mirror")[0]
