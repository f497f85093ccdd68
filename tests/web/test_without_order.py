"""The studio's book, and a question, without an order: about the shelf that is usual here."""

import json
from pathlib import Path

from run_kit import inkaccord
from web_kit import PageHere, send_form, value_on


def test_the_book_is_kept_without_an_order_as_the_command_keeps_it(tmp_path: Path) -> None:
    page = PageHere(tmp_path)
    assert 'href="/book"' in page.get("/").text
    said = {"do": "add", "name": "Harbour green", "colour": "lab 41 -20 8"}
    answer = send_form(page, "/book", said, [])
    assert answer.status == 303, answer.text
    (colour,) = json.loads(inkaccord("book", "--json")[1])["colours"]
    assert (colour["name"], colour["aim"]["lab"]) == ("Harbour green", [41, -20, 8])
    shown = page.get(answer.headers["location"]).text
    assert "/book/colour?name=Harbour%20green" in shown
    assert "/order/" not in shown
    assert "lab 41 -20 8" in page.get("/book/colour?name=Harbour+green").text
    assert page.get("/book/card.pdf").data.startswith(b"%PDF")
    assert page.post("/undo", {"word": value_on(shown, "word")}).status == 303
    assert json.loads(inkaccord("book", "--json")[1])["colours"] == []


def test_a_question_without_an_order_is_put_to_the_usual_shelf(tmp_path: Path) -> None:
    page = PageHere(tmp_path)
    assert "Ask for a colour" in page.get("/ask").text
    answer = page.get("/ask?colour=lab+41+-20+8")
    assert (answer.status, "knows no pair" in answer.text) == (409, True)
    assert inkaccord("swatches", "laser@kraft", "--count", "20", "--out", tmp_path)[0] == 0
    assert "laser@kraft" in page.get("/ask?colour=lab+41+-20+8").text.replace("<wbr>", "")
