"""Ranges of colour by words: what they hold, and on a stock where no colour is strong."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inkaccord.colour.builds import Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.sampling.design import GenericPress
from inkaccord.colour.sampling.even_set import Spacing, even_set, printable
from inkaccord.colour.sampling.ranges import (
    GREYS,
    HUE_WORDS,
    RANGE_WORDS,
    ColourRange,
    parse_range,
    range_word,
)
from inkaccord.errors import OrderError

POLICY = InkPolicy(total_ink_limit=300)
QUICK = {"greys", "teals", "olives", "creams"}
PAPERS = {"white": (94.0, 0.0, -2.0), "kraft": (62.0, 9.0, 22.0)}


@given(hue=st.floats(0, 359.99), chroma=st.floats(0, 90))
@settings(max_examples=80, deadline=None)
def test_greys_and_hues_share_all_colours_out(hue: float, chroma: float) -> None:
    lab = np.array([50, chroma * np.cos(np.radians(hue)), chroma * np.sin(np.radians(hue))])
    words = (GREYS, *HUE_WORDS)
    holding = {word for word in words if parse_range(word).region.contains(lab)}
    near_an_end = min(abs(hue - end) for end in (15, 48, 76, 102, 132, 175, 222, 278, 318, 345))
    if near_an_end > 1e-6 and abs(chroma - 8) > 1e-6:  # there, sines and cosines round either way
        assert holding == {range_word(lab)}
    assert holding


@pytest.mark.parametrize(
    ("paper", "word"),
    [
        pytest.param(paper, word, marks=() if word in QUICK else pytest.mark.slow)
        for paper in PAPERS
        for word in RANGE_WORDS
        if (paper, word) != ("kraft", "creams")  # kraft is darker than any cream
    ],
)
def test_every_word_names_something_on_white_and_on_kraft(paper: str, word: str) -> None:
    press = GenericPress.of(Drive.CMYK, PAPERS[paper])
    region = parse_range(word).among(printable(press, POLICY))
    found = even_set(press, Spacing(count=6), POLICY, region=region)
    assert len(found) == 6
    assert region.contains(found.lab).all()


@pytest.mark.parametrize("paper", PAPERS)
def test_light_deep_greyed_and_vivid_are_told_among_what_the_pair_prints(paper: str) -> None:
    press = GenericPress.of(Drive.CMYK, PAPERS[paper])
    looks = printable(press, POLICY)
    greens = looks[parse_range("greens").region.contains(looks)]
    share = {
        words: parse_range(f"{words} greens").among(looks).contains(greens)
        for words in ("light", "deep", "greyed", "vivid", "deep greyed")
    }
    chroma = np.hypot(greens[:, 1], greens[:, 2])
    assert greens[share["light"], 0].min() > greens[share["deep"], 0].max()
    assert chroma[share["vivid"]].min() > chroma[share["greyed"]].max()
    assert np.array_equal(share["deep greyed"], share["deep"] & share["greyed"])
    assert all(part.any() for part in share.values())


def test_a_word_may_be_one_or_many_and_a_part_of_all_colours() -> None:
    assert parse_range("Yellow-Greens").region == parse_range("yellow green").region
    assert parse_range("GRAY") == parse_range("greys")
    assert parse_range("navy") == parse_range("navies")
    assert parse_range("deep greyed blue greens").title == "Deep greyed blue greens"
    assert parse_range("vivid") == parse_range("vivid colours")


@pytest.mark.parametrize("words", ["kelps", "", "light deep greens", "greens deep", "very red"])
def test_words_for_no_range_are_refused_with_those_there_are(words: str) -> None:
    with pytest.raises(OrderError, match="names no range") as refusal:
        parse_range(words)
    assert "yellow greens" in str(refusal.value.findings[0].hint)


@pytest.mark.parametrize("reach", [1.5, 4.0, 12.0])
def test_near_an_aim_the_first_swatch_is_nearest_and_none_is_beyond_reach(reach: float) -> None:
    press = GenericPress.of(Drive.CMYK)
    aim = press.predict_lab(np.array([[85.0, 20.0, 60.0, 30.0]]))[0]
    only = ColourRange.near("kelp", tuple(aim.tolist()), reach)
    found = even_set(press, Spacing(count=24), POLICY, region=only.among(printable(press, POLICY)))
    distances = delta_e_2000(found.lab, aim)
    assert len(found) == 24
    assert distances[0] == distances.min() < 1.0
    assert distances.max() <= reach
