"""What is said of where an artwork's pages are cut."""

import datetime
from pathlib import Path

import pikepdf
import pytest

from inkaccord.diagnostics import Severity
from inkaccord.errors import OrderError
from inkaccord.foresight.checking import check_artwork
from inkaccord.order.loading import load_order
from inkaccord.sizes import Size
from inkaccord.starter.order import write_starter
from inkaccord.workbench import Workbench

MEDIA = [0.0, 0.0, 378.0, 522.0]
"""The starter's card, 5 × 7 in, with 1/8 in of bleed."""
A4 = [0.0, 0.0, 595.28, 841.89]


@pytest.fixture
def said(tmp_path: Path):
    """Return what is said of a card with these pages, and whether it can be made."""
    write_starter(tmp_path, datetime.date(2026, 11, 25))
    path = tmp_path / "order.yaml"
    card = "  card:\n"
    assert card in path.read_text("utf-8")

    def said(*pages: list[float], field: str = "", **boxes: list[float]):
        text = path.read_text("utf-8")
        path.write_text(text.replace(card, f"{card}    {field}\n" if field else card, 1), "utf-8")
        loaded = load_order(path, {})
        with pikepdf.new() as pdf:
            for media in pages:
                pdf.add_blank_page()
                pdf.pages[-1].obj["/MediaBox"] = pikepdf.Array(media)
                for key, box in boxes.items():
                    pdf.pages[-1].obj[f"/{key}"] = pikepdf.Array(box)
            pdf.save(tmp_path / loaded.order.pieces["card"].artwork)
        faults, count = check_artwork(loaded, "card", Workbench(loaded))
        found = [it.finding for it in faults if it.finding.code != "wrong-page-count"]
        return found, count is not None

    return said


def test_pages_alike_share_a_note_that_tells_how_they_are_taken(said) -> None:
    (finding,), usable = said(MEDIA, MEDIA)
    assert usable
    assert (finding.code, finding.severity) == ("trim-understood", Severity.NOTE)
    assert finding.message.startswith("pages 1 and 2 of artwork/card.pdf: no TrimBox")
    assert "5.25 × 7.25 in, taken as the piece, 5 × 7 in, with 0.125 in of bleed" in finding.message
    assert finding.place.field == "pieces.card.artwork"


def test_a_page_that_states_its_trim_needs_no_note(said) -> None:
    assert said(MEDIA, TrimBox=[9.0, 9.0, 369.0, 513.0]) == ([], True)


def test_what_nobody_can_know_is_asked_for_with_the_line_to_write(said) -> None:
    (finding,), usable = said(A4, A4)
    assert not usable
    assert (finding.code, finding.severity) == ("wrong-trim", Severity.ERROR)
    assert "the page is 209.9" in finding.message.replace("210 ×", "209.9")
    assert "pieces.card.boxes: {trim: centred}" in (finding.hint or "")
    assert finding.place.field == "pieces.card.trim"


@pytest.mark.parametrize(
    "place", ["centred", "Centered", "{left: 10mm, top: 12mm}", "{top: 0.5in}", "{}"]
)
def test_the_order_tells(said, place: str) -> None:
    (finding,), usable = said(A4, field=f"boxes: {{trim: {place}}}")
    assert usable
    assert "as the order says" in finding.message


def test_a_place_that_leaves_the_page_is_refused(said) -> None:
    (finding,), usable = said(A4, field="boxes: {trim: {left: 100mm}}")
    assert not usable
    assert "reaches out of the page" in finding.message


@pytest.mark.parametrize("place", ["left", "{left: -3mm}", "{right: 3mm}"])
def test_a_place_that_is_none_is_named(said, place: str) -> None:
    with pytest.raises(OrderError) as caught:
        said(A4, field=f"boxes: {{trim: {place}}}")
    assert all("pieces.card.boxes" in str(it.place) for it in caught.value.findings)


def test_a_page_that_lies_is_told_apart(said) -> None:
    (finding,), usable = said([0.0, 0.0, 522.0, 378.0])
    assert not usable
    assert finding.hint == "or turn the piece's 'trim' round: width first"
    assert str(Size.parse("7in x 5in")) in finding.message
