"""Picks as people write them."""

import pytest

from inkaccord.colour.direction import Direction
from inkaccord.errors import OrderError
from inkaccord.sheets.reading.pick_text import in_words, parse_choice, parse_pick
from recording_kit import DATE, sheet_of

SHEET = sheet_of()


@pytest.mark.parametrize(
    ("text", "swatch", "between", "nudge"),
    [
        ("kelp=B7", "B7", None, None),
        (" kelp = b7 ", "B7", None, None),
        ("kelp=B7..B8", "B7", "B8", None),
        ("kelp=between B7 and b8", "B7", "B8", None),
        ("kelp=B7 and B8", "B7", "B8", None),
        ("kelp=B7 darker", "B7", None, Direction.DARKER),
        ("kelp=B7, but a touch lighter", "B7", None, Direction.LIGHTER),
        ("kelp=B7 slightly stronger", "B7", None, Direction.STRONGER),
        ("kelp=B7 duller", "B7", None, Direction.WEAKER),
        ("kelp=B7, a little more yellow", "B7", None, Direction.YELLOWER),
        ("kelp=B7: too dark", "B7", None, Direction.LIGHTER),
        ("kelp=B7, slightly too red", "B7", None, Direction.GREENER),
        ("kelp=B7, a shade paler", "B7", None, Direction.LIGHTER),
        ("kelp=B 7 or b 8", "B7", "B8", None),
        ("kelp=B7/B8", "B7", "B8", None),
        ("kelp=Nearest is B7", "B7", None, None),
    ],
)
def test_reads_a_pick(text: str, swatch: str, between: str | None, nudge: Direction | None) -> None:
    pick = parse_pick(text, SHEET, by="Ida", light="window, north", sure=0.8, picked_on=DATE)
    assert (pick.sheet, pick.colour, pick.swatch, pick.between, pick.nudge) == (
        SHEET.id,
        "kelp",
        swatch,
        between,
        nudge,
    )
    assert (pick.by, pick.light, pick.sure, pick.picked_on) == ("Ida", "window, north", 0.8, DATE)


@pytest.mark.parametrize("text", ["B7, then C7", "b7 then c7", "B7 , then C7."])
def test_reads_what_comes_next_nearest(text: str) -> None:
    look = parse_choice(text, SHEET, colour="kelp", among=("B7", "C7"))
    assert (look.swatch, look.then, look.among) == ("B7", "C7", ("B7", "C7"))


@pytest.mark.parametrize(
    ("text", "nudge"),
    [
        ("none", None),
        ("None of them", None),
        ("none of these.", None),
        ("none of them: more yellow", Direction.YELLOWER),
        ("none, all too dark", Direction.LIGHTER),
        ("none: too pale", Direction.DARKER),
        ("none, bluer", Direction.BLUER),
    ],
)
def test_reads_that_none_is_right(text: str, nudge: Direction | None) -> None:
    look = parse_choice(text, SHEET, colour="kelp")
    assert (look.swatch, look.nudge) == (None, nudge)


@pytest.mark.parametrize(
    "text",
    ["B7", "B7, then C7", "between B7 and C7", "B7, a little redder", "none of them",
     "none of them: greener"],
)  # fmt: skip
def test_a_look_in_words_reads_back(text: str) -> None:
    assert in_words(parse_choice(text, SHEET, colour="kelp")) == text


@pytest.mark.parametrize(
    ("text", "sure"),
    [
        ("B7", 0.7),
        ("B7?", 0.2),
        ("B7, not sure", 0.2),
        ("between B7 and B8, I think", 0.2),
        ("B7, then C7!", 0.9),
        ("none of them: yellower, quite sure", 0.9),
    ],
)
def test_reads_how_sure_one_answer_is(text: str, sure: float) -> None:
    look = parse_choice(text, SHEET, colour="kelp", sure=0.7)
    assert look.sure == sure
    assert in_words(look) in {"B7", "B7, then C7", "between B7 and B8", "none of them: yellower"}


@pytest.mark.parametrize(
    ("text", "said", "hint"),
    [
        ("darker", "names no swatch", "'B7, darker'; or 'none of them: darker'"),
        ("too dark", "names no swatch", "'none of them: too dark'"),
        ("none: more yellow and darker", "two ways at once", "yellow, or darker"),
        ("B7, lighter, redder", "two ways at once", "lighter, or redder"),
        ("", "no answer", "write 'B7'"),
    ],
)
def test_says_how_to_write_what_was_meant(text: str, said: str, hint: str) -> None:
    with pytest.raises(OrderError, match=said) as caught:
        parse_choice(text, SHEET, colour="kelp")
    assert hint in str(caught.value.findings[0].hint)


def test_asks_which_of_two_a_word_means() -> None:
    with pytest.raises(OrderError, match="'warmer' may be yellower or redder"):
        parse_choice("B7, a bit warmer", SHEET, colour="kelp")


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("B7", "bad-pick"),
        ("kelp=", "bad-pick"),
        ("=B7", "bad-pick"),
        ("kelp=B7 purple", "bad-pick"),
        ("kelp=B7..", "bad-pick"),
        ("kelp=Z9", "no-such-swatch"),
        ("kelp=B7..Z9", "no-such-swatch"),
        ("kelp=B7, then Z9", "no-such-swatch"),
        ("kelp=B7, then", "bad-pick"),
        ("kelp=none of them: purple", "bad-pick"),
    ],
)
def test_refuses_what_is_no_pick(text: str, code: str) -> None:
    with pytest.raises(OrderError) as caught:
        parse_pick(text, SHEET)
    assert caught.value.findings[0].code == code


def test_refuses_a_sureness_that_is_none() -> None:
    with pytest.raises(OrderError) as caught:
        parse_pick("kelp=B7", SHEET, sure=80)
    assert caught.value.findings[0].code == "bad-sure"
