"""Sums against worked examples that were done by hand, and what holds of all sums."""

from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inkaccord.order.diary import SamplesPaid
from inkaccord.order.model import Order
from inkaccord.order.pricing import (
    NO_PRICE,
    PAST_TABLE,
    Charge,
    ChargeKind,
    money,
    rounded,
    totals,
)
from inkaccord.report.wording import sampling_cost
from inkaccord.run.imposed import PrintRun
from inkaccord.run.paying import NOT_LAID, order_charges, piece_charges, samples_paid
from inkaccord.run.sampling import SamplePart, Sampling, sample_charges
from inkaccord.sheets.savings import Cost

DATA: dict[str, Any] = {
    "order": "fair",
    "date": "2026-11-16",
    "suites": 60,
    "currency": "EUR",
    "colours": {"leaf": {"aim": {"lab": [52, -28, 22]}, "in_artwork": ["cmyk 75 20 80 10"]}},
    "stocks": {"cotton": {"size": "sra3"}, "card": {"size": "a5"}},
    "vendors": {
        "quay": {"delivers": "sheets", "devices": {"press": {}}},
        "mill": {"devices": {"mill-press": {}}, "overs": {"percent": 5}},
    },
    "pieces": {
        "card": {"artwork": "c.pdf", "trim": "a6", "device": "press", "stock": "cotton"},
        "tag": {"artwork": "t.pdf", "trim": "a7", "device": "press", "stock": "cotton"},
        "reply": {"artwork": "r.pdf", "trim": "a6", "device": "mill-press", "stock": "card"},
    },
}


def order(**prices: Any) -> Order:
    vendors = {
        name: it | ({"prices": prices[name]} if name in prices else {})
        for name, it in DATA["vendors"].items()
    }
    return Order.model_validate(DATA | {"vendors": vendors})


def run_of(number: int, pieces: dict[str, int], times: int) -> PrintRun:
    return PrintRun(
        number=number, vendor="quay", device="press", stock="cotton", pieces=pieces, times=times,
        pages=1, width_mm=450, height_mm=320, bleed_mm=3, imposed=True, sides=(),
    )  # fmt: skip


def lines(charges):
    return [(it.what_for, it.of, it.number, it.each, it.sum, it.currency) for it in charges]


def test_pieces_by_hand():
    # 60 and 5 % overs are 63 replies: 63 × 0.615 = 38.745, which is 38.75; and 18 and 2 × 7.40.
    asked = order(
        mill={
            "table": [{"up_to": 50, "each": "0.80"}, {"up_to": 100, "each": "0.615"}],
            "setup": "18",
            "delivery": "7.40",
            "parcels": 2,
        }
    )
    found = piece_charges(asked, "mill", ())
    assert lines(found) == [
        ("print", ("reply",), 63, Decimal("0.615"), Decimal("38.75"), "EUR"),
        ("set-up", ("reply",), 1, Decimal(18), Decimal("18.00"), "EUR"),
        ("delivery", (), 2, Decimal("7.40"), Decimal("14.80"), "EUR"),
    ]
    assert totals(found) == {"EUR": Decimal("71.55")}


def test_free_overs_count_neither_for_the_sum_nor_for_the_line_of_the_table():
    asked = order(
        mill={"table": [{"up_to": 60, "each": 2}, {"each": 1}], "overs": "free", "setup": 0,
              "delivery": 0}
    )  # fmt: skip
    (one,) = piece_charges(asked, "mill", ())
    assert (one.number, one.sum) == (60, Decimal(120))


def test_sheets_by_hand():
    # Two layouts: 20 sheets at 1.10 and 4 sheets at 1.90, a set-up of 25 each; yen have no cents.
    asked = order(
        quay={"currency": "JPY", "table": [{"up_to": 5, "each": "190.5"}, {"each": "110"}],
              "setup": 2500, "delivery": 0}
    )  # fmt: skip
    runs = [run_of(1, {"tag": 1, "card": 3}, 20), run_of(2, {"tag": 8}, 5)]  # as they were laid
    assert lines(piece_charges(asked, "quay", runs)) == [
        ("print", ("card", "tag"), 20, Decimal(110), Decimal(2200), "JPY"),
        ("set-up", ("card", "tag"), 1, Decimal(2500), Decimal(2500), "JPY"),
        # 5 × 190.5 = 952.5: half a yen goes up.
        ("print", ("tag",), 5, Decimal("190.5"), Decimal(953), "JPY"),
        ("set-up", ("tag",), 1, Decimal(2500), Decimal(2500), "JPY"),
    ]


def test_the_nearest_table_counts():
    own = {"table": "9", "by_stock": {"cotton": "5"}, "by_piece": {"tag": {"setup": "3"}},
           "setup": "1", "delivery": 0}  # fmt: skip
    runs = [run_of(1, {"card": 3, "tag": 1}, 10), run_of(2, {"tag": 8}, 10)]
    found = piece_charges(order(quay=own), "quay", runs)
    assert [(it.what_for, it.each) for it in found] == [
        ("print", Decimal(5)),
        ("set-up", Decimal(1)),  # two pieces share it
        ("print", Decimal(5)),
        ("set-up", Decimal(3)),
    ]


def test_what_is_not_known_is_no_nought():
    found = order_charges(order(quay={"table": 2}), (), ())
    assert [(it.vendor, it.what, it.of, it.number, it.sum, it.note) for it in found] == [
        ("quay", ChargeKind.PRINT, ("card",), None, None, NOT_LAID),
        ("quay", ChargeKind.SETUP, ("card",), 1, None, NO_PRICE),
        ("quay", ChargeKind.PRINT, ("tag",), None, None, NOT_LAID),
        ("quay", ChargeKind.SETUP, ("tag",), 1, None, NO_PRICE),
        ("quay", ChargeKind.DELIVERY, (), 1, None, NO_PRICE),
        ("mill", ChargeKind.PRINT, ("reply",), 63, None, NO_PRICE),
    ]
    assert totals(found) == {}


def test_currencies_are_never_added_together():
    asked = order(
        quay={"currency": "JPY", "table": 100, "setup": 0, "delivery": 0},
        mill={"table": "1.5", "setup": 0, "delivery": 0},
    )
    found = order_charges(asked, [run_of(1, {"card": 3, "tag": 1}, 20)], ())
    assert totals(found) == {"JPY": Decimal(2000), "EUR": Decimal("94.50")}


def test_an_order_without_prices_has_nothing_to_pay():
    assert order_charges(order(), (), ()) == ()


@pytest.mark.parametrize(("number", "past"), [(100, False), (101, True)])
def test_past_its_last_line_that_line_s_price_is_taken_and_said(number, past):
    asked = order(quay={"table": [{"up_to": 100, "each": 3}], "setup": 0, "delivery": 0})
    runs = [run_of(1, {"card": 1, "tag": 1}, number)]
    (one,) = piece_charges(asked, "quay", runs)
    assert one.sum == 3 * number
    assert one.note == (PAST_TABLE if past else "")


def part(*sheets: str, pages: int = 1) -> SamplePart:
    return SamplePart(
        device="press", stock="cotton", setting="", path="s.pdf", first=1, pages=pages,
        sizes_mm=((210, 297),), sheets=sheets,
    )  # fmt: skip


def asked_for(of: Order, *parts: SamplePart) -> Sampling:
    return Sampling(
        vendor="quay", copies=2, parts=parts, cost=Cost(), dates=None,
        charges=sample_charges(of, "quay", parts, 2),
    )  # fmt: skip


def test_samples_have_prices_of_their_own_or_are_as_other_work():
    own = {"table": 9, "setup": 8, "delivery": 7}
    found = sample_charges(order(quay=own), "quay", [part("A1"), part("B2", pages=3)], 2)
    assert [(it.what_for, it.of, it.number, it.sum) for it in found] == [
        ("samples: print", ("A1",), 2, 18),
        ("samples: set-up", ("A1",), 1, 8),
        ("samples: print", ("B2",), 6, 54),
        ("samples: set-up", ("B2",), 1, 8),
        ("samples: delivery", (), 1, 7),
    ]
    own["samples"] = {"table": "1.25", "setup": 0, "delivery": 0}
    found = sample_charges(order(quay=own), "quay", [part("B2", pages=3)], 2)
    assert [(it.what_for, it.sum) for it in found] == [("samples: print", Decimal("7.50"))]


@pytest.mark.parametrize(
    ("about", "said"),
    [
        ({}, False),  # the studio's own laser, say
        ({"lead_days": 2}, True),
        ({"delivers": "pieces"}, True),
        ({"prices": {"by_piece": {"card": 2}}}, True),
    ],
)
def test_samples_without_a_price_are_said_to_have_none_only_where_they_are_paid(about, said):
    vendors = {
        "quay": DATA["vendors"]["quay"] | about,
        "mill": DATA["vendors"]["mill"] | {"prices": {"table": 1}},
    }
    of = Order.model_validate(DATA | {"vendors": vendors})
    asked = asked_for(of, part("A1"))
    assert [it.sum for it in asked.charges][:1] == [None], "what is to be paid still has the line"
    cost = sampling_cost(of, asked)
    assert cost.startswith("2 printed pages, ")
    assert cost.endswith("at a price that is not stated") is said


def test_what_samples_cost_stays_when_they_are_read_and_is_not_counted_twice():
    of = order(quay={"table": 2, "setup": 1, "delivery": 5})
    both = asked_for(of, part("A1"), part("B2"))
    first = samples_paid((), [both], {"A1", "B2"})
    assert [it.sheets for it in first] == [("A1", "B2")]
    assert sum(it.sum for it in first[0].charges) == 2 * 2 + 1 + 2 * 2 + 1 + 5

    dearer = order(quay={"table": 3, "setup": 1, "delivery": 5})
    again = samples_paid(first, [asked_for(dearer, part("A1"), part("B2"))], {"A1", "B2"})
    assert sum(it.sum for it in again[0].charges) == 2 * 3 + 1 + 2 * 3 + 1 + 5, "nothing went off"

    away = samples_paid(first, [asked_for(dearer, part("A1"), part("B2"))], set())
    assert away == first, "at the price that it had"
    assert samples_paid(first, [asked_for(dearer, part("B2"))], {"B2"}) == first
    assert samples_paid(first, [], set()) == first, "all are read"
    more = samples_paid(first, [asked_for(dearer, part("C3"))], {"C3"})
    assert [it.sheets for it in more] == [("A1", "B2"), ("C3",)]


def test_what_nobody_prints_any_more_costs_nothing():
    of = order(quay={"table": 2, "setup": 1, "delivery": 5})
    first = samples_paid((), [asked_for(of, part("A1"), part("B2"))], {"A1", "B2"})
    assert samples_paid(first, [], {"A1", "B2"}) == ()
    (left,) = samples_paid(first, [], {"B2"})
    assert left.sheets == ("A1",)
    assert {it.of for it in left.charges} == {("A1",), ()}


def test_samples_of_a_vendor_that_the_order_left_are_still_paid():
    gone = Charge(vendor="pier", what=ChargeKind.PRINT, samples=True, of=("A1",), number=1,
                  each=Decimal(4), sum=Decimal(4), currency="EUR")  # fmt: skip
    paid = SamplesPaid(vendor="pier", sheets=("A1",), charges=(gone,))
    assert order_charges(order(mill={"table": 1}), (), [paid])[-1] == gone


amounts = st.decimals(min_value=0, max_value=10**8, places=6)


@given(st.lists(st.tuples(st.integers(1, 10**9), amounts), min_size=1, max_size=30),
       st.sampled_from(["EUR", "JPY", "KWD"]))  # fmt: skip
def test_a_total_is_the_sum_of_its_lines_to_the_last_coin(asked, currency):
    runs = []
    for at, (times, _) in enumerate(asked):
        runs.append(run_of(at + 1, {"card": 1, "tag": 1}, times).model_copy(
            update={"stock": f"s{at}"}))  # fmt: skip
    prices = {
        "currency": currency, "setup": 0, "delivery": 0,
        "by_stock": {f"s{at}": {"table": str(each)} for at, (_, each) in enumerate(asked)},
    }  # fmt: skip
    found = piece_charges(order(quay=prices), "quay", runs)
    coin = Fraction(1, {"EUR": 100, "JPY": 1, "KWD": 1000}[currency])
    whole = Fraction(0)
    for (times, each), one in zip(asked, found, strict=True):
        exact = times * Fraction(each)
        paid = Fraction(one.sum)
        assert paid % coin == 0
        assert -coin / 2 < paid - exact <= coin / 2, "rounded half away from zero"
        whole += paid
    assert Fraction(totals(found)[currency]) == whole


@pytest.mark.parametrize(
    ("amount", "currency", "is_"),
    [("0.005", "EUR", "0.01"), ("0.0049", "EUR", "0.00"), ("2.5", "JPY", "3"),
     ("1.0005", "KWD", "1.001")],
)  # fmt: skip
def test_half_a_coin_goes_up(amount, currency, is_):
    assert str(rounded(Decimal(amount), currency)) == is_


@pytest.mark.parametrize(
    ("amount", "currency", "said"),
    [("1234.5", "EUR", "1,234.50 EUR"), ("0.0375", "EUR", "0.0375 EUR"), ("9000", "JPY",
     "9,000 JPY"), ("7", "KWD", "7.000 KWD")],
)  # fmt: skip
def test_money_in_words(amount, currency, said):
    assert money(Decimal(amount), currency) == said
