"""The page for the first afternoon says what the screen says."""

from pathlib import Path

import pytest

DOCS = Path(__file__).parents[1] / "docs"


@pytest.fixture
def first_afternoon(monkeypatch):
    """The script that plays the page through."""
    monkeypatch.syspath_prepend(DOCS)
    import first_afternoon

    return first_afternoon


@pytest.mark.slow
def test_the_first_order_of_the_docs_ends_as_the_page_says(first_afternoon, tmp_path):
    page = first_afternoon.PAGE.read_text("utf-8")
    assert first_afternoon.play(page, tmp_path) == page, "run python docs/first_afternoon.py"
    assert "all 2 pieces are ready" in page


def test_a_line_goes_into_the_order_where_its_field_stands_or_to_the_end(first_afternoon, tmp_path):
    order = tmp_path / "order.yaml"
    order.write_text("colours:\n  leaf:\n    aim: {lab: [1, 2, 3]}\n", "utf-8")
    first_afternoon._write(order, "    aim: {by_eye: a ribbon}")
    first_afternoon._write(order, "accept_by_eye: true")
    text = order.read_text("utf-8")
    assert text == "colours:\n  leaf:\n    aim: {by_eye: a ribbon}\naccept_by_eye: true\n"
