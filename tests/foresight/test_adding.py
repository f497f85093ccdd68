"""What comes to an order: a pair that the shelf knows, a vendor of another order."""

import pytest

from inkaccord.colour.builds import Drive
from inkaccord.colour.pairs import Pair
from inkaccord.foresight.adding import add_pair, add_vendor
from inkaccord.order.amending import amended
from inkaccord.order.loading import load_order
from run_kit import tags_order

TAG = "tag: {artwork: tag.pdf, trim: 100pt x 100pt, device: press, stock: card}"


@pytest.fixture
def order(tmp_path):
    path = tmp_path / "order.yaml"
    path.write_text(tags_order("cmyk 85 20 60 30", TAG), "utf-8")
    return load_order(path, {})


def test_a_pair_brings_what_is_missing_and_it_is_an_order_then(order):
    pair = Pair.parse("jet@kraft/matt")
    changes = add_pair(order.order, "studio", pair, Drive.RGB, {"size": "a4"})
    assert changes == {
        ("vendors", "studio", "devices", "jet"): {"drive": "rgb", "setting": "matt"},
        ("stocks", "kraft"): {"size": "a4"},
    }
    text = amended(order.path.read_text("utf-8"), changes)
    made = load_order(order.path, {}, text.encode()).order
    assert made.vendors["studio"].devices["jet"].setting == "matt"


def test_a_pair_that_is_there_changes_nothing(order):
    assert add_pair(order.order, "studio", Pair.parse("press@card"), Drive.CMYK, {}) == {}


def test_a_vendor_comes_with_its_papers_and_under_a_name_that_is_free(order):
    other = {
        "vendors": {"studio": {"devices": {"jet": {}}}, "else": {}},
        "stocks": {"kraft": {"size": "a4"}, "card": {"size": "a3"}, "felt": {"size": "a5"}},
        "pieces": {
            "one": {"device": "jet", "stock": "kraft"},
            "two": {"device": "jet", "stock": "card"},
            "three": {"device": "other", "stock": "felt"},
        },
    }
    assert add_vendor(order.order, other, "studio") == {
        ("vendors", "studio-2"): {"devices": {"jet": {}}},
        ("stocks", "kraft"): {"size": "a4"},
    }
