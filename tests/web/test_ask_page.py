"""Asking on the page what the command is asked: of some pairs, of two colours, of a file."""

import json
import re
from collections.abc import Iterator
from urllib.parse import urlencode

import pytest

from run_kit import inkaccord
from web_kit import THREE_PAIRS, OpenPage, open_on_three_pairs, upload

KRAFT, PLAIN, CARD = THREE_PAIRS
LEAF = b"SAMPLE_ID,LAB_L,LAB_A,LAB_B\nleaf,41,-20,8\nstem,30,-10,20\n"


@pytest.fixture(scope="module")
def opened(tmp_path_factory: pytest.TempPathFactory) -> Iterator[OpenPage]:
    """A folder with an order whose shelf knows three pairs."""
    yield from open_on_three_pairs(tmp_path_factory.mktemp("studio"))


def ask(opened: OpenPage, *pairs: str, **fields: str) -> str:
    query = urlencode([*fields.items(), *(("pair", it) for it in pairs)])
    return opened.get(f"{opened.order}/ask?{query}").text


def test_some_pairs_alone_are_asked(opened: OpenPage) -> None:
    shown = ask(opened, KRAFT, PLAIN, colour="lab 41 -20 8").partition('id="h-asked"')[2]
    code, out, _ = inkaccord("ask", "lab 41 -20 8", "--pair", KRAFT, "--pair", PLAIN, "--order",
                             opened.folder / "tags", "--json")  # fmt: skip
    told = json.loads(out)
    assert code == 0
    for answer in told["answers"]:
        assert answer["pair"].replace("@", "<wbr>@") in shown
        assert f'<p class="build">{answer["build"]}</p>' in shown
    assert CARD.replace("@", "<wbr>@") not in shown
    (between,) = told["between"]
    assert f"{between['delta_e_00']:.1f} ΔE00" in shown.partition("How far apart")[2]


def test_two_colours_are_held_against_each_other(opened: OpenPage) -> None:
    two = {"colour": "cmyk 70 10 80 20", "against": "lab 41 -20 8"}
    shown = ask(opened, KRAFT, **two).partition('id="h-asked"')[2]
    words = [*two.values(), "--pair", KRAFT, "--order", opened.folder / "tags", "--json"]
    (between,) = json.loads(inkaccord("ask", *words)[1])["between"]
    assert f"{between['one']} and {between['other']}" in shown
    assert f"{between['delta_e_00']:.1f} ΔE00" in shown
    several = ask(opened, KRAFT, PLAIN, **two)
    assert "compared on one pair at most" in several
    assert f"{two['against']}</textarea>" in several
    assert "say on which" in ask(opened, **two)


def test_as_many_are_held_together_as_the_command_takes(opened: OpenPage) -> None:
    others = ["lab 41 -20 8", "lab 50 0 0"]
    shown = ask(opened, KRAFT, colour="cmyk 70 10 80 20", against="\r\n".join(others) + "\r\n")
    words = ["cmyk 70 10 80 20", *others, "--pair", KRAFT, "--order", opened.folder / "tags"]
    between = json.loads(inkaccord("ask", *words, "--json")[1])["between"]
    listed = re.findall(r"<li>(.*?) ΔE00", shown.partition("How far apart")[2])
    assert listed == [f"{it['one']} and {it['other']}: {it['delta_e_00']:.1f}" for it in between]
    assert len(listed) == 3


def test_a_thing_in_a_file_is_asked_for(opened: OpenPage) -> None:
    at = f"{opened.order}/ask"
    shown = upload(opened, at, LEAF, sample="leaf").text
    assert "CIELAB 41.0, −20.0, 8.0" in shown
    assert KRAFT.replace("@", "<wbr>@") in shown
    which = upload(opened, at, LEAF)
    assert which.status == 409
    assert "leaf, stem" in which.text
    assert "inkaccord-" not in which.text  # no path of ours
    assert upload(opened, at).status == 409
    assert "is no pair" in ask(opened, "<b>", colour="lab 41 -20 8")
