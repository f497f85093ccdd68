"""``inkaccord ask``, and the same words in ``recolour`` and ``swatches``.

The printers are those of ``recording_kit``: a dye model of its own, nothing like the program's.
"""

import json
import re
import shlex

import numpy as np
import pikepdf
import pytest

from inkaccord.colour.builds import Build
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.pairs import Pair
from inkaccord.shelf.store import Shelf
from inkaccord.testing import draw_artwork
from recording_kit import keep_three_pairs, printed_lab, readings_of, sheet_of
from run_kit import inkaccord

KRAFT, CARD, PLAIN = "laser@kraft", "laser@card", "jet@plain"
HERE = ("--shelf", "shelf.sqlite")


@pytest.fixture(scope="module")
def shelf(tmp_path_factory):
    """A shelf of a pair that is read, one in RGB that is read, and one whose sheet waits."""
    path = tmp_path_factory.mktemp("asked") / "shelf.sqlite"
    with Shelf.open(path) as kept:
        keep_three_pairs(kept, (KRAFT, PLAIN), CARD)
    return path


@pytest.fixture
def here(shelf, tmp_path, monkeypatch):
    """A folder with a copy of the shelf, in which commands are typed."""
    (tmp_path / "shelf.sqlite").write_bytes(shelf.read_bytes())
    monkeypatch.chdir(tmp_path)
    return tmp_path


def asked(*words):
    code, out, err = inkaccord("ask", *words, *HERE, "--json")
    assert code == 0, out + err
    return json.loads(out)


def truth(build):
    """Return what the invented printer prints of a build, without the noise of reading."""
    one = Build.parse(build)
    many = np.repeat([one.values], 400, axis=0)
    return printed_lab(many, one.drive).mean(axis=0)


def test_a_colour_has_a_build_on_each_pair_and_prints_within_what_is_stated(here):
    aim = (45.0, 12.0, 18.0)
    found = asked("lab 45 12 18")
    assert found["asked"][0]["lab"] == list(aim)
    by_pair = {it["pair"]: it for it in found["answers"]}
    assert set(by_pair) == {KRAFT, CARD, PLAIN}
    for pair in (KRAFT, PLAIN):
        one = by_pair[pair]
        assert one["evidence"] == "read"
        seen = truth(one["build"])
        assert delta_e_2000(seen, np.array(one["predicted_lab"])) <= one["uncertainty"]
        assert delta_e_2000(seen, np.array(aim)) <= one["delta_e_00"] + one["uncertainty"]
    apart = {(it["one"], it["other"]): it["delta_e_00"] for it in found["between"]}
    labs = [np.array(by_pair[pair]["predicted_lab"]) for pair in (PLAIN, KRAFT)]
    assert apart[PLAIN, KRAFT] == pytest.approx(float(delta_e_2000(*labs)), abs=0.002)


def test_a_pair_without_readings_says_what_is_assumed_and_what_to_do(here):
    (one,) = asked("lab 45 12 18", "--pair", CARD)["answers"]
    assert one["evidence"] == "estimated"
    assert "no swatch of it is read: its paper is taken as CIELAB 94, 0, -2" in one["assumed"]
    assert one["surer"]["command"].startswith("inkaccord record RST-VWX FILE")
    code, out, _ = inkaccord("ask", "lab 45 12 18", *HERE)
    assert code == 0
    row = next(line for line in out.splitlines() if line.startswith(CARD))
    assert row.split()[-4:] == ["not", "yet", "not", "yet"]
    assert not re.search(rf"{CARD}\s+\S+@", out)  # nor how far from others


def test_a_colour_out_of_reach_says_what_is_lost(here):
    (one,) = asked("lab 60 90 60", "--pair", KRAFT)["answers"]
    assert not one["reachable"]
    assert re.search(r"\d+ weaker", one["lost"])
    seen = np.array(one["predicted_lab"])
    assert np.hypot(*seen[1:]) < np.hypot(90, 60) - 10


def test_a_build_is_shown_as_each_pair_prints_it(here):
    found = asked("cmyk 85 20 60 30")
    assert found["asked"][0]["lab"] is None
    assert {it["pair"] for it in found["answers"]} == {KRAFT, CARD}  # not the one in RGB
    one = next(it for it in found["answers"] if it["pair"] == KRAFT)
    apart = delta_e_2000(truth("cmyk 85 20 60 30"), np.array(one["predicted_lab"]))
    assert apart <= one["uncertainty"]
    assert one["delta_e_00"] is None


def test_a_print_is_itself_on_its_own_pair(here):
    found = asked(f"cmyk 85 20 60 30 on {KRAFT}", "--pair", KRAFT)
    (one,) = found["answers"]
    assert (one["itself"], one["delta_e_00"], one["build"]) == (True, 0.0, "cmyk 85 20 60 30")
    assert found["asked"][0]["bound"] == pytest.approx(one["uncertainty"])


def test_two_builds_lie_as_far_apart_as_they_print(here):
    words = ("cmyk 85 20 60 30", "cmyk 60 20 60 30")
    (between,) = asked(*words, "--pair", KRAFT)["between"]
    seen = float(delta_e_2000(*map(truth, words)))
    assert between["delta_e_00"] == pytest.approx(seen, abs=between["uncertainty"])
    code, _, err = inkaccord("ask", *words, *HERE)
    assert code == 2
    assert f"'{words[0]} on device@stock'" in err


def test_a_swatch_is_the_build_on_its_pair(here):
    sheet = sheet_of(60, pair=Pair.parse(KRAFT))
    swatch = next(it for it in sheet.swatches if it.id == "C4")
    (one,) = asked("k7qxm3/c4")["asked"]
    assert (one["build"], one["on"]) == (str(swatch.build), KRAFT)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["K7Q-XM3/C44"], "did you mean C4"),
        (["lab 1 1 1", "--pair", "laser@krft"], "did you mean 'laser@kraft'"),
        (["lab 1 1 1", "--pair", "laser@krft"], "inkaccord swatches laser@krft --count 40"),
        (["rgb 1 2 3", "--pair", KRAFT], "driven in CMYK"),
        (["nothing.txt"], "nothing.txt: cannot read"),
        (["kelp"], "'kelp' is no colour"),
        (["lab 1 1 1", "lab 2 2 2", "--pair", KRAFT, "--pair", CARD], "one pair at most"),
    ],
)
def test_what_can_not_be_asked_is_answered_with_how_to_mend_it(here, words, said):
    code, _, err = inkaccord("ask", *words, *HERE)
    assert code in {2, 5}
    assert said in err


ORDER = """
order: fair
date: 2026-11-28
suites: 10
colours:
  kelp: {aim: {lab: [45, 12, 18]}, in_artwork: cmyk 85 20 60 30}
  roof: {aim: {by_eye: the roof}, in_artwork: cmyk 0 60 60 30}
  moss: {aim: {from_book: Moss}, in_artwork: cmyk 60 20 90 10}
stocks: {kraft: {size: a4}}
vendors: {studio: {delivers: sheets, devices: {laser: {}}}}
pieces: {tag: {artwork: tag.pdf, trim: a6, device: laser, stock: kraft}}
"""


def test_a_file_with_columns_of_its_own_is_mended_in_the_file(here, tmp_path):
    """What a screen says to add must be there: ``ask`` takes no names of columns."""
    file = tmp_path / "leaf.csv"
    file.write_text("name;Lstar;astar;bstar\noak;41;-20;8\n", "utf-8")
    _, _, err = inkaccord("ask", file, *HERE)
    assert "call the columns L, a and b in the file" in err
    file.write_text(file.read_text("utf-8").replace("Lstar;astar;bstar", "L;a;b"), "utf-8")
    code, _, err = inkaccord("ask", file, *HERE)
    assert code == 0, err


def test_a_colour_of_the_order_is_asked_for_by_its_name(here):
    (here / "order.yaml").write_text(ORDER, "utf-8")
    of_order = ("--order", "order.yaml")
    found = asked("order kelp", "--pair", KRAFT, *of_order)
    assert found["asked"][0]["lab"] == [45, 12, 18]
    assert found["answers"] == asked("lab 45 12 18", "--pair", KRAFT, *of_order)["answers"]
    assert inkaccord("book", "add", "Moss", "lab 50 -20 30", *HERE)[0] == 0
    assert asked("order moss", "--pair", KRAFT, *of_order)["asked"][0]["lab"] == [50, -20, 30]
    assert inkaccord("book", "add", "Roof", "order roof", *HERE, *of_order)[0] == 0
    for words, said in (
        (("ask", "order kelp"), "none is named"),
        (("ask", "order kelb", *of_order), "did you mean 'kelp'"),
        (("ask", "order roof", *of_order), "nobody has picked it"),
        (("swatches", KRAFT, "--near", "book Roof", "--reach", "5"), "nobody has picked it"),
    ):
        code, _, err = inkaccord(*words, *HERE)
        assert (code, said in err) == (2, True), err


def test_of_a_colour_of_the_order_looks_on_its_own_pairs_count_as_in_its_run(here):
    (here / "order.yaml").write_text(ORDER, "utf-8")
    of_order = ("--order", "order.yaml")
    assert inkaccord("record", "K7Q-XM3", "--pick", "roof=B5", *HERE)[0] == 0
    (before,) = asked("order roof", "--pair", KRAFT, *of_order)["asked"]
    assert inkaccord("record", "BCD-FGH", "--pick", "roof=C3", *HERE)[0] == 0
    (after,) = asked("order roof", "--pair", KRAFT, *of_order)["asked"]
    assert after == before, "what the order left counts no more in it"
    assert inkaccord("book", "add", "roof", "--by-eye", "the roof", *HERE)[0] == 0
    (of_all,) = asked("book roof", "--pair", KRAFT)["asked"]
    assert of_all["lab"] != before["lab"], "the book's own counts all of them"


def test_an_empty_shelf_knows_no_pair(tmp_path):
    code, _, err = inkaccord("ask", "lab 41 -20 8", "--shelf", tmp_path / "none.sqlite")
    assert code == 2
    assert "knows no pair" in err
    assert not (tmp_path / "none.sqlite").exists()


def test_what_is_printed_to_be_surer_can_be_pasted_and_makes_surer(here):
    aim = "lab 62 -8 30"
    (before,) = asked(aim, "--pair", KRAFT)["answers"]
    words = shlex.split(before["surer"]["command"])[1:]
    code, out, err = inkaccord(*words, "--on", "2026-05-14", "--json")
    assert code == 0, err
    made = json.loads(out)
    with Shelf.open("shelf.sqlite") as shelf:
        sheet = shelf.sheet(made["sheet"])
        assert {it.control for it in sheet.swatches} == {True, False}
        shelf.record_readings(readings_of(sheet, seed=7))
    (after,) = asked(aim, "--pair", KRAFT)["answers"]
    assert after["uncertainty"] < before["uncertainty"] - 0.1
    assert after["uncertainty"] == pytest.approx(before["surer"]["bound_after"], rel=0.35)
    off = delta_e_2000(truth(after["build"]), np.array([62, -8, 30]))
    assert off <= after["delta_e_00"] + after["uncertainty"]


def test_recolour_takes_the_same_words(here):
    (here / "in.pdf").write_bytes(draw_artwork("5in x 7in"))
    (wanted,) = asked("lab 45 12 18", "--pair", KRAFT)["answers"]
    old = "cmyk 75 20 80 10"
    for new, build in (
        (f"ask lab 45 12 18 on {KRAFT}", wanted["build"]),
        ("K7Q-XM3/C4", asked("K7Q-XM3/C4")["asked"][0]["build"]),
    ):
        code, out, err = inkaccord(
            "recolour", "in.pdf", "out.pdf", "--swap", f"{old} = {new}", *HERE
        )
        assert code == 0, out + err
        assert build in out
        with pikepdf.open("out.pdf") as pdf:
            stream = pdf.pages[0].Contents.read_bytes().decode()
        numbers = " ".join(f"{value / 100:g}" for value in Build.parse(build).values)
        assert f"{numbers} k" in stream
    code, _, err = inkaccord(
        "recolour", "in.pdf", "no.pdf", "--swap", f"{old} = ask lab 45 12 18", *HERE
    )
    assert code == 2
    assert "does not say for which pair" in err
    assert not (here / "no.pdf").exists()


def test_recolour_says_what_a_build_rests_on(here):
    (here / "in.pdf").write_bytes(draw_artwork("5in x 7in"))
    swap = f"cmyk 75 20 80 10 = ask lab 45 12 18 on {CARD}"
    code, out, _ = inkaccord("recolour", "in.pdf", "out.pdf", "--swap", swap, *HERE)
    assert code == 0
    assert "no swatch of it is read" in out
    assert "inkaccord ask" in out


@pytest.mark.slow
def test_a_swatch_set_is_near_whatever_can_be_asked(here):
    code, out, err = inkaccord(
        "swatches",
        KRAFT,
        "--near",
        "K7Q-XM3/C4",
        "--count",
        "3",
        "--on",
        "2026-05-14",
        "--json",
        *HERE,
    )
    assert code == 0, err
    (one,) = asked("K7Q-XM3/C4")["asked"]
    with Shelf.open("shelf.sqlite") as shelf:
        builds = [
            it.build for it in shelf.sheet(json.loads(out)["sheet"]).swatches if not it.control
        ]
    nearest = min(delta_e_2000(truth(str(it)), np.array(one["lab"])) for it in builds)
    assert nearest < 1.5
