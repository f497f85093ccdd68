"""A piece's vendor, device, stock, pair and numbers, worked out in one place."""

import pytest

from inkaccord.colour.pairs import Pair
from inkaccord.order.loading import load_order
from inkaccord.order.model import Order

SHOP = """  shop:
    title: The Boathouse Press
    bleed: 2mm
    devices: {offset: {}}
pieces:
  tag: {artwork: tag.pdf, trim: 2in x 2in, device: offset, stock: natural-cotton, bleed: 4mm}
"""


@pytest.fixture
def order(write_order) -> Order:
    return load_order(write_order(("pieces:\n", SHOP)), {}).order


def test_a_job_holds_what_the_order_says_of_a_piece(order):
    card, tag = order.jobs["card"], order.jobs["tag"]
    assert (card.vendor_name, tag.vendor_name) == ("studio", "shop")
    assert card.piece is order.pieces["card"]
    assert card.vendor is order.vendors["studio"]
    assert card.device is order.vendors["studio"].devices["laser"]
    assert card.stock is tag.stock is order.stocks["natural-cotton"]
    assert tag.pair == Pair(device="offset", stock="natural-cotton")
    assert (card.quantity, card.overs) == (23, 2)  # 20 and 3 more; 5 % of 23, rounded up
    assert (tag.quantity, tag.overs) == (20, 0)


def test_a_piece_has_its_own_bleed_or_else_its_vendors(order):
    assert order.jobs["tag"].bleed_pt == pytest.approx(4 / 25.4 * 72)
    assert order.jobs["card"].bleed_pt == order.vendors["studio"].bleed


def test_a_vendor_goes_by_its_title_or_else_its_name(order):
    assert [job.vendor_title for job in order.jobs.values()] == ["The Boathouse Press", "studio"]


def test_jobs_are_found_by_pair_and_by_vendor(order):
    card, tag = order.jobs["card"], order.jobs["tag"]
    assert order.jobs_on(card.pair) == order.jobs_of("studio") == (card,)
    assert order.jobs_on(tag.pair) == order.jobs_of("shop") == (tag,)


def test_a_pair_without_its_setting_is_that_of_its_device(order):
    on = order.on(Pair(device="laser", stock="natural-cotton"))
    assert on.pair == order.jobs["card"].pair == Pair.parse("laser@natural-cotton/card")
    assert on.vendor_name == "studio"


def test_what_the_order_lacks_is_a_key_error(order):
    with pytest.raises(KeyError, match="press"):
        order.on(Pair(device="press", stock="natural-cotton"))
    with pytest.raises(KeyError, match="kraft"):
        order.on(Pair(device="laser", stock="kraft"))


def test_the_jobs_of_a_copy_are_its_own(order):
    assert set(order.jobs) == {"tag", "card"}
    assert set(order.only({"card"}).jobs) == {"card"}
    more = order.model_copy(update={"suites": 100})
    assert (order.jobs["card"].quantity, more.jobs["card"].quantity) == (23, 103)


def test_an_order_is_the_same_before_and_after_its_jobs_are_asked_for(order):
    asked = order.model_copy()
    assert asked.jobs
    assert order.model_copy() == asked
    assert "jobs" not in asked.model_dump()
