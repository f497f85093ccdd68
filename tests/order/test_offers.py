"""Quotes for one piece, against sums and turning points that were worked out by hand."""

from decimal import Decimal
from typing import Any

import pytest

from inkaccord.errors import OrderError
from inkaccord.order.loading import load_order
from inkaccord.order.model import Order
from inkaccord.order.offers import offers

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
        "quay": {"delivers": "sheets", "devices": {"press": {}}, "prices": {"table": 2}},
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
    # The card is printed by the sheet, which has no price of one piece; mill lacks its stock.
    assert [it.vendor for it in made["card"]] == ["far", "odd"]


@pytest.mark.parametrize(
    ("quote", "field", "said"),
    [
        ("studio: {prices: {table: 1}}", "quotes.studio", "is a vendor of this order"),
        ("ox: {pieces: [cart], prices: {table: 1}}", "quotes.ox.pieces.cart", "no piece 'cart'"),
        ("ox: {prices: {by_stock: {felt: 1}}}", "quotes.ox.prices.by_stock.felt", "no stock"),
        ("ox: {prices: {table: -1}}", "quotes.ox.prices.table", "at least 0"),
        ("ox: {title: Ox}", "quotes.ox.prices", "is missing"),
    ],
)
def test_what_is_wrong_with_a_quote_is_said_with_its_line(write_order, quote, field, said):
    path = write_order(("suites: 20", f"suites: 20\ncurrency: EUR\nquotes:\n  {quote}"))
    with pytest.raises(OrderError) as problem:
        load_order(path, {})
    (finding,) = problem.value.findings
    assert finding.place.line == 6
    assert finding.place.field.startswith(field)
    assert said in finding.message
