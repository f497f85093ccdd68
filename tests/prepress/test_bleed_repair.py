"""Bleed that an order asks for, made before a piece is laid."""

import io

import numpy as np
import pikepdf
import pytest

from inkaccord.order.pieces import BleedRepair, Piece
from inkaccord.pdf.rendering import page_pictures
from inkaccord.prepress.bleed_repair import with_bleed
from inkaccord.run.recoloured import ProofSummary, RecolouredPiece
from inkaccord.testing import assert_boxes, draw_artwork
from page_kit import saved

BLEED_PT = 9.0


def copy_of(data: bytes) -> RecolouredPiece:
    return RecolouredPiece("card", data, ProofSummary(passed=True, lines=()))


def piece(repair: BleedRepair) -> Piece:
    return Piece.model_validate(
        {
            "artwork": "card.pdf", "trim": "5in x 7in", "device": "press", "stock": "white",
            "bleed_repair": repair,
        }
    )  # fmt: skip


def rim_is_inked(data: bytes) -> bool:
    """Tell whether the lower third of the artwork, which is inked, fills the bleed on the left."""
    picture = np.asarray(next(page_pictures(data, dpi=72, smooth=False)))
    return bool((picture[-60:-20, 1:8] != 255).any(axis=2).all())


@pytest.mark.parametrize(
    ("repair", "code"),
    [(BleedRepair.MIRROR, "bleed-mirrored"), (BleedRepair.SCALE, "bleed-scaled")],
)
def test_missing_bleed_is_made_and_named(repair: BleedRepair, code: str) -> None:
    tight = draw_artwork("5in x 7in", bleed_in=0)
    mended, findings = with_bleed(copy_of(tight), piece(repair), BLEED_PT)
    assert [it.code for it in findings] == [code]
    assert_boxes(mended.data, "5in x 7in", BLEED_PT)
    assert rim_is_inked(mended.data)


def test_room_that_colour_does_not_fill_is_filled() -> None:
    """The page has its boxes, but white between the cut and the edge of the bleed."""
    with pikepdf.open(io.BytesIO(draw_artwork("5in x 7in"))) as pdf:
        page = pdf.pages[0]
        clip = f"{BLEED_PT} {BLEED_PT} 360 504 re W n"
        page.contents_add(clip.encode(), prepend=True)
        page.contents_coalesce()
        white_rim = saved(pdf)
    assert not rim_is_inked(white_rim)
    mended, findings = with_bleed(copy_of(white_rim), piece(BleedRepair.MIRROR), BLEED_PT)
    assert [it.code for it in findings] == ["bleed-mirrored"]
    assert rim_is_inked(mended.data)


@pytest.mark.parametrize(
    ("data", "repair"),
    [
        (draw_artwork("5in x 7in", bleed_in=0), BleedRepair.REPORT),
        (draw_artwork("5in x 7in"), BleedRepair.MIRROR),
        (draw_artwork("4in x 6in", bleed_in=0), BleedRepair.MIRROR),
    ],
    ids=["not asked", "not needed", "of another size"],
)
def test_what_is_left_as_it_is(data: bytes, repair: BleedRepair) -> None:
    before = copy_of(data)
    assert with_bleed(before, piece(repair), BLEED_PT) == (before, ())
