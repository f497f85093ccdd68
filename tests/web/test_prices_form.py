"""What vendors ask, typed into the form of an order, and the page that sums it up."""

from pathlib import Path

import pytest
import yaml

from inkaccord.web.price_table import price_table_in_words, typed_price_table
from run_kit import inkaccord
from web_kit import PageHere, once_known, studio, value_on

AT = "field/vendors/studio/prices"


@pytest.fixture
def page(tmp_path: Path) -> PageHere:
    studio(tmp_path)
    return PageHere(tmp_path)


def order_of(page: PageHere) -> dict[str, dict[str, dict[str, object]]]:
    read: dict[str, dict[str, dict[str, object]]] = yaml.safe_load(text_of(page))
    return read


def text_of(page: PageHere) -> str:
    return (page.folder / "tags/order.yaml").read_text("utf-8")


def keep(page: PageHere, fields: dict[str, str]) -> int:
    at = f"{page.order}/pieces"
    was = value_on(page.get(at).text, "was")
    return page.post(at, {"do": "keep", "was": was, **fields}).status


@pytest.mark.parametrize(
    ("typed", "found"),
    [
        ("0.72 up to 100; 0.55 up to 250; 0.46", [{"up_to": "100", "each": "0.72"},
         {"up_to": "250", "each": "0.55"}, {"each": "0.46"}]),
        ("0.38", "0.38"),
        ("4 up to 10", [{"up_to": "10", "each": "4"}]),
        ("", None),
    ],
)  # fmt: skip
def test_a_table_is_typed_in_one_line(typed: str, found: object) -> None:
    assert typed_price_table(typed) == found
    assert price_table_in_words(typed_price_table(typed)) == typed


def test_a_table_may_be_typed_in_lines() -> None:
    assert typed_price_table("0,72 up to 100\r\n 0,55 up to 250;\n\n0.46\n") == typed_price_table(
        "0,72 up to 100; 0,55 up to 250; 0.46"
    )


def test_what_is_no_line_is_left_to_check_and_lines_of_more_stand_as_yaml() -> None:
    assert typed_price_table("0,72; 3 per sheet") == "0,72; 3 per sheet"
    assert price_table_in_words([{"each": "1", "odd": "2"}]) == "[{each: 1, odd: 2}]"
    assert typed_price_table("[{each: 1, odd: 2}]") == [{"each": "1", "odd": "2"}]
    assert typed_price_table("[\r\n {each: 1,\r\n  odd: 2}\r\n]") == [{"each": "1", "odd": "2"}]


def test_prices_are_typed_beside_the_vendor_and_summed_up_before_a_run(page: PageHere) -> None:
    path = page.folder / "tags/order.yaml"
    path.write_text(text_of(page).replace("vendors:", "vendors:   # who prints", 1), "utf-8")
    assert "No vendor states prices yet" in page.get(page.order).text
    assert "under ‘What it asks’" in page.get(f"{page.order}/cost").text
    said = {
        "field/currency": "EUR",
        f"{AT}/table": "0,72 up to 100; 0.46",
        f"{AT}/setup": "35",
        f"{AT}/delivery": "0",
        f"{AT}/samples/table": "4",
        f"{AT}/by_piece/tag/table": "0.5",
    }
    assert keep(page, said) == 303
    prices = order_of(page)["vendors"]["studio"]["prices"]
    assert prices == {
        "table": [{"up_to": 100, "each": "0,72"}, {"each": 0.46}],
        "setup": 35,
        "by_piece": {"tag": {"table": 0.5}},
        "delivery": 0,
        "samples": {"table": 4},
    }
    assert "# who prints" in text_of(page)
    code, out, _ = inkaccord("cost", page.folder / "tags")
    assert (code, "40.00 EUR" in out) == (0, True), "10 at 0.50, and 35 to set up"
    assert "What is known before a run" in page.get(page.order).text
    assert "40.00" in page.get(f"{page.order}/cost").text
    shown = page.get(f"{page.order}/pieces").text
    assert "0,72 up to 100; 0.46</textarea>" in shown
    assert keep(page, {**said, f"{AT}/by_piece/tag/table": "", f"{AT}/samples/table": ""}) == 303
    assert order_of(page)["vendors"]["studio"]["prices"].keys() == {"table", "setup", "delivery"}  # type: ignore[attr-defined]


def test_what_is_no_price_is_said_beside_its_field(page: PageHere) -> None:
    at = f"{page.order}/pieces"
    typed = {"do": "check", "field/currency": "EUR", f"{AT}/table": "€ 0.72"}
    shown = once_known(lambda: page.post(at, typed))
    beside = shown.partition(f'id="said-{AT}/table"')[2].partition("</div>")[0]
    assert "more than an amount" in beside
    assert "€ 0.72</textarea>" in shown


def test_a_table_of_a_piece_goes_with_its_name(page: PageHere) -> None:
    said = {"field/currency": "EUR", f"{AT}/by_piece/tag/table": "0.5"}
    assert keep(page, said) == 303
    assert keep(page, {"call/pieces/tag": "label"}) == 303
    prices = order_of(page)["vendors"]["studio"]["prices"]
    assert prices == {"by_piece": {"label": {"table": 0.5}}}


def test_lines_that_stand_alone_in_the_file_have_one_field(page: PageHere) -> None:
    path = page.folder / "tags/order.yaml"
    text = text_of(page).replace("studio: {", "studio: {prices: [{each: 0.5}], ", 1)
    path.write_text(text.replace("vendors:", "currency: EUR\nvendors:", 1), "utf-8")
    shown = page.get(f"{page.order}/pieces").text
    assert f'name="{AT}" rows' in shown
    assert "0.5</textarea>" in shown
    assert f'name="{AT}/setup"' not in shown
    assert keep(page, {AT: "0.6 up to 50"}) == 303
    prices = order_of(page)["vendors"]["studio"]["prices"]
    assert prices == [{"up_to": 50, "each": 0.6}]


def test_what_only_a_run_says_is_told_beside_what_is_found_now(page: PageHere) -> None:
    for part in ("pieces", "text"):
        shown = page.get(f"{page.order}/{part}").text
        assert "and what the plugin desk-rgb checks, the run says" in shown
