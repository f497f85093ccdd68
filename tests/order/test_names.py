"""Names of an order: what they may look like, and which of them get into the way of files."""

import pytest
from pydantic import TypeAdapter, ValidationError

from inkaccord.errors import OrderError
from inkaccord.files import is_reserved, safe_name
from inkaccord.order.loading import load_order
from inkaccord.order.names import Name

ORDER = """
order: names
date: 2026-10-05
suites: 20
colours:
  leaf: {{aim: {{lab: [52, -28, 22]}}, in_artwork: [cmyk 75 20 80 10]}}
stocks:
  white: {{size: letter}}
vendors:
  {one}: {{delivers: sheets, devices: {{press: {{sheets: [letter]}}}}}}
  {other}: {{delivers: sheets, devices: {{laser: {{sheets: [letter]}}}}}}
pieces:
  card: {{artwork: card.pdf, trim: 5in x 7in, device: press, stock: white}}
"""


@pytest.mark.parametrize("name", ["card", "A7.b-c_d", "x" * 63, "console", "com", "lpt10x"])
def test_a_name(name):
    assert TypeAdapter(Name).validate_python(name) == name


@pytest.mark.parametrize(
    "name", ["card\n", "\n", "a b", "-x", "", "x" * 64, "CON", "con.pdf", "Lpt1", "nul", "a.", "é"]
)
def test_no_name(name):
    with pytest.raises(ValidationError):
        TypeAdapter(Name).validate_python(name)


@pytest.mark.parametrize("text", ["con", "CON.pdf", "nul.tar.gz", "a.", "aux-", "x" * 119 + ".pdf"])
def test_a_safe_name_is_none_that_a_system_keeps_for_itself(text):
    assert not is_reserved(safe_name(text))


def test_a_file_keeps_letters_though_not_their_accents():
    names = {"Frühlings Fest": "Fruhlings-Fest", "fête/à deux": "fete-a-deux", "Fußweg": "Fussweg"}
    assert {text: safe_name(text) for text in names} == names


@pytest.mark.parametrize(
    ("one", "other", "code"),
    [
        ("studio", "Studio", "names-alike"),
        ("studio", "report.html", "name-taken"),
        ("studio", "Samples", "name-taken"),
        ("studio", "RUN.JSON", "name-taken"),
    ],
)
def test_a_vendor_whose_folder_gets_into_the_way_is_refused(tmp_path, one, other, code):
    (tmp_path / "order.yaml").write_text(ORDER.format(one=one, other=other), "utf-8")
    with pytest.raises(OrderError) as caught:
        load_order(tmp_path / "order.yaml", {})
    assert [it.code for it in caught.value.findings] == [code]
    assert caught.value.findings[0].place.line == 11


def test_a_bad_name_hides_nothing_else_of_the_order(tmp_path):
    """What is told of the whole needs an order: it is made with the names as they are."""
    text = ORDER.format(one="studio", other="works").replace("  leaf:", "  Leaf green!:")
    text = text.replace("stock: white}", "stock: white, fold: 9in}")
    text = text.replace("suites: 20", "suites: 20\ndue: 2026-10-01")
    (tmp_path / "order.yaml").write_text(text, "utf-8")
    with pytest.raises(OrderError) as caught:
        load_order(tmp_path / "order.yaml", {})
    codes = [it.code for it in caught.value.findings]
    assert sorted(codes) == ["bad-value", "due-before-date", "fold-outside"]
