"""The studio's book, its shelf and a question, without an order: about the shelf usual here."""

import json
import re
from pathlib import Path

from inkaccord.recording.places import shelf_of
from inkaccord.sheets.reading.cgats_written import write_cgats
from inkaccord.shelf.store import Shelf
from recording_kit import readings_of
from run_kit import inkaccord
from web_kit import PageHere, send_form, upload, value_on


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


def test_a_sheet_is_made_printed_and_read_without_an_order(tmp_path: Path) -> None:
    page = PageHere(tmp_path)
    assert 'href="/shelf"' in page.get("/").text
    assert "It is empty" in page.get("/shelf").text
    made = page.post("/make", {"do": "controls", "pair": "laser@kraft", "size": "a5"})
    sheet = re.findall(r"Sheet (\S+) is made", made.text)[0]
    assert on_the_shelf() == [sheet]
    at = f"/shelf/{sheet}"
    assert at in page.get("/shelf").text
    assert page.get(f"{at}/sheet.pdf").data.startswith(b"%PDF")
    assert page.get(f"{at}/mask.pdf").data.startswith(b"%PDF")
    assert page.post(at, {"do": "printed"}).status == 303

    with Shelf.open(shelf_of(None)) as shelf:
        kept = shelf.sheet(sheet)
        table = write_cgats(kept, readings_of(kept)).encode()
    shown = upload(page, f"/read/{sheet}", table)
    assert "12 readings" in shown.text, shown.text
    read = page.post(f"/read/{sheet}/keep", {"do": "keep", "file": value_on(shown.text, "file")})
    assert read.headers["location"].startswith(at)
    there = page.get(read.headers["location"]).text
    assert "12 readings kept." in there
    assert "Look by eye" not in there  # what colours a sheet is looked at for, an order says
    assert page.post("/undo", {"word": value_on(there, "word")}).status == 303
    with Shelf.open(shelf_of(None)) as shelf:
        assert shelf.readings_of_sheet(sheet, retired=True) == ()
    paths = ("/shelf", at, "/make", "/compare", "/target", "/copies", "/another", f"/read/{sheet}")
    for path in paths:
        answer = page.get(path)
        assert answer.status == 200, path
        assert "/order/" not in answer.text, path


def test_several_sheets_and_the_text_of_another_shelf_without_an_order(tmp_path: Path) -> None:
    page = PageHere(tmp_path)
    for pair in ("laser@kraft", "laser@card"):
        page.post("/make", {"do": "controls", "pair": pair, "size": "a5"})
    one, other = on_the_shelf()
    laid = page.post(f"/shelf/{one}", {"do": "laid", "said": "drawer 2"})
    assert "drawer 2" in page.get(laid.headers["location"]).text
    assert page.post("/shelf", {"sheet": other, "do": "labels"}).data.startswith(b"%PDF")
    text = page.get("/copies/shelf.zip").data
    assert "Nothing of it is new here" in upload(page, "/another", text).text


def on_the_shelf() -> list[str]:
    """The sheets of the usual shelf."""
    with Shelf.open(shelf_of(None)) as shelf:
        return [it.sheet.id for it in shelf.sheets()]
