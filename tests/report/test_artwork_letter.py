"""The artwork letter: what its one page says, read back from the PDF."""

import io
from collections.abc import Callable, Sequence
from pathlib import Path

import pikepdf
import pytest
import yaml

from inkaccord.diagnostics import Diagnostic, warning
from inkaccord.foresight.checking import check_artwork
from inkaccord.order.loading import load_order
from inkaccord.report.artwork_letter import artwork_letters
from inkaccord.run.files import OutFile
from inkaccord.workbench import Workbench
from page_kit import written
from pdf_words import words_of

CARD = {"MediaBox": [0.0, 0.0, 378.0, 522.0]}
"""5 × 7 in with 1/8 in of bleed."""
LEAF = "0.75 0.2 0.8 0.1 k 0 0 378 200 re f 0 g 60 300 90 40 re f"
FAULTY = " ".join(
    f"{0.1 + at / 100:.2f} 0.{at:02d} 0 0 K 0.05 w {20 + at} 210 m {20 + at} 280 l S"
    for at in range(10, 90)
)
"""Eighty colours that nobody named, each in a hairline."""
Letter = Callable[..., OutFile]


@pytest.fixture
def letter(tmp_path: Path) -> Letter:
    """Return the letter of a card with this content, in an order with changes.

    ``besides`` are said of it by others.
    """

    def letter(
        content: bytes,
        trim: str = "5in x 7in",
        besides: Sequence[Diagnostic] = (),
        leaf: str = "cmyk 75 20 80 10",
        **piece: object,
    ) -> OutFile:
        order = {
            "order": "evening", "title": "Members' evening", "date": "2026-10-05", "suites": 20,
            "colours": {"leaf": {"aim": {"lab": [52, -28, 22]}, "in_artwork": leaf}},
            "stocks": {"white": {"size": "letter"}},
            "vendors": {"quay": {"title": "North Quay", "devices": {"press": {}}}},
            "pieces": {
                "card": {"artwork": "card.pdf", "trim": trim, "device": "press", "stock": "white"}
                | piece
            },
        }  # fmt: skip
        (tmp_path / "order.yaml").write_text(yaml.safe_dump(order), "utf-8")
        (tmp_path / "card.pdf").write_bytes(content)
        loaded = load_order(tmp_path / "order.yaml", {})
        found = [it.finding for it in check_artwork(loaded, "card", Workbench(loaded))[0]]
        found += [
            it.model_copy(update={"place": loaded.source.place(("pieces", "card", "artwork"))})
            for it in besides
        ]
        (made,) = artwork_letters(loaded.order, ["card"], Workbench(loaded), found)
        return made

    return letter


def said(file: OutFile) -> str:
    with pikepdf.open(io.BytesIO(file.data)) as pdf:
        assert len(pdf.pages) == 1
    return words_of(file.data)


def test_it_says_what_was_understood_and_what_is_mended(letter: Letter) -> None:
    file = letter(written(LEAF, CARD))
    assert (file.path, file.what, file.pieces) == (
        "artwork-letters/card.pdf", "artwork-letter", ("card",)
    )  # fmt: skip
    words = said(file)
    for part in (
        "Nothing has to be changed", "Size when cut 5 × 7 in", "Page in the file 5.25 × 7.25 in",
        "Bleed in the file 0.125 in on every side", "Printed by North Quay",
        "leaf", "cmyk 75 20 80 10", "black", "gray 100", "kept",
        "no TrimBox says where to cut", "mixed anew for the printer and the paper",
    ):  # fmt: skip
        assert part in words, words


def test_the_same_artwork_gives_the_same_bytes(letter: Letter) -> None:
    assert letter(written(LEAF, CARD)).data == letter(written(LEAF, CARD)).data


@pytest.mark.parametrize(("trim", "wide"), [("5in x 7in", 612), ("127mm x 178mm", 595)])
def test_many_findings_stay_on_one_page_errors_first_and_the_rest_is_counted(
    letter: Letter, trim: str, wide: int
) -> None:
    short = "0 1 1 0 k 9 300 40 40 re f "  # runs to the cut, and not past it
    besides = [warning("other", f"thing number {at} is not as it should be") for at in range(60)]
    file = letter(written(f"{LEAF} {short} {FAULTY}", CARD), trim, besides)
    with pikepdf.open(io.BytesIO(file.data)) as pdf:
        assert round(float(pdf.pages[0].mediabox[2])) == wide
    words = said(file)
    assert "to look at" in words
    assert words.index("to change") < words.index("to look at", words.index("Please change"))
    assert "more things: ask for the order's own list" in words
    assert "and 77 more" in words  # of the colours, a row is shown


def test_a_page_of_another_size_is_told_with_what_is_on_it(letter: Letter) -> None:
    words = said(letter(written(LEAF, {"MediaBox": [0.0, 0.0, 595.0, 842.0]})))
    assert "1 thing has to be changed" in words
    assert "no TrimBox says where to cut" in words
    assert "cmyk 75 20 80 10" in words


def test_a_file_that_cannot_be_read_has_a_letter_too(letter: Letter) -> None:
    words = said(letter(b"no PDF"))
    assert "card.pdf" in words
    assert "cannot be read as a PDF" in words


def test_what_the_order_accepts_is_not_asked_for(letter: Letter) -> None:
    thin = "0.05 w 60 250 m 150 250 l S"
    assert "hairline" not in said(letter(written(f"{LEAF} {thin}", CARD)))
    data = written(f"{LEAF} {thin}", CARD)
    assert "to look at" in said(letter(data))
    assert "to look at" not in said(letter(data, waive={"hairline": "a blind line"}))


def test_the_rounding_of_a_program_is_the_same_colour_where_it_is_found_and_where_it_changes(
    letter: Letter,
) -> None:
    typed = "20 92 78"
    data = written("0.0784 0.3608 0.3098 rg 0 0 378 200 re f", CARD)  # 20 92 79
    words = said(letter(data, leaf=f"rgb {typed}"))
    assert "Nothing has to be changed" in words, words


def test_a_colour_of_a_refused_kind_is_asked_for_once(letter: Letter) -> None:
    words = said(letter(written(f"{LEAF} 0.6 0.8 0.9 rg 90 300 90 90 re f", CARD)))
    assert "this vendor takes cmyk, gray and spot" in words
    assert "which is no brand colour" not in words
    assert "under 'colours'" not in words


def test_lengths_are_told_in_what_the_piece_is_measured_in(letter: Letter) -> None:
    words = said(letter(written(LEAF, CARD), "127mm x 178mm"))
    assert "Bleed asked 3.2 mm on every side" in words
    assert "0.125 in" not in words
