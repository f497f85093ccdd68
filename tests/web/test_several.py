"""Several sheets of the shelf at once, on its page: labels as the command's, and where they go."""

import re
from pathlib import Path
from urllib.parse import urlencode

import pytest

from inkaccord.shelf.kept import MoveKind
from inkaccord.shelf.store import Shelf
from recording_kit import readings_of, sheet_of
from run_kit import inkaccord
from web_kit import Answer, PageHere, studio, value_on

ONE, OTHER = "K7Q-XM3", "N3W-N3W"
FORM = {"Content-Type": "application/x-www-form-urlencoded"}


@pytest.fixture
def opened(tmp_path: Path) -> PageHere:
    with Shelf.open(studio(tmp_path) / "shelf.sqlite") as shelf:
        for name in (ONE, OTHER):
            shelf.add_sheet(sheet_of(20 if name == ONE else 30, name=name))
    return PageHere(tmp_path)


def ticked(opened: PageHere, *sheets: str, **said: str) -> Answer:
    fields = [*(("sheet", it) for it in sheets), *said.items()]
    return opened.ask("POST", f"{opened.order}/shelf", urlencode(fields).encode(), FORM)


def test_labels_are_the_commands(opened: PageHere, tmp_path: Path) -> None:
    order = ("--order", opened.folder / "tags")
    for size in ("", "60x30mm"):
        words = ("--size", size) if size else ()
        assert inkaccord("shelf", "label", ONE, OTHER, *words, "--out", tmp_path, *order)[0] == 0
        sent = ticked(opened, ONE, OTHER, do="labels", size=size)
        assert sent.headers["content-type"] == "application/pdf"
        assert sent.data == (tmp_path / f"label-{ONE}-and-more.pdf").read_bytes()
    assert inkaccord("shelf", "label", ONE, "--size", "60x30mm", "--out", tmp_path, *order)[0] == 0
    alone = opened.get(f"{opened.order}/shelf/{ONE}/label.pdf?size=60x30mm")
    assert alone.data == (tmp_path / f"label-{ONE}.pdf").read_bytes()


def test_all_of_them_lie_somewhere_and_that_is_taken_back(opened: PageHere) -> None:
    done = ticked(
        opened, ONE, OTHER, do="laid", said="drawer <2>", copies="3", light="no", on="3 Nov 2026"
    )
    assert done.status == 303, done.text
    page = opened.get(done.headers["location"]).text
    assert f"{ONE} and {OTHER} are laid: drawer &lt;2&gt;." in page
    with Shelf.open(opened.folder / "tags" / "shelf.sqlite") as shelf:
        moves = [move for name in (ONE, OTHER) for move in shelf.kept_sheet(name).moves]
    assert {(it.kind, it.place, it.copies, it.in_light) for it in moves} == {
        (MoveKind.LAID, "drawer <2>", 3, False)
    }
    assert len(moves) == 2
    assert {str(it.at.date()) for it in moves} == {"2026-11-03"}
    assert opened.post("/undo", {"word": value_on(page, "word")}).status == 303
    with Shelf.open(opened.folder / "tags" / "shelf.sqlite") as shelf:
        assert not any(shelf.kept_sheet(name).moves for name in (ONE, OTHER))


@pytest.mark.parametrize(
    ("sheets", "said", "why"),
    [
        ((), {"do": "laid", "said": "drawer 2"}, "no sheet is ticked"),
        ((ONE,), {"do": "laid"}, "where to, or to whom, is not said"),
        ((ONE, "QQQ-QQQ"), {"do": "sent", "said": "Quay"}, "QQQ-QQQ"),
        ((ONE,), {"do": "burnt", "said": "Quay"}, "that can&#39;t be done"),
        ((ONE,), {"do": "labels", "size": "5x5mm"}, "has no room"),
        ((ONE,), {"do": "labels", "size": "huge"}, "is not a size"),
        ((ONE,), {"do": "laid", "said": "drawer 2", "copies": "many"}, "is no number of copies"),
        ((ONE,), {"do": "laid", "said": "drawer 2", "on": "soon"}, "is not a date"),
    ],
)
def test_what_is_wrong_is_said_and_what_was_typed_stays(
    opened: PageHere, sheets: tuple[str, ...], said: dict[str, str], why: str
) -> None:
    refused = ticked(opened, *sheets, **said)
    assert refused.status == 409
    assert why in refused.text
    for name in said.keys() - {"do"}:
        assert (
            value_on(refused.text, name).startswith(said[name])
            or f'value="{said[name]}"' in refused.text
        )
    marked = re.findall(r'value="([^"]+)" aria-label="Tick sheet [^"]+" checked', refused.text)
    assert marked == [it for it in sheets if it == ONE]
    with Shelf.open(opened.folder / "tags" / "shelf.sqlite") as shelf:
        assert not shelf.kept_sheet(ONE).moves


def test_a_mask_in_another_size_is_the_commands(opened: PageHere, tmp_path: Path) -> None:
    from glass_kit import sheet_with_berths

    sheet = sheet_with_berths(berths=())
    with Shelf.open(opened.folder / "tags" / "shelf.sqlite") as shelf:
        shelf.add_sheet(sheet)
    where = ("--order", opened.folder / "tags", "--out", tmp_path)
    assert inkaccord("mask", sheet.id, "--size", "letter", "--margin", "6mm", *where)[0] == 0
    sent = opened.get(f"{opened.order}/shelf/{sheet.id}/mask.pdf?size=letter&margin=6mm&bleed=")
    assert sent.data == (tmp_path / f"mask-{sheet.id}.pdf").read_bytes()
    refused = opened.get(f"{opened.order}/shelf/{sheet.id}/mask.pdf?size=huge")
    assert refused.status == 404
    assert "is not a size" in refused.text


def test_one_reading_is_retired_with_its_reason_and_counts_again(opened: PageHere) -> None:
    with Shelf.open(opened.folder / "tags" / "shelf.sqlite") as shelf:
        shelf.record_readings(readings_of(sheet_of(20, name=ONE)))
    at = f"{opened.order}/shelf/{ONE}"
    digest = value_on(opened.get(at).text, "digest")
    done = opened.post(at, {"do": "retire-reading", "digest": digest, "said": "read <wet>"})
    shown = opened.get(done.headers["location"]).text
    assert "counts no more: read &lt;wet&gt;" in shown
    with Shelf.open(opened.folder / "tags" / "shelf.sqlite") as shelf:
        assert shelf.readings_of_sheet(ONE) == ()
    assert opened.post(at, {"do": "use-reading", "digest": digest}).status == 303
    with Shelf.open(opened.folder / "tags" / "shelf.sqlite") as shelf:
        assert len(shelf.readings_of_sheet(ONE)) == 1


def test_whoever_goes_astray_is_led_back(opened: PageHere) -> None:
    beyond = opened.get(f"{opened.order}/shelf?page=9").text
    assert "It has 1 page: " in beyond
    assert "It is empty" not in beyond
    no_sheet = opened.get(f"{opened.order}/shelf/ZZZ-ZZZ").text
    assert f'href="{opened.order}">Back to the order' in no_sheet
    assert "--order DIR" not in no_sheet  # it is a page of that order
    assert "Back to the order" not in opened.get("/order/none").text
