"""Bleed that an order asks for, made before a piece is laid."""

import io

import pikepdf
import pytest

from inkaccord.colour.pairs import Pair
from inkaccord.order.job import Job
from inkaccord.order.pieces import BleedRepair, Piece
from inkaccord.order.stocks import Stock
from inkaccord.order.vendors import Device, Vendor
from inkaccord.prepress.bleed_repair import with_bleed
from inkaccord.testing import assert_boxes, draw_artwork
from page_kit import saved, unblended

BLEED_PT = 9.0


def job(repair: BleedRepair) -> Job:
    card = {
        "artwork": "card.pdf", "trim": "5in x 7in", "device": "press", "stock": "white",
        "bleed_repair": repair, "bleed": "9pt",
    }  # fmt: skip
    return Job(
        pair=Pair(device="press", stock="white"),
        vendor_name="studio",
        vendor=Vendor(devices={"press": Device()}),
        device=Device(),
        stock=Stock.model_validate({"size": "letter"}),
        name="card",
        piece=Piece.model_validate(card),
        quantity=1,
    )


def rim_is_inked(data: bytes) -> bool:
    """Tell whether the lower third of the artwork, which is inked, fills the bleed on the left."""
    picture = unblended(data)
    return bool((picture[-60:-20, 1:8] != 255).any(axis=2).all())


@pytest.mark.parametrize(
    ("repair", "code"),
    [(BleedRepair.MIRROR, "bleed-mirrored"), (BleedRepair.SCALE, "bleed-scaled")],
)
def test_missing_bleed_is_made_and_named(repair: BleedRepair, code: str) -> None:
    tight = draw_artwork("5in x 7in", bleed_in=0)
    mended, findings = with_bleed(tight, job(repair))
    assert [it.code for it in findings] == [code]
    assert_boxes(mended, "5in x 7in", BLEED_PT)
    assert rim_is_inked(mended)


def test_room_that_colour_does_not_fill_is_filled() -> None:
    """The page has its boxes, but white between the cut and the edge of the bleed."""
    with pikepdf.open(io.BytesIO(draw_artwork("5in x 7in"))) as pdf:
        page = pdf.pages[0]
        clip = f"{BLEED_PT} {BLEED_PT} 360 504 re W n"
        page.contents_add(clip.encode(), prepend=True)
        page.contents_coalesce()
        white_rim = saved(pdf)
    assert not rim_is_inked(white_rim)
    mended, findings = with_bleed(white_rim, job(BleedRepair.MIRROR))
    assert [it.code for it in findings] == ["bleed-mirrored"]
    assert rim_is_inked(mended)


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
    assert with_bleed(data, job(repair)) == (data, ())
