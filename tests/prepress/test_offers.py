"""Quotes for one piece, against sums and turning points that were worked out by hand."""

from decimal import Decimal
from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from examples_kit import few
from inkaccord.layout.packing import misfit
from inkaccord.order.model import Order
from inkaccord.prepress.framing import lay_pieces
from inkaccord.prepress.laying import item_of, layout_rules, mark_rules, sheets_of
from inkaccord.prepress.offers import offers
from inkaccord.prepress.print_runs import slug_stand_in
from inkaccord.recall.recall import computed
from inkaccord.report.cost_list import quote_lines

DATA: dict[str, Any] = {
    "order": "fair",
    "date": "2026-11-16",
    "suites": 120,
    "currency": "EUR",
    "colours": {"leaf": {"aim": {"lab": [52, -28, 22]}, "in_artwork": ["cmyk 75 20 80 10"]}},
    "stocks": {"ivory": {"size": "a5"}, "felt": {"size": "a4"}},
    "vendors": {
        "mill": {
            "devices": {"mill-press": {"stocks": ["ivory"]}},
            "overs": {"percent": 5},
            "prices": {
                "table": [{"up_to": 100, "each": "0.72"}, {"up_to": 250, "each": "0.55"},
                          {"up_to": 500, "each": "0.46"}],
                "setup": 35,
                "delivery": "11.90",
            },
        },
        "quay": {
            "delivers": "sheets",
            "devices": {"press": {"stocks": ["felt"]}},
            "prices": {"table": 2},
        },
    },
    "pieces": {
        "reply": {"artwork": "r.pdf", "trim": "a6", "device": "mill-press", "stock": "ivory"},
        "card": {"artwork": "c.pdf", "trim": "a6", "device": "press", "stock": "felt"},
    },
}  # fmt: skip


def quoted(**quotes: Any) -> dict[str, Any]:
    return offers(Order.model_validate(DATA | {"quotes": quotes}))


def told(made):
    return [(it.vendor, it.prints_it, it.total, it.cheaper_from, it.cheaper_to) for it in made]


def test_two_vendors_by_hand():
    # mill:  126 × 0.55 + 35 + 11.90 = 116.20. oxbow: 120 × 0.41 + 60 + 9 = 118.20.
    # oxbow costs 0.41 n + 69; mill, with m = n and 5 % rounded up: 0.55 m + 46.90. At 130 both:
    # 0.41 × 130 + 69 = 122.30; m = 137: 0.55 × 137 + 46.90 = 122.25, mill by five cents. At 131:
    # 122.71 against m = 138: 122.80, oxbow. Below, mill's dearer line holds up to m = 100, which
    # is n = 95: 0.72 × 100 + 46.90 = 118.90 against 0.41 × 95 + 69 = 107.95, oxbow; at 96 m = 101:
    # 102.45 against 108.36, mill.
    made = quoted(oxbow={"pieces": ["reply"], "prices": {
        "table": [{"up_to": 1000, "each": "0.41"}], "setup": 60, "delivery": 9}})  # fmt: skip
    assert told(made["reply"]) == [
        ("mill", True, Decimal("116.20"), None, None),
        ("oxbow", False, Decimal("118.20"), 131, 95),
    ]
    assert [*made] == ["reply"], "nobody else was asked for the card"


def test_past_its_table_a_quote_says_so():
    made = quoted(oxbow={"prices": {"table": [{"up_to": 100, "each": 1}], "setup": 0,
                                    "delivery": 0}})  # fmt: skip
    (mill, oxbow) = made["reply"]
    assert (mill.past_table, oxbow.past_table) == (False, True)
    assert oxbow.total == 120


def test_what_is_not_known_or_in_another_currency_is_not_compared():
    full = {"table": "0.10", "setup": 0, "delivery": 0}
    made = quoted(
        far={"prices": {**full, "currency": "JPY"}}, odd={"prices": {"table": "0.10", "setup": 0}}
    )
    assert told(made["reply"]) == [
        ("mill", True, Decimal("116.20"), None, None),
        ("far", False, Decimal(12), None, None),
        ("odd", False, None, None, None),
    ]
    # Mill lacks the card's stock; what its printer asks for set-up and delivery is not known.
    assert [it.vendor for it in made["card"]] == ["far", "quay", "odd"]


def test_a_vendor_paid_by_the_sheet_by_hand():
    # A reply of 105 × 148 mm with 3.175 mm of bleed on each side and 6.35 mm between trims takes
    # 111.35 × 154.35 mm. Of SRA3 (320 × 450 mm) 311.6 × 441.6 mm are printed: turned, 2 × 3 = 6;
    # upright, 2 × 2. 120 and 4 overs are 124: 21 sheets. 21 × 1.10 + 30 + 8 = 61.10.
    wharf = {"sheets": ["sra3"], "overs": {"at_least": 4},
             "prices": {"table": "1.10", "setup": 30, "delivery": 8}}  # fmt: skip
    wharf_now, mill = quoted(wharf=wharf)["reply"]
    print_, *_ = wharf_now.charges
    assert (wharf_now.vendor, wharf_now.on_a_sheet, print_.number) == ("wharf", 6, 21)
    assert wharf_now.total == Decimal("61.10")
    assert mill.on_a_sheet is None
    # Mill for one is 0.72 × 2 (one of them over) + 46.90 = 48.34, at two 0.72 × 3 + 46.90. Wharf
    # for up to 2 takes a sheet: 39.10; so mill is never the cheaper, down to a single reply.
    assert (mill.cheaper_from, mill.cheaper_to) == (None, None)


def test_the_vendor_that_lays_a_piece_beside_others_is_asked_for_it_alone():
    # A card of 105 × 148 mm on A4 (210 × 297 mm, of which 201.6 × 288.6 mm are printed): 111.35 ×
    # 154.35 mm go once across and once down, and turned once across and twice down.
    made = quoted(oxbow={"prices": {"table": "0.41", "setup": 0, "delivery": 0}})["card"]
    (quay,) = [it for it in made if it.prints_it]
    assert (quay.on_a_sheet, quay.charges[0].number, quay.charges[0].sum) == (2, 60, 120)


@pytest.mark.parametrize("number", [1, 5, 6, 7, 24, 120, 121])
@pytest.mark.parametrize("turning", ["long-edge", "work-and-turn"])
def test_sheets_are_those_that_a_run_would_lay_it_on(number, turning):
    device = {"sheets": ["sra3"], "turning": turning, "gripper": "bottom",
              "gripper_margin": "10mm"}  # fmt: skip
    vendor = {"delivers": "sheets", "devices": {"press": device}, "prices": {"table": 2}}
    order = Order.model_validate(
        DATA
        | {"suites": number, "stocks": {**DATA["stocks"], "felt": {"size": "sra3"}},
           "vendors": {**DATA["vendors"], "quay": vendor},
           "quotes": {"far": {"prices": {"table": 1}}}}
    )  # fmt: skip
    job = order.jobs["card"]
    sides = 2 if turning == "work-and-turn" else 1
    marks = mark_rules(order, job, slug_stand_in(order, job, ()))
    laid, _ = lay_pieces(computed, job, [item_of(job, sides)], sides, marks)
    ran = SimpleNamespace(artworks=[SimpleNamespace(piece="card", pages=sides, finishes=())])
    (quay,) = [it for it in offers(order, ran)["card"] if it.prints_it]
    assert quay.charges[0].number == laid.sheets


def test_who_does_not_do_its_finish_is_not_asked_for_a_piece():
    foil = {"foil": {"finish": "foil", "in_artwork": ["spot Gold Foil"]}}
    press = {"devices": {"other-press": {}}, "prices": {"table": 1, "setup": 0, "delivery": 0}}
    vendors = {**DATA["vendors"], "pier": press, "cape": press | {
        "devices": {"cape-press": {}}, "finishes": {"foil": "overprint"}}}  # fmt: skip
    order = Order.model_validate(DATA | {"finishes": foil, "vendors": vendors})
    ran = SimpleNamespace(artworks=[SimpleNamespace(piece="reply", pages=1, finishes=("foil",))])
    assert {it.vendor for it in offers(order, ran)["reply"]} == {"mill", "cape"}
    assert {it.vendor for it in offers(order)["reply"]} == {"mill", "cape", "pier"}


def test_what_can_not_be_laid_has_no_number():
    small = {"sheets": ["10cm x 10cm"], "prices": {"table": 1, "setup": 0, "delivery": 0}}
    made = quoted(small=small)["reply"]
    assert [(it.vendor, it.total) for it in made] == [("mill", Decimal("116.20")), ("small", None)]
    said = quote_lines(made)[1]
    assert (said.number, said.total) == ("–", "not known")
    assert "no sheet" in said.notes[0] or "fit" in said.notes[0]


class Counting:
    """A recall that remembers nothing and counts what is asked of it."""

    def __init__(self) -> None:
        self.asked = 0

    def __call__(self, function, /, *args, **kwargs):
        self.asked += 1
        return function(*args, **kwargs)


def with_cards(number, **card):
    data = DATA["pieces"]["card"] | card
    cards = {f"card-{at}": data for at in range(number)}
    return Order.model_validate(
        DATA | {"pieces": cards, "quotes": {"wharf": {"sheets": ["sra3"], "prices": {"table": 1}}}}
    )


def test_what_is_alike_is_laid_once():
    """Whatever the pieces are called, and however many of each are ordered."""
    one, five = Counting(), Counting()
    (alone,) = offers(with_cards(1), recall=one).values()
    found = offers(with_cards(5), recall=five)
    assert one.asked == five.asked > 0
    assert all(told(made) == told(alone) for made in found.values())
    asked = five.asked
    offers(with_cards(2, trim="a7"), recall=five)
    assert five.asked > asked, "another size is laid by itself"


@pytest.mark.slow
@few(30)
@given(
    trim=st.tuples(st.integers(45, 200), st.integers(45, 290)),
    sheets=st.sampled_from([["sra3"], ["a3"], ["sra3", "a3"], ["350mm x 500mm"]]),
    turning=st.sampled_from(["long-edge", "work-and-turn", "work-and-tumble"]),
    gripper=st.booleans(),
    pages=st.integers(1, 2),
)
def test_it_is_the_number_that_laying_with_all_marks_gives(trim, sheets, turning, gripper, pages):
    device = {"sheets": sheets, "turning": turning}
    device |= {"gripper": "bottom", "gripper_margin": "10mm"} if gripper else {}
    vendor = {"delivers": "sheets", "devices": {"press": device}, "prices": {"table": 2}}
    order = Order.model_validate(
        DATA
        | {
            "vendors": {**DATA["vendors"], "quay": vendor},
            "pieces": {
                "card": DATA["pieces"]["card"] | {"trim": "{}mm x {}mm".format(*trim)},
            },
            "quotes": {"far": {"prices": {"table": 1}}},
        }
    )
    job = order.jobs["card"]
    item = item_of(job, pages).model_copy(update={"quantity": 10**6})
    marks = mark_rules(order, job, slug_stand_in(order, job, ()))
    ran = SimpleNamespace(artworks=[SimpleNamespace(piece="card", pages=pages, finishes=())])
    (quay,) = [it for it in offers(order, ran)["card"] if it.prints_it]
    if misfit(item, sheets_of(job), layout_rules(job, pages)):
        assert quay.on_a_sheet is None
        assert "card" in quay.charges[0].note, "it goes by its own name"
        return
    laid, _ = lay_pieces(computed, job, [item], pages, marks)
    assert quay.on_a_sheet == max(one.copies_of("card") for one in laid.layouts)
