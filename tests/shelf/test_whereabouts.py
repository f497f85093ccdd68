"""Where a printed sheet is, from what was said of it."""

import datetime

import pytest

from inkaccord.shelf.kept import Move, MoveKind
from inkaccord.shelf.whereabouts import sent_of, whereabouts

TWO_YEARS, HALF_A_YEAR = datetime.timedelta(days=730), datetime.timedelta(days=180)


def day(number: int) -> datetime.date:
    return datetime.date(2026, 3, number)


def move(number: int, kind: str, place: str = "", **more: object) -> Move:
    at = datetime.datetime(2026, 3, number, 9, tzinfo=datetime.UTC)
    return Move(kind=MoveKind(kind), at=at, place=place, **more)  # type: ignore[arg-type]


def test_who_borrows_a_copy_does_not_move_the_others() -> None:
    moves = [
        move(1, "sent", "Quay"),
        move(4, "back", "drawer 2", copies=3),
        move(5, "lent", "Ada"),
        move(6, "lent", "the museum", copies=2),
    ]
    found = whereabouts(moves)
    assert (found.place, found.copies, found.last_seen) == ("drawer 2", 3, day(6))
    assert found.told == (
        "drawer 2, 3 copies, 1 lent to Ada on 5 March 2026, 2 lent to the museum on 6 March 2026"
    )
    assert sent_of(moves) is None
    home = whereabouts([*moves, move(7, "returned", "Ada")])
    assert [it.place for it in home.lent] == ["the museum"]
    assert whereabouts([*moves, move(8, "returned")]).lent == ()


def test_a_sheet_that_is_away_lies_nowhere() -> None:
    moves = [move(1, "laid", "drawer 2"), move(2, "sent", "Quay")]
    assert whereabouts(moves).place == ""
    assert whereabouts(moves).last_seen == day(1)


@pytest.mark.parametrize(
    ("moves", "until"),
    [
        ([], None),
        ([move(1, "sent")], None),
        ([move(1, "sent"), move(4, "back")], day(4) + TWO_YEARS),
        ([move(4, "back"), move(9, "laid", "wall", in_light=True)], day(9) + HALF_A_YEAR),
        (
            [
                move(4, "back"),
                move(9, "laid", "wall", in_light=True),
                move(11, "laid", "box", in_light=False),
            ],
            day(4) + TWO_YEARS,
        ),
    ],
)
def test_how_long_it_keeps_hangs_on_light_and_age(
    moves: list[Move], until: datetime.date | None
) -> None:
    assert whereabouts(moves).replace_after == until


def test_what_was_read_or_looked_at_was_seen() -> None:
    printed = datetime.datetime(2026, 3, 2, tzinfo=datetime.UTC)
    found = whereabouts([], printed, (day(20), None))
    assert (found.last_seen, found.replace_after) == (day(20), day(2) + TWO_YEARS)
