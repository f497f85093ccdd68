"""A sheet asked for on the page: the same sheet and the same bytes as by the command."""

import json
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import quote

import pytest

from glass_kit import sheet_with_berths
from inkaccord.shelf.store import Shelf
from run_kit import inkaccord
from web_kit import THREE_PAIRS, Answer, OpenPage, open_on_three_pairs, value_on

pytestmark = pytest.mark.slow  # a page and commands beside it, for each

FOR_EYE = sheet_with_berths(berths=())
KRAFT, PLAIN, CARD = THREE_PAIRS


@pytest.fixture(scope="module")
def opened(tmp_path_factory: pytest.TempPathFactory) -> Iterator[OpenPage]:
    """A folder with an order whose shelf knows three pairs."""
    yield from open_on_three_pairs(tmp_path_factory.mktemp("studio"), FOR_EYE)


def files_of(opened: OpenPage, made: Answer) -> dict[str, bytes]:
    """The files that a page offers, by their names."""
    assert made.status == 200, made.text
    links = re.findall(r'href="([^"]+/make/[^"]+)"', made.text)
    return {link.rpartition("/")[2]: opened.get(link).data for link in links}


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"do": "controls", "pair": KRAFT, "size": "12x18"},
         ("controls", KRAFT, "--size", "12x18")),
        (
            {"do": "controls", "pair": PLAIN, "keep": "cards", "card": "a5", "aperture": "10 mm"},
            ("controls", PLAIN, "--keep", "cards", "--card", "a5", "--aperture", "10 mm"),
        ),
        (
            {"do": "swatches", "pair": KRAFT, "count": "12", "hues": "greens", "name": "Greens"},
            ("swatches", KRAFT, "--count", "12", "--hues", "greens", "--name", "Greens"),
        ),
        (
            {"do": "swatches", "pair": CARD, "near": "lab 41 -20 8", "reach": "9", "count": "6",
             "paper": "92, 1, 8", "keep": "binder", "holes": "four", "ink_limit": "280"},
            ("swatches", CARD, "--near", "lab 41 -20 8", "--reach", "9", "--count", "6", "--paper",
             "92", "1", "8", "--keep", "binder", "--holes", "four", "--ink-limit", "280"),
        ),
    ],
)  # fmt: skip
def test_a_sheet_has_the_bytes_that_the_command_gives_it(
    opened: OpenPage, tmp_path: Path, fields: dict[str, str], words: tuple[str, ...]
) -> None:
    shutil.copytree(opened.folder / "tags", tmp_path / "tags")
    made = opened.post(f"{opened.order}/make", fields)
    order = ("--order", tmp_path / "tags", "--out", tmp_path / "out", "--json")
    code, out, err = inkaccord(*words, *order)
    assert code == 0, err
    told = json.loads(out)
    assert f"Sheet {told['sheet']} is made" in made.text
    written = {Path(it).name: Path(it).read_bytes() for it in told["files"]}
    assert files_of(opened, made) == written
    assert len(written) >= 2
    with (
        Shelf.open(opened.folder / "tags" / "shelf.sqlite") as here,
        Shelf.open(tmp_path / "tags" / "shelf.sqlite") as there,
    ):
        assert here.sheet(told["sheet"]) == there.sheet(told["sheet"])


def test_a_sheet_is_taken_back_and_asked_for_again(opened: OpenPage) -> None:
    asked = {"do": "controls", "pair": PLAIN, "size": "a5"}
    made = opened.post(f"{opened.order}/make", asked)
    sheet = re.findall(r"Sheet (\S+) is made", made.text)[0]
    word = value_on(made.text, "word")
    again = opened.post(f"{opened.order}/make", asked)
    assert "The shelf has it already" in again.text
    assert not value_on(again.text, "word")
    assert opened.post("/undo", {"word": word}).status == 303
    with Shelf.open(opened.folder / "tags" / "shelf.sqlite") as shelf:
        assert sheet not in {it.sheet.id for it in shelf.sheets(retired=True)}
    assert value_on(opened.post(f"{opened.order}/make", asked).text, "word")
    with Shelf.open(opened.folder / "tags" / "shelf.sqlite") as shelf:
        assert shelf.kept_sheet(sheet).retired_at is None


@pytest.mark.parametrize(
    ("fields", "why"),
    [
        ({"pair": "<b>nowhere"}, "is no pair"),
        ({"count": "9000"}, "how many swatches is a number from 1 to 5000"),
        ({"count": "many"}, "and &#39;many&#39; is not"),
        ({"size": "huge"}, "is not a size"),
        ({"keep": "pocket"}, "choose loose, binder, cards"),
        ({"hues": "greens", "near": "lab 41 -20 8"}, "give one of them"),
        ({"hues": "mauvish"}, "mauvish"),
        ({"paper": "92 1"}, "a paper is three numbers"),
        ({"aperture": "30mm"}, "an aperture of 30mm does not fit"),
        ({"drive": "rgb"}, "are not driven in rgb"),
        ({"add_to": "QQQ-QQQ"}, "QQQ-QQQ"),
    ],
)
def test_what_is_wrong_is_said_and_nothing_is_made(
    opened: OpenPage, fields: dict[str, str], why: str
) -> None:
    with Shelf.open(opened.folder / "tags" / "shelf.sqlite") as shelf:
        before = shelf.number_of_sheets(retired=True)
    asked = {"do": "swatches", "pair": KRAFT, "count": "5"} | fields
    answer = opened.post(f"{opened.order}/make", asked)
    assert answer.status == 409
    assert why in answer.text
    assert "Nothing was made" in answer.text
    assert value_on(answer.text, "count") == asked["count"]
    with Shelf.open(opened.folder / "tags" / "shelf.sqlite") as shelf:
        assert shelf.number_of_sheets(retired=True) == before


def test_a_mask_is_that_of_the_command_and_a_strange_file_is_none(
    opened: OpenPage, tmp_path: Path
) -> None:
    where = ("--order", opened.folder / "tags", "--out", tmp_path)
    assert inkaccord("mask", FOR_EYE.id, *where)[0] == 0
    sent = opened.get(f"{opened.order}/shelf/{FOR_EYE.id}/mask.pdf")
    assert sent.data == (tmp_path / f"mask-{FOR_EYE.id}.pdf").read_bytes()
    for word in ("nothing", "..", quote("../..", safe="")):
        assert opened.get(f"{opened.order}/make/{word}/order.yaml").status == 404
