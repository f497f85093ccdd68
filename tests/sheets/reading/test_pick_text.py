"""Picks as people write them."""

import pytest

from inkaccord.errors import OrderError
from inkaccord.sheets.model import Nudge
from inkaccord.sheets.reading.pick_text import parse_pick
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
        ("kelp=B7 darker", "B7", None, Nudge.DARKER),
        ("kelp=B7, but a touch lighter", "B7", None, Nudge.LIGHTER),
        ("kelp=B7 slightly stronger", "B7", None, Nudge.STRONGER),
        ("kelp=B7 duller", "B7", None, Nudge.WEAKER),
    ],
)
def test_reads_a_pick(text: str, swatch: str, between: str | None, nudge: Nudge | None) -> None:
    pick = parse_pick(text, SHEET, by="Ida", light="window, north", sure=0.8, picked_on=DATE)
    assert (pick.sheet, pick.colour, pick.swatch, pick.between, pick.nudge) == (
        SHEET.id,
        "kelp",
        swatch,
        between,
        nudge,
    )
    assert (pick.by, pick.light, pick.sure, pick.picked_on) == ("Ida", "window, north", 0.8, DATE)


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
