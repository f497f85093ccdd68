"""The agreement sheet: what is filed says what the record says, and the same each time."""

import io
from typing import Any

import pikepdf
import pytest

from inkaccord.colour.agreement.verdicts import Verdict
from inkaccord.order.model import Order
from inkaccord.report.agreement_page import agreement_page
from inkaccord.report.graphics import Chart, Cross, Dot, Line, Path, Tile, Words
from inkaccord.report.paper import typeset
from inkaccord.report.paper_chart import drawn
from inkaccord.run.record import PieceStatus
from inkaccord.sizes import Size
from large_order_kit import large_desk
from outside import need_program
from pdf_words import words_of
from report_kit import Desk


def sheet(desk: Desk) -> bytes:
    page = agreement_page(desk.order, desk.run, desk.bench, desk.gallery)
    assert page is not None
    return page.data


@pytest.fixture(scope="module")
def said(desk: Desk) -> str:
    return " ".join(words_of(sheet(desk)).split())


def test_every_build_stands_there_with_its_evidence(desk: Desk, said: str) -> None:
    for it in desk.run.translations:
        assert str(it.build) in said
        assert f"±{it.uncertainty:.1f}" in said
        assert it.evidence in said
        assert f"sheet {it.sheets[0]}" in said
    assert said.count("21 September 2026") == len(desk.run.translations)


def test_the_worst_is_said_first_and_in_numbers(desk: Desk, said: str) -> None:
    first = said[: said.index("At a glance")]
    assert "kelp, lantern and slate are not surely within the tolerances." in first
    assert "slate on invitation: judged by eye, not measured." in first
    assert "lantern-tag: waiting" in first
    own = [it for it in desk.run.agreement if it.colour == "slate" and it.other]
    worst = max(own, key=lambda it: (it.verdict is Verdict.OUTSIDE, it.delta_e_00))
    assert (
        f"Farthest apart: {worst.piece} and {worst.other}, {worst.delta_e_00:.1f} "
        f"±{worst.uncertainty:.1f} of {worst.tolerance:.1f} allowed, against the papers "
        f"{worst.paper_relative:.1f} ±{worst.paper_uncertainty:.1f}: surely outside."
    ) in said


def test_what_agrees_is_said_plainly_and_what_the_eye_judged_is_kept_apart(desk: Desk) -> None:
    run = desk.run.model_copy(
        update={
            "pieces": tuple(
                it.model_copy(update={"status": PieceStatus.READY, "why": ""})
                for it in desk.run.pieces
            ),
            "agreement": tuple(
                it.model_copy(update={"verdict": Verdict.INSIDE}) for it in desk.run.agreement
            ),
        }
    )
    said = words_of(sheet(desk.but(run=run)))
    assert "All that was measured agrees, surely within the order's tolerances." in said
    measured = run.model_copy(
        update={
            "translations": tuple(
                it.model_copy(update={"evidence": "read"}) for it in run.translations
            )
        }
    )
    assert "All shared colours agree" in words_of(sheet(desk.but(run=measured)))


def test_every_piece_that_can_be_shown_is_shown_once(desk: Desk) -> None:
    with pikepdf.open(io.BytesIO(sheet(desk))) as pdf:
        pictures = {
            name
            for page in pdf.pages
            for name, it in page.Resources.XObject.items()
            if it.Subtype == pikepdf.Name.Image
        }
        assert len(pictures) == len(desk.run.pieces)
        assert len(pdf.pages) <= 3
        assert all("/TrimBox" in page for page in pdf.pages)


def test_many_colours_and_long_words_still_fit_their_pages(desk: Desk) -> None:
    data: dict[str, Any] = desk.order.model_dump(mode="json")
    data["colours"]["kelp"]["note"] = "as deep as the lake in winter, " * 60
    data["colours"]["slate"]["aim"] = {"by_eye": "the roof" * 200}
    for at in range(40):
        data["colours"][f"another-colour-{at}"] = {
            "aim": {"lab": [50, 0, 0]},
            "in_artwork": [f"cmyk {at} 3 5 7"],
        }
    run = desk.run.model_copy(
        update={
            "title": "A very long title of a very long evening " * 8,
            "pieces": tuple(
                it.model_copy(update={"why": "because " * 400}) for it in desk.run.pieces
            ),
        }
    )
    with pikepdf.open(io.BytesIO(sheet(desk.but(Order.model_validate(data), run)))) as pdf:
        assert 3 <= len(pdf.pages) <= 12


@pytest.mark.slow
def test_a_large_order_is_told_in_short_so_that_it_can_be_filed() -> None:
    desk = large_desk()
    data = sheet(desk)
    said = words_of(data)
    with pikepdf.open(io.BytesIO(data)) as pdf:
        assert len(pdf.pages) <= 8
    for colour in desk.order.colours:
        own = [it for it in desk.run.agreement if it.colour == colour and it.other]
        farthest = max(it.delta_e_00 for it in own if it.verdict is Verdict.OUTSIDE)
        assert f"{farthest:.1f} ±" in said
    assert "Every build with its evidence stands in the report" in said
    assert said.count("read") >= len(desk.order.colours)


def test_there_is_none_while_nothing_is_known(desk: Desk) -> None:
    bare = desk.but(run=desk.run.model_copy(update={"translations": (), "agreement": ()}))
    assert agreement_page(bare.order, bare.run, bare.bench, bare.gallery) is None


def test_a_piece_that_waits_is_not_shown_as_translated(said: str) -> None:
    assert said.count("original builds: not") == 1  # the lantern tag


def test_the_same_record_gives_the_same_bytes(desk: Desk) -> None:
    assert sheet(desk) == sheet(desk.but())


def test_words_that_look_like_markup_stay_words(desk: Desk) -> None:
    run = desk.run.model_copy(
        update={
            "title": "<b>&",
            "pieces": tuple(it.model_copy(update={"why": "</b><i>&"}) for it in desk.run.pieces),
            "translations": tuple(
                it.model_copy(update={"lost": "<font>&", "reachable": False})
                for it in desk.run.translations
            ),
        }
    )
    said = words_of(sheet(desk.but(run=run)))
    for words in ("<b>&", "</b><i>&", "<font>&"):
        assert words in said


def test_a_chart_on_paper_has_its_marks_where_they_are_on_the_screen(tmp_path) -> None:
    need_program("pdftoppm", "poppler-utils")
    import subprocess

    from PIL import Image

    marks = (
        Tile(10, 10, 20, 20, "printed", "#ff0000"),
        Dot(80, 20, 8, "print", "#00ff00"),
        Line(50, 0, 50, 60, "aim"),
        Path(((60, 40), (90, 40), (90, 55)), "aim"),
        Cross(20, 50, 6, "outside"),
        Words(60, 58, "words", "name"),
    )
    chart = Chart(100, 60, "all kinds of marks", marks)
    data = typeset(lambda width: [drawn(chart, 2)], size=Size.parse("a4"), title="t", running="")
    (tmp_path / "chart.pdf").write_bytes(data)
    subprocess.run(
        ["pdftoppm", "-r", "72", "-png", tmp_path / "chart.pdf", tmp_path / "chart"], check=True
    )
    (page,) = tmp_path.glob("chart*.png")
    with Image.open(page) as image:
        pixels = image.convert("RGB")
        box = pixels.point(lambda it: it).getbbox()
        margin = 51  # 18 mm
        at = lambda x, y: pixels.getpixel((round(margin + 2 * x), round(margin + 2 * y)))  # noqa: E731 - a name for a place
        assert at(20, 20) == (255, 0, 0)
        assert at(80, 20) == (0, 255, 0)
        assert max(at(50, 30)) < 120
        assert at(40, 40) == (255, 255, 255)
        assert max(at(20, 50)[1:]) < 100 < at(20, 50)[0]
    assert box is not None


@pytest.mark.slow
def test_nobody_signs_a_page_that_has_nothing_on_it(desk: Desk) -> None:
    """Whatever comes before: the summary is made longer line by line, over more than one page."""
    for lines in range(0, 60, 3):
        run = desk.run.model_copy(update={"title": "fair " * 8 * lines or "fair"})
        page = agreement_page(desk.order, run, desk.bench, desk.gallery)
        assert page is not None
        with pikepdf.open(io.BytesIO(page.data)) as pdf:
            while len(pdf.pages) > 1:
                del pdf.pages[0]
            last = io.BytesIO()
            pdf.save(last)
        words = words_of(last.getvalue())
        assert "Seen and agreed" in words
        assert "allowed" in words, lines
