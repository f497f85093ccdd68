"""One PDF on the page: its colours, and a copy that is the command's to the byte."""

import re
import time
from collections.abc import Iterator
from pathlib import Path

import pikepdf
import pytest

from artwork_kit import document, parsed
from inkaccord.shelf.store import Shelf
from recording_kit import sheet_of
from run_kit import inkaccord
from web_kit import Answer, OpenPage, open_page, send_form, studio, value_on

pytestmark = pytest.mark.slow  # PDFs are recoloured, proved and drawn, for each

CARD = document(b"0.85 0.2 0.6 0.3 k 10 10 60 60 re f 0.1 0.6 0.2 0 k 80 80 10 10 re f")
GREEN = "becomes/cmyk 85 20 60 30"


@pytest.fixture(scope="module")
def opened(tmp_path_factory: pytest.TempPathFactory) -> Iterator[OpenPage]:
    folder = tmp_path_factory.mktemp("studio")
    order = studio(folder)
    with Shelf.open(order / "shelf.sqlite") as shelf:
        shelf.add_sheet(sheet_of(20, name="K7Q-XM3"))
    yield from open_page(folder)


def asked(opened: OpenPage, data: bytes = CARD, **fields: str) -> Answer:
    """Drop a PDF, with what was typed beside it."""
    return send_form(opened, "/recolour", fields, [("file", "../card.pdf", data)])


def again(opened: OpenPage, shown: Answer, fields: dict[str, str]) -> Answer:
    """Send the form of a page once more, with what was typed into it."""
    held = value_on(shown.text, "held")
    assert held
    sent = send_form(opened, "/recolour", {"held": held, **fields}, [])
    return once_made(opened, sent.headers["location"]) if sent.status == 303 else sent


def once_made(opened: OpenPage, at: str) -> Answer:
    """Look again, as the page does, until the copy is made or is not going to be."""
    for _ in range(1200):
        shown = opened.get(at)
        if "data-progress" not in shown.text:
            return shown
        time.sleep(0.05)
    raise AssertionError("the copy is still being made after a minute")


def copy_of(opened: OpenPage, shown: Answer) -> bytes:
    found = re.search(r'href="(/recolour/\w+/copy\.pdf)"', shown.text)
    assert found is not None, shown.text
    sent = opened.get(found[1])
    assert 'filename="card-recoloured.pdf"' in sent.headers["content-disposition"]
    return sent.data


def test_the_colours_of_a_pdf_stand_with_their_area_beside_its_pictures(opened: OpenPage) -> None:
    key = opened.order.rpartition("/")[2]
    shown = asked(opened, order=key)
    assert shown.status == 200
    assert f'name="{GREEN}"' in shown.text
    assert "4.5 cm² on page 1: fill" in shown.text  # 60 × 60 pt are 21.17 mm × 21.17 mm
    assert "<span>kelp</span>" in shown.text  # which of the order's colours it is
    (place,) = re.findall(r'data-seen="([^"]+)"', shown.text)
    assert opened.get(f"{place}.png").data.startswith(b"\x89PNG")
    assert opened.get(f"{place}/at?x=0.4&y=0.6").text == "cmyk 85 20 60 30"
    assert opened.get(f"{place[:-1]}9.png").status == 404
    clicked = again(opened, shown, {"at/1.x": "88", "at/1.y": "187"})
    assert 'data-paint="cmyk 85 20 60 30" class="shown"' in clicked.text


def test_a_copy_is_the_commands_and_what_was_typed_stays(opened: OpenPage, tmp_path: Path) -> None:
    (tmp_path / "card.pdf").write_bytes(CARD)
    words = ["--swap", "cmyk 85 20 60 30 = K7Q-XM3/B3", "--no-tints", "--swap"]
    command = ["recolour", tmp_path / "card.pdf", tmp_path / "out.pdf", *words]
    shelf = ("--order", opened.folder / "tags")
    assert inkaccord(*command, "cmyk 10 60 20 0 = cmyk 0 0 0 50", *shelf)[0] == 0
    form = {"order": opened.order.rpartition("/")[2], GREEN: "K7Q-XM3/B3", "no_tints": "yes",
            "swaps": "cmyk 10 60 20 0 = cmyk 0 0 0 50\n", "do": "try"}  # fmt: skip
    made = again(opened, asked(opened), form)
    assert made.status == 200, made.text
    assert "The copy is right" in made.text
    assert value_on(made.text, GREEN) == "K7Q-XM3/B3"
    assert ">cmyk 10 60 20 0 = cmyk 0 0 0 50\n</textarea>" in made.text
    assert copy_of(opened, made) == (tmp_path / "out.pdf").read_bytes()
    assert copy_of(opened, made) != CARD


def test_a_copy_says_how_far_it_is_and_may_be_stopped(opened: OpenPage) -> None:
    held = value_on(asked(opened).text, "held")
    form = {"held": held, GREEN: "cmyk 78 12 55 41", "do": "try"}
    at = send_form(opened, "/recolour", form, []).headers["location"]
    word = at.partition("copy=")[2]
    shown = opened.get(at).text
    assert f'data-progress="/recolour/{word}/progress"' in shown
    told = opened.get(f"/recolour/{word}/progress").text  # until it has ended
    assert "data: proving that nothing else changed" in told
    assert told.endswith("event: end\ndata: \n\n")
    assert "The copy is right" in opened.get(at).text

    at = send_form(opened, "/recolour", form, []).headers["location"]
    word = at.partition("copy=")[2]
    assert opened.post(f"/recolour/{word}/stop", {}).headers["location"] == at
    stopped = once_made(opened, at).text
    assert "it was stopped before its end" in stopped
    assert value_on(stopped, GREEN) == "cmyk 78 12 55 41"  # what was typed stays
    assert opened.get(f"/recolour/{word}/copy.pdf").status == 404
    assert opened.get("/recolour?copy=strange").status == 404


def test_the_page_of_colours_is_the_commands(opened: OpenPage, tmp_path: Path) -> None:
    (tmp_path / "card.pdf").write_bytes(CARD)
    page = tmp_path / "colours.html"
    assert inkaccord("colours", tmp_path / "card.pdf", "--picture", page)[0] == 0
    link = re.findall(r'href="(/recolour/\w+/colours\.html\?order=)"', asked(opened).text)
    sent = opened.get(link[0])
    assert sent.data == page.read_bytes()
    assert "sandbox" in sent.headers["content-security-policy"]


@pytest.mark.parametrize(
    ("fields", "why"),
    [
        ({}, "nothing is to be another colour yet"),
        ({GREEN: "mauve"}, "mauve"),
        ({GREEN: "QQQ-QQQ/A1"}, "QQQ-QQQ"),
        ({GREEN: "ask lab 41 -20 8 on nowhere@card"}, "nowhere@card"),
        ({"swaps": "cmyk 1 2 3 4 = cmyk 5 6 7 8"}, "the file does not hold &#39;cmyk 1 2 3 4&#39;"),
        ({GREEN: "cmyk 1 2 3 4", "swaps": "cmyk 85 20 60 30"}, "expected OLD = NEW"),
        ({GREEN: "rgb 1 2 3", "black": "yes"}, "the new builds are RGB"),
    ],
)
def test_what_is_wrong_is_said_and_no_copy_is_offered(
    opened: OpenPage, fields: dict[str, str], why: str
) -> None:
    refused = again(opened, asked(opened), {"do": "try", **fields})
    assert refused.status == 409
    assert why in refused.text
    assert "Nothing was made" in refused.text
    assert "copy.pdf" not in refused.text
    assert value_on(refused.text, GREEN) == fields.get(GREEN, "")


def test_a_copy_that_is_not_right_is_not_offered(opened: OpenPage) -> None:
    signed = document(b"0.85 0.2 0.6 0.3 k 10 10 60 60 re f", setup=sign)
    form = {"do": "try", GREEN: "cmyk 78 12 55 41"}
    shown = asked(opened, signed)
    made = again(opened, shown, form)
    assert "It is not right, so nothing was made" in made.text
    assert 'class="error"' in made.text
    assert "copy.pdf" not in made.text
    allowed = again(opened, shown, {**form, "break_signature": "yes"})
    assert copy_of(opened, allowed).startswith(b"%PDF")


def sign(pdf: pikepdf.Pdf, _: pikepdf.Page) -> None:
    """Give a file a signature field, as a signing program leaves it."""
    field = parsed("<< /FT /Sig /T (Signed) /V << /Type /Sig /ByteRange [0 9 9 9] >> >>")
    pdf.Root.AcroForm = pikepdf.Dictionary(SigFlags=3, Fields=[pdf.make_indirect(field)])


def test_what_is_no_pdf_is_refused_by_its_name(opened: OpenPage) -> None:
    refused = asked(opened, b"no PDF at all")
    assert refused.status == 409
    assert "card.pdf" in refused.text
    assert "inkaccord-" not in refused.text  # where it lies is nobody's business
    assert not value_on(refused.text, "held")
    assert "no file was dropped" in opened.post("/recolour", {"do": "see"}).text
    assert opened.get("/recolour/strange/1.png").status == 404
    assert opened.get("/recolour/..%2f..%2fetc/copy.pdf").status == 404
