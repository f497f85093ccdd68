"""One colour in one line, as every command reads it."""

import pytest

from inkaccord.colour.builds import Build
from inkaccord.colour.pairs import Pair
from inkaccord.errors import OrderError
from inkaccord.order.answers import SwatchName
from inkaccord.order.wanted import Wanted, parse_new

KELP = Build.cmyk(85, 20, 60, 30)
PRESS = Pair.parse("press@card")


@pytest.mark.parametrize(
    ("text", "means"),
    [
        ("lab 41 -20 8", {"lab": (41, -20, 8)}),
        ("L41 a−20 b8", {"lab": (41, -20, 8)}),
        ("cmyk 85 20 60 30", {"build": KELP}),
        ("C85 M20 Y60 K30 on press@card", {"build": KELP, "on": PRESS}),
        ("rgb 12 34 56 on jet@card/best", {
            "build": Build.rgb(12, 34, 56), "on": Pair.parse("jet@card/best"),
        }),
        ("K7Q-XM3/B7", {"swatch": SwatchName("K7Q-XM3", "B7")}),
        ("k7qxm3 b7", {"swatch": SwatchName("K7QXM3", "B7")}),
        ("read/leaf.txt", {"file": "read/leaf.txt"}),
        ("leaf.csv/roof tile", {"file": "leaf.csv/roof tile"}),
        ("book Harbour green", {"entry": "Harbour green"}),
    ],
)  # fmt: skip
def test_a_colour_is_read_in_every_form(text, means):
    found = Wanted.parse(text)
    asked = ("lab", "build", "on", "swatch", "file", "entry")
    assert {name: getattr(found, name) for name in asked if getattr(found, name)} == means


@pytest.mark.parametrize("name", ["order 3.txt", "book x.txt", "leaf on press@card.txt"])
def test_a_file_that_is_there_is_meant_whatever_its_name_says(name, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert Wanted.parse("order 3.txt").ordered == "3.txt"
    (tmp_path / name).touch()
    assert Wanted.parse(name).file == name
    assert Wanted.parse(f"{name}/roof tile").file == f"{name}/roof tile"
    assert Wanted.parse(f"order {'x' * 300}.txt").ordered is not None


def test_white_of_a_screen_is_white_under_d50():
    assert Wanted.parse("#ffffff").lab == pytest.approx((100.0, 0.0, 0.0), abs=0.02)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("kelp", "'kelp' is no colour"),
        ("lab 140 0 0", "L* runs from 0 to 100"),
        ("lab 50 0", "CIELAB has three numbers, not 2"),
        ("cmyk 85 20 60", "'cmyk 85 20 60'"),
        ("cmyk 85 20 60 300 on press@card", "K is 300"),
        ("gray 40", "'gray 40' is no colour"),
        ("#12345", "'#12345' is no colour"),
        ("", "'' is no colour"),
    ],
)
def test_what_is_no_colour_is_refused_with_what_may_be_written(text, said):
    with pytest.raises(OrderError, match=r"no colour|runs|numbers|cmyk") as refusal:
        Wanted.parse(text)
    (finding,) = refusal.value.findings
    assert finding.code == "not-a-colour"
    assert said in finding.message
    assert "K7Q-XM3/B7" in str(finding.hint)


def test_a_new_colour_may_be_a_swatch_or_be_asked_for():
    assert parse_new("cmyk 78 12 55 41") is None
    assert parse_new("spot Kelp") is None
    swatch = parse_new("K7Q-XM3/B7")
    assert swatch is not None
    assert swatch[1] is None
    asked = parse_new("ask cmyk 85 20 60 30 on press@card on jet@card/best")
    assert asked is not None
    assert (asked[0].build, asked[0].on) == (KELP, PRESS)
    assert asked[1] == Pair.parse("jet@card/best")


def test_what_is_asked_for_names_its_pair():
    with pytest.raises(OrderError, match="does not say for which pair"):
        parse_new("ask lab 41 -20 8")
