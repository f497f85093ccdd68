"""A colour that one pair can't print: both ways are shown, and the one that is chosen is kept."""

import re
import shutil
from pathlib import Path

import numpy as np
import pytest
import yaml

from artwork_kit import document
from inkaccord.colour.arrays import Array
from inkaccord.shelf.store import Shelf
from inkaccord.testing import plain_press
from recording_kit import fill_in
from run_kit import inkaccord, run_of
from web_kit import PageHere, value_on

pytestmark = pytest.mark.slow  # whole runs

ORDER = """# Tags of the regatta
order: regatta
date: 2026-11-28
suites: 10
shelf: shelf.sqlite
colours:
  kelp: {aim: {lab: [48, -28, 6]}, in_artwork: [cmyk 85 20 60 30]}  # as the committee asked
stocks:
  card: {size: letter, colour: [95, 0, 0]}
  kraft: {size: letter, colour: [95, 0, 0]}
vendors:
  studio: {delivers: pieces, devices: {press: {}}}
pieces:
  tag: {artwork: tag.pdf, trim: 100pt x 100pt, device: press, stock: card}
  label: {artwork: tag.pdf, trim: 100pt x 100pt, device: press, stock: kraft}
tolerances: {between_pieces: 2, to_aim: 7}
# The last remark
"""


def dull_press(builds: Array) -> Array:
    """Print as the plain press does, on a stock that takes two fifths of the chroma away."""
    return plain_press(builds) * np.array([1.0, 0.6, 0.6])


@pytest.fixture(scope="module")
def asking(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An order whose sheets were read, of which the dull one can't reach the aim."""
    order = tmp_path_factory.mktemp("asking") / "regatta"
    order.mkdir()
    (order / "order.yaml").write_text(ORDER, "utf-8")
    (order / "tag.pdf").write_bytes(document(b"0.85 0.2 0.6 0.3 k 20 20 60 60 re f"))
    assert inkaccord("run", order)[0] == 3
    for table in (order / "out" / "samples").glob("*.txt"):
        with Shelf.open(order / "shelf.sqlite") as shelf:
            stock = shelf.sheet(table.stem).pair.stock
        read = order / f"read-{table.name}"
        fill_in(table, read, {"card": plain_press, "kraft": dull_press}[stock])
        assert inkaccord("record", table.stem, read, "--order", order)[0] == 0
    assert inkaccord("run", order)[0] == 3
    return order


@pytest.fixture
def page(asking: Path, tmp_path: Path) -> PageHere:
    shutil.copytree(asking, tmp_path / "regatta")
    return PageHere(tmp_path)


def choose(page: PageHere, line: str, why: str = "") -> str:
    """Press the button of the choice that writes a line; return where that led."""
    shown = page.get(page.order).text
    before = shown[: shown.index(line)]
    fields = {name: re.findall(rf'name="{name}" value="(\d+)"', before)[-1] for name in NUMBERS}
    answer = page.post(f"{page.order}/answer", {**fields, "said": why})
    assert answer.status == 303, answer.text
    return answer.headers["location"]


NUMBERS = ("step", "choice")


def take_back(page: PageHere, at: str) -> str:
    """Press the button that takes back what a page says was done; return where that led."""
    word = value_on(page.get(at).text, "word")
    answer = page.post("/undo", {"word": word})
    assert answer.status == 303, answer.text
    return answer.headers["location"]


def test_both_ways_are_shown_on_grey_with_what_each_costs(page: PageHere) -> None:
    shown = page.get(page.order).text
    ways = shown.partition('<ul class="both"')[2].partition("</ul>")[0].split("<li>")[1:]
    said = [re.findall(r"(?:tag|label)<br>([\d.]+) from the aim", way) for way in ways]
    (record,) = {it["colour"]: it for it in run_of(page.folder / "regatta")["trades"]}.values()
    assert record["chosen"]
    assert said[1] == [f"{record['to_aim'][piece]:.1f}" for piece in ("tag", "label")]
    # Alike, the tag gives up what the label can't have.
    assert float(said[0][0]) > float(said[1][0]) + 2
    assert [len(set(re.findall(r'fill="(#\w+)"', way))) for way in ways] == [3, 3]
    assert "as it stands" in ways[1]
    assert "as it stands" not in ways[0]


@pytest.mark.parametrize(
    ("line", "status"),
    [("colours.kelp.prefer: alike", "alike"), ("pieces.label.accept.kelp:", "accepted")],
)
def test_a_choice_is_kept_in_the_file_followed_and_taken_back(
    page: PageHere, line: str, status: str
) -> None:
    order = page.folder / "regatta"
    at = choose(page, line)
    text = (order / "order.yaml").read_text("utf-8")
    assert text.startswith(ORDER)
    assert text.removeprefix(ORDER).startswith(line)
    shown = page.get(at).text
    assert "Changed since its last run" in shown
    assert "run again, and what is still open is asked anew" in shown
    assert "Choose this" not in shown, "it would be refused: the line numbers are of before"

    assert inkaccord("run", order)[0] == 0
    run = run_of(order)
    assert {it["status"] for it in run["pieces"]} == {"ready"}
    between = next(it for it in run["agreement"] if it["other"])
    assert (between["delta_e_00"] < 2) is (status == "alike")
    assert [it["piece"] for it in run["accepted"]] == (["label"] if status == "accepted" else [])

    back = take_back(page, at)
    assert (order / "order.yaml").read_text("utf-8") == ORDER
    assert inkaccord("run", order)[0] == 3
    assert "as it was before" in page.get(back).text
    at = take_back(page, back)
    assert "What was taken back is done again." in page.get(at).text
    assert (order / "order.yaml").read_text("utf-8") == text


def test_a_choice_that_is_not_asked_any_more_writes_nothing(page: PageHere) -> None:
    answer = page.post(f"{page.order}/answer", {"step": "0", "choice": "9", "said": 'a "felt" pad'})
    assert answer.status == 409
    assert "not asked any more" in answer.text
    assert 'value="a &#34;felt&#34; pad"' in answer.text
    assert (page.folder / "regatta" / "order.yaml").read_text("utf-8") == ORDER


def test_a_reason_of_ones_own_is_kept_as_it_was_typed(page: PageHere) -> None:
    why = 'the label lies #apart: "never" beside it}, {'
    choose(page, line := "pieces.label.accept.kelp", why)
    written = yaml.safe_load((page.folder / "regatta" / "order.yaml").read_text("utf-8"))[line]
    assert written["why"] == why
    assert written["up_to"] > 0
