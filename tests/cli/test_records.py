"""An order whose copies differ: numbered tickets on sheets, addressed envelopes, cards for a shop.

Read from the written files by a renderer that is not ours, as a person cuts and stacks them.
"""

import io
import json
import re

import pypdfium2
import pytest
from pikepdf import Page, Pdf

from inkaccord.testing import draw_artwork
from pdf_words import words_of
from run_kit import inkaccord, record_all

pytestmark = pytest.mark.slow

ORDER = """
order: gala
title: A gala
date: 2026-10-05
due: 2026-11-02
suites: 14
shelf: shelf.sqlite
colours:
  leaf: {aim: {lab: [52, -28, 22]}, in_artwork: [cmyk 75 20 80 10]}
keep: [cmyk 0 0 0 100]
stocks:
  white: {size: letter}
  cream: {kind: envelope, size: a7-envelope}
vendors:
  studio:
    delivers: sheets
    devices: {press: {sheets: [letter], ink_limit: 300, turning: long-edge}}
    overs: {percent: 10}
  shop:
    delivers: pieces
    devices: {line: {}}
pieces:
  ticket: {artwork: ticket.pdf, trim: 2.5in x 3in, device: press, stock: white, records: RECORDS}
  envelope:
    {artwork: envelope.pdf, trim: a7-envelope, device: press, stock: cream, records: RECORDS}
  badge:
    {artwork: badge.pdf, trim: 2in x 3in, device: line, stock: white, sides: 2, records: RECORDS}
tolerances: {between_pieces: 3, to_aim: 4}
"""


def numbered(trim, what, count, bleed_in=1 / 8):
    """Return artwork with a page for each number."""
    with Pdf.new() as book:
        for number in range(1, count + 1):
            page = draw_artwork(trim, bleed_in=bleed_in, label=f"{what} {number};")
            with Pdf.open(io.BytesIO(page)) as one:
                book.pages.append(Page(book.copy_foreign(one.pages[0].obj)))
        out = io.BytesIO()
        book.save(out)
        return out.getvalue()


def write(folder, records="cut-and-stack", tickets=14):
    (folder / "order.yaml").write_text(ORDER.replace("RECORDS", records), "utf-8")
    (folder / "ticket.pdf").write_bytes(numbered("2.5in x 3in", "ticket", tickets))
    (folder / "envelope.pdf").write_bytes(numbered("a7-envelope", "guest", 14, bleed_in=0))
    (folder / "badge.pdf").write_bytes(numbered("2in x 3in", "badge", 28))
    return folder


def numbers_on(page, what):
    """Return the numbers on a page, each with its place, as pdfium finds them."""
    text = page.get_textpage()
    found = []
    for label in re.finditer(rf"{what} (\d+);", text.get_text_range()):
        left, bottom, _, _ = text.get_charbox(label.start())
        found.append((int(label[1]), round(left), round(bottom)))
    return found


def pages(path, what):
    with pypdfium2.PdfDocument(path) as pdf:
        return [numbers_on(page, what) for page in pdf]


def stacked(sheets):
    """Cut the pile of sheets as one, and put the small piles on each other, row by row."""
    piles = {}
    for sheet in sheets:
        for number, left, bottom in sheet:
            piles.setdefault((-round(bottom, -1), round(left, -1)), []).append(number)
    return [number for _, pile in sorted(piles.items()) for number in pile]


@pytest.fixture(scope="module")
def out(tmp_path_factory):
    folder = write(tmp_path_factory.mktemp("gala"))
    assert inkaccord("run", folder)[0] == 3
    record_all(folder)
    code, _, err = inkaccord("run", folder)
    assert code == 0, err
    return folder / "out"


def test_after_cutting_and_stacking_the_tickets_are_in_order(out):
    sheets = pages(out / "studio" / "gala-ticket.pdf", "ticket")
    assert len(sheets) > 1
    assert stacked(sheets) == list(range(1, 15))


def test_ink_in_the_rim_of_an_envelope_is_told_before_it_is_printed(out):
    """Its background runs from edge to edge, and the press can't print the outer 4.2 mm."""
    report = (out / "report.html").read_text("utf-8")
    assert "envelope has ink 4.2 mm beyond what the device prints" in report


def test_every_envelope_has_a_page_of_its_own(out):
    fed = pages(out / "studio" / "gala-envelope.pdf", "guest")
    assert [[number for number, *_ in page] for page in fed] == [[n] for n in range(1, 15)]


def test_a_shop_gets_fronts_and_backs_in_turn(out):
    badges = pages(out / "shop" / "gala-badge.pdf", "badge")
    assert [number for page in badges for number, *_ in page] == list(range(1, 29))


def test_a_record_has_no_double_and_the_lists_say_so(out):
    run = json.loads((out / "run.json").read_text("utf-8"))
    assert {(it["name"], it["records"], it["overs"], it["sides"]) for it in run["pieces"]} == {
        ("ticket", 14, 0, 1), ("envelope", 14, 0, 1), ("badge", 14, 0, 2),
    }  # fmt: skip
    sheet = words_of((out / "studio" / "order-sheet.pdf").read_bytes())
    assert "14, every copy another: each page once" in sheet
    assert "cut them as one pile" in sheet
    assert "ticket 1;" not in sheet  # its picture is a picture


def test_sheet_by_sheet_every_sheet_bears_the_next_few(out, tmp_path):
    folder = write(tmp_path, "sheet-by-sheet")
    for name in ("shelf.sqlite",):
        (folder / name).write_bytes((out.parent / name).read_bytes())
    assert inkaccord("run", folder)[0] == 0
    sheets = pages(folder / "out" / "studio" / "gala-ticket.pdf", "ticket")
    read = [[number for number, *_ in sorted(sheet, key=_as_read)] for sheet in sheets]
    assert [number for sheet in read for number in sheet] == list(range(1, 15))
    assert len(read) > 1


def _as_read(found):
    _, left, bottom = found
    return -round(bottom, -1), left


def test_too_few_pages_are_said_before_anything_is_printed(tmp_path):
    folder = write(tmp_path, tickets=13)
    code, _, err = inkaccord("check", folder)
    assert code != 0
    said = " ".join(err.split())
    assert "ticket.pdf has 13 pages, and of ticket 14 copies are ordered" in said
    assert "export a page for every copy" in said


def test_many_pages_for_a_piece_that_says_nothing_of_records(tmp_path):
    folder = write(tmp_path)
    text = (folder / "order.yaml").read_text("utf-8").replace(", records: cut-and-stack", "")
    (folder / "order.yaml").write_text(text, "utf-8")
    code, _, err = inkaccord("check", folder)
    assert code != 0
    assert "records: cut-and-stack" in " ".join(err.split())
