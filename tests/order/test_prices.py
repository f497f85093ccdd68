"""What an order may say of prices, and what it is told where it says too much or too little."""

import datetime
import re
import textwrap
from decimal import Decimal

import pytest

from inkaccord.errors import OrderError
from inkaccord.order.loading import load_order
from inkaccord.order.prices import minor_units
from inkaccord.starter.order import write_starter

DEVICES = "      laser: {sheets: [letter], setting: card}\n"


def with_prices(prices: str) -> tuple[str, str]:
    return DEVICES, DEVICES + textwrap.indent(textwrap.dedent(prices).strip(), "    ") + "\n"


def only(path):
    with pytest.raises(OrderError) as problem:
        load_order(path, {})
    (finding,) = problem.value.findings
    return finding


@pytest.mark.parametrize(
    ("code", "decimals"),
    # ISO 4217, list one (SIX Financial Information, published 2026-01-01), column 'Minor unit'.
    [("EUR", 2), ("USD", 2), ("JPY", 0), ("KWD", 3), ("CLF", 4), ("XAU", None), ("EURO", None)],
)
def test_each_currency_has_the_decimals_of_the_standard(code, decimals):
    assert minor_units(code) == decimals


def test_amounts_stay_as_they_are_written(write_order):
    path = write_order(
        ("suites: 20", "suites: 20\ncurrency: eur"),
        with_prices("""
            prices:
              table: [{up_to: 100, each: 0.10}, {up_to: "1,000", each: "0,085"}, {each: .07}]
              setup: 12
              by_stock:
                natural-cotton: 0.2
              by_piece:
                card: [{up_to: 50, each: 0.3}]
              delivery: 9.5
              samples: {table: 1.10, setup: 0}
        """),
    )
    order = load_order(path, {}).order
    prices = order.vendors["studio"].prices
    assert order.currency == "EUR"
    assert [it.each for it in prices.table] == [Decimal("0.10"), Decimal("0.085"), Decimal("0.07")]
    assert str(prices.table[0].each) == "0.10"
    assert [it.up_to for it in prices.table] == [100, 1000, None]
    assert prices.by_stock["natural-cotton"].table[0].each == Decimal("0.2")
    assert prices.by_piece["card"].table[0].up_to == 50
    assert prices.samples.table[0].each == Decimal("1.10")
    assert prices.samples.setup == 0


@pytest.mark.parametrize(
    "prices",
    [
        "prices: {table: 0.72 up to 100; 0.46}",
        "prices: 0.72 up to 100; 0.46",
        "prices: {table: [0.72 up to 100, 0.46]}",
    ],
)
def test_a_table_may_be_written_in_words_as_on_the_page(write_order, prices):
    path = write_order(("suites: 20", "suites: 20\ncurrency: EUR"), with_prices(prices))
    order = load_order(path, {}).order
    table = order.vendors["studio"].prices.table
    assert [(it.up_to, it.each) for it in table] == [
        (100, Decimal("0.72")),
        (None, Decimal("0.46")),
    ]


def test_words_that_are_no_table_are_told_where_they_stand(write_order):
    finding = only(write_order(with_prices("prices: {table: 0.72 upto 100; 0.46}")))
    assert "'0.72 upto 100' is more than an amount" in finding.message


def test_a_list_alone_is_the_table(write_order):
    path = write_order(
        ("suites: 20", "suites: 20\ncurrency: EUR"),
        with_prices("prices: [{up_to: 100, each: 0.9}, {up_to: 500, each: 0.6}]"),
    )
    prices = load_order(path, {}).order.vendors["studio"].prices
    assert [(it.up_to, it.each) for it in prices.table] == [
        (100, Decimal("0.9")),
        (500, Decimal("0.6")),
    ]


@pytest.mark.parametrize(
    ("prices", "line", "field", "said"),
    [
        ("prices: {currency: $, table: 2}", 16, "prices.currency", "ISO 4217"),
        ("prices: {currency: XAU, table: 2}", 16, "prices.currency", "'XAU' is not a currency"),
        ("prices: {currency: EUR, table: [{each: -2}]}", 16, "prices.table[0].each", "at least 0"),
        ("prices: {currency: EUR, delivery: 9 USD}", 16, "prices.delivery", "one currency"),
        ("prices: {currency: EUR, delivery: '1,200'}", 16, "prices.delivery", "1200 or 1.200"),
        ("prices: {currency: EUR, delivery: soon}", 16, "prices.delivery", "the number alone"),
        (
            """
            prices:
              currency: EUR
              table:
                - {up_to: 500, each: 2}
                - {up_to: 100, each: 3}
            """,
            18,
            "prices.table",
            "'up_to: 100' stands after 'up_to: 500'",
        ),
        (
            """
            prices:
              currency: EUR
              table:
                - {each: 2}
                - {up_to: 100, each: 3}
            """,
            18,
            "prices.table",
            "the last one only",
        ),
        (
            """
            prices:
              currency: EUR
              by_piece:
                card: {currency: USD, table: 2}
            """,
            19,
            "prices.by_piece.card",
            "one currency",
        ),
        (
            """
            prices:
              currency: EUR
              by_piece:
                cart: 2
            """,
            19,
            "prices.by_piece.cart",
            "there is no piece 'cart'",
        ),
        (
            """
            prices:
              currency: EUR
              by_stock:
                cotton: 2
            """,
            19,
            "prices.by_stock.cotton",
            "there is no stock 'cotton'",
        ),
        ("prices: {table: 2}", 16, "prices", "in no currency"),
        ("prices: {currency: EUR, overs: free}", 16, "prices.overs", "paid by the sheet"),
    ],
)
def test_what_is_wrong_is_said_with_its_line_and_field(write_order, prices, line, field, said):
    finding = only(write_order(with_prices(prices)))
    assert finding.place.line == line, str(finding)
    assert finding.place.field == f"vendors.studio.{field}", str(finding)
    assert said in finding.message


def test_a_currency_twice_is_a_field_twice(write_order):
    finding = only(write_order(with_prices("prices: {currency: EUR, table: 2, currency: USD}")))
    assert "currency" in finding.message
    assert finding.place.line == 16


def test_the_order_s_currency_must_be_one(write_order):
    finding = only(write_order(("suites: 20", "suites: 20\ncurrency: $")))
    assert (finding.place.line, finding.place.field) == (4, "currency")
    assert "such as EUR, USD or JPY" in finding.message


@pytest.mark.parametrize(
    ("quote", "field", "said"),
    [
        ("studio: {prices: {table: 1}}", "quotes.studio", "is a vendor of this order"),
        ("ox: {pieces: [cart], prices: {table: 1}}", "quotes.ox.pieces.cart", "no piece 'cart'"),
        ("ox: {prices: {by_stock: {felt: 1}}}", "quotes.ox.prices.by_stock.felt", "no stock"),
        ("ox: {prices: {table: -1}}", "quotes.ox.prices.table", "at least 0"),
        ("ox: {title: Ox}", "quotes.ox.prices", "is missing"),
        (
            "ox: {sheets: [a3], overs: 10 %, prices: {table: 1, overs: free}}",
            "quotes.ox.prices.overs",
            "paid by the sheet",
        ),
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


def test_the_starter_order_has_prices_to_fill_in(tmp_path):
    write_starter(tmp_path, datetime.date(2026, 11, 29))
    path = tmp_path / "order.yaml"
    assert load_order(path, {}).order.vendors["studio"].prices is None
    behind = re.compile(r"^    # ((?:  )?(?:prices|currency|table|setup|delivery):)", re.MULTILINE)
    path.write_text(behind.sub(r"    \1", path.read_text("utf-8")), "utf-8")
    prices = load_order(path, {}).order.vendors["studio"].prices
    assert prices.currency == "EUR"
    assert [(it.up_to, it.each) for it in prices.table] == [
        (50, Decimal("0.60")),
        (None, Decimal("0.45")),
    ]
    assert prices.setup == prices.delivery == 0
