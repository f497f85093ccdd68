"""A vendor who lays the pieces itself prints the control swatches on a card, where it takes one."""

import datetime
import json

import pypdfium2
import pytest
import yaml
from pypdfium2.raw import FPDF_PAGEOBJ_PATH

from inkaccord.order.loading import load_order
from inkaccord.planning.control_cards import control_cards
from inkaccord.sheets.drawing.sheet import draw_sheet
from inkaccord.testing import draw_artwork
from inkaccord.workbench import Workbench
from run_kit import inkaccord, record_all, run_of


@pytest.fixture
def order(tmp_path):
    def write(card="a6", aperture=None):
        (tmp_path / "card.pdf").write_bytes(draw_artwork("4in x 6in"))
        (tmp_path / "env.pdf").write_bytes(draw_artwork("a7-envelope", bleed_in=0))
        line = {"device": "press", "stock": "white"}
        order = {
            "order": "cards", "date": "2026-11-28", "suites": 20, "shelf": "shelf.sqlite",
            "keep": ["cmyk 0 0 0 100"],
            "colours": {"leaf": {"aim": {"lab": [52, -28, 22]}, "in_artwork": "cmyk 75 20 80 10"}},
            "stocks": {"white": {"size": "letter"},
                       "cream": {"kind": "envelope", "size": "a7-envelope"}},
            "vendors": {"shop": {"devices": {"press": {"margin": "0in"}}} | (
                {"control_card": card} if card else {})},
            "pieces": {
                "card": line | {"artwork": "card.pdf", "trim": "4in x 6in"},
                "second": line | {"artwork": "card.pdf", "trim": "4in x 6in"},
                "env": line | {"artwork": "env.pdf", "trim": "a7-envelope", "stock": "cream"},
            },
            "release": "regardless",
        }  # fmt: skip
        if aperture:
            order["aperture"] = aperture
        (tmp_path / "order.yaml").write_text(yaml.safe_dump(order), "utf-8")
        return tmp_path

    return write


def cards_of(folder, pieces=("card", "second", "env")):
    loaded = load_order(folder / "order.yaml", {})
    return control_cards(loaded.order, pieces, Workbench(loaded))


@pytest.mark.parametrize(("aperture", "side_mm"), [(None, 11), ("10mm", 13)])
def test_a_card_for_each_pair_has_swatches_that_the_instrument_reads(order, aperture, side_mm):
    cards, findings = cards_of(order(aperture=aperture))
    assert not findings
    assert [card.path for card in cards] == [
        "shop/cards-controls-press-white.pdf", "shop/cards-controls-press-cream.pdf",
    ]  # fmt: skip
    assert cards[0].sheet.date == datetime.date(2026, 11, 28)
    with pypdfium2.PdfDocument(draw_sheet(cards[0].sheet)) as pdf:
        boxes = [
            it.get_bounds() for it in pdf[0].get_objects() if it.type == FPDF_PAGEOBJ_PATH
        ]  # fmt: skip
    least = side_mm / 25.4 * 72 - 0.01
    large = [box for box in boxes if min(box[2] - box[0], box[3] - box[1]) >= least]
    assert len(large) >= 12


def test_a_vendor_who_says_nothing_gets_none_and_a_card_too_small_is_said(order):
    assert cards_of(order(card=None)) == ((), ())
    cards, (finding, *_) = cards_of(order(card="2in x 2in"), ["card"])
    assert not cards
    assert finding.place.field == "vendors.shop.control_card"


@pytest.mark.slow
def test_the_card_goes_out_with_the_pieces_and_is_recorded_by_its_name(order):
    folder = order()
    inkaccord("run", folder)
    record_all(folder)
    assert inkaccord("run", folder)[0] == 0
    run = run_of(folder)
    shop = folder / "out" / "shop"
    assert (shop / "cards-controls-press-white.pdf").exists()
    assert "cards-controls-press-white.pdf" in (shop / "SHA256SUMS").read_text("utf-8")
    assert any("cards-controls-press-white.pdf: one copy" in line for line in run["notes"]["shop"])
    before = json.dumps(run, sort_keys=True)
    assert inkaccord("run", folder)[0] == 0  # asks for nothing more, and changes nothing
    assert json.dumps(run_of(folder), sort_keys=True) == before
    record_all(folder)  # by the names on the cards
