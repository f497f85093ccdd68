"""What an order costs, on the page as the command says it."""

from pathlib import Path

from run_kit import inkaccord
from web_kit import PageHere, studio

PRICES = """currency: EUR
quotes:
  oxbow: {title: Oxbow Cards, prices: {table: 0.41, setup: 58, delivery: 9}}
vendors:
"""


def test_it_says_what_the_command_says_and_saves_its_file(tmp_path: Path) -> None:
    order = studio(tmp_path) / "order.yaml"
    text = order.read_text("utf-8").replace("vendors:\n", PRICES, 1)
    paid = "{prices: {table: 0.5, setup: 20, delivery: 0}, "
    order.write_text(text.replace("studio: {", f"studio: {paid}", 1), "utf-8")
    code, _, said = inkaccord("cost", order, "--csv", tmp_path / "books.csv")
    assert code == 0, said
    page = PageHere(tmp_path)
    shown = page.get(f"{page.order}/cost").text
    assert "What is to be paid" in shown
    assert f'href="{page.order}/pieces#printed"' in shown, (
        "where a price is missing one comes to it"
    )
    assert "inkaccord cost" not in shown, "the page saves the file itself"
    quotes = shown.partition('id="h-quotes"')[2]
    assert quotes.index("studio (prints it)") < quotes.index("oxbow"), "the cheaper first"
    assert "25.00" in quotes, "10 at 0.50, and 20 to set up"
    assert "71.10" in quotes, "10 at 0.41, 58 to set up, 9 to deliver"
    assert page.get(f"{page.order}/cost.csv").data == (tmp_path / "books.csv").read_bytes()


def test_without_prices_it_says_where_they_stand(tmp_path: Path) -> None:
    studio(tmp_path)
    page = PageHere(tmp_path)
    shown = page.get(f"{page.order}/cost").text
    assert "No vendor of this order states prices yet" in shown
    assert "Quotes" not in shown
