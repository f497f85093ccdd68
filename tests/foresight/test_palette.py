"""All colours of an order's artworks in one list."""

import pytest

from artwork_kit import document
from inkaccord.artwork.inventory.inventory import inventory
from inkaccord.colour.paints import Paint
from inkaccord.foresight.palette import names_in, palette
from inkaccord.order.loading import load_order
from inkaccord.run.collected import FoundAs
from run_kit import tags_order

GREEN, SLIP = "cmyk 85 20 60 30", "cmyk 84 20 60 30"
CARD = document(
    b"0.85 0.2 0.6 0.3 k 10 10 60 60 re f 0.34 0.08 0.24 0.12 k 75 10 20 20 re f"
    b" 0 g 10 80 9 9 re f 1 g 12 82 5 5 re f"
)
TAG = document(b"0.84 0.2 0.6 0.3 k 20 20 40 40 re f 0 0.9 0.8 0.1 k 70 70 10 10 re f")


@pytest.fixture
def order(tmp_path):
    def load(more: str = ""):
        pieces = [
            f"{name}: {{artwork: {name}.pdf, trim: 100pt x 100pt, device: press, stock: card}}"
            for name in ("card", "tag")
        ]
        (tmp_path / "order.yaml").write_text(tags_order(GREEN, *pieces) + more, "utf-8")
        return load_order(tmp_path / "order.yaml", {}).order

    return load


@pytest.fixture(scope="module")
def found():
    return {"card": inventory(CARD, dpi=72), "tag": inventory(TAG, dpi=72)}


def test_each_colour_stands_once_with_what_it_is_to_the_order(order, found):
    listed = {str(it.paint): it for it in palette(order(), found)}
    told = {name: (it.found_as, it.brand, it.tint, it.pieces) for name, it in listed.items()}
    assert told == {
        GREEN: (FoundAs.BRAND, "kelp", 100.0, ("card",)),
        SLIP: (FoundAs.NEAR_MISS, "kelp", 100.0, ("tag",)),
        "cmyk 34 8 24 12": (FoundAs.BRAND, "kelp", 40.0, ("card",)),
        "cmyk 0 90 80 10": (FoundAs.UNKNOWN, told["cmyk 0 90 80 10"][1], 100.0, ("tag",)),
        "gray 100": (FoundAs.KEPT, None, 100.0, ("card",)),
    }
    areas = [it.area_mm2 for it in listed.values()]
    assert areas == sorted(areas, reverse=True)
    assert listed[GREEN].area_mm2 == pytest.approx((60 * 25.4 / 72) ** 2, rel=0.02)


def test_a_slip_is_told_until_the_order_holds_both_for_one(order, found):
    apart = {str(it.paint): it.near for it in palette(order(), found)}
    assert {name for name, near in apart.items() if near} == {SLIP}
    assert apart[SLIP] == Paint.parse(GREEN)
    joined = order(f"colours.kelp.in_artwork: [{SLIP}]\n")
    colours = palette(joined, found)
    assert not any(it.near for it in colours)
    assert names_in(joined, colours) == {Paint.parse(GREEN): "kelp", Paint.parse(SLIP): "kelp"}


def test_two_colours_of_the_order_that_just_miss_each_other_are_told_too(order, found):
    two = order(f"colours.moss: {{aim: {{by_eye: moss}}, in_artwork: [{SLIP}]}}\n")
    (slip,) = [it for it in palette(two, found) if str(it.paint) == SLIP]
    assert (slip.brand, slip.near) == ("moss", Paint.parse(GREEN))
