"""Rounds are counted, sheets that serve stay, and what is marked as printed is never withdrawn."""

import datetime
from types import SimpleNamespace

import numpy as np

from inkaccord.colour.builds import Build
from inkaccord.planning import planner
from inkaccord.planning.paper import Chosen
from inkaccord.planning.rounds import MOST_PICKED, MOST_READ, may_be_picked, may_be_read
from inkaccord.planning.waiting import first_that_waits, offers, that_offers, withdrawn
from inkaccord.sheets.model import Purpose
from planning_kit import DATE, LASER, PRESS, bench_of, order_of, sheet_of

ORDER = order_of()
MIDDLE = Build.cmyk(4, 8, 45, 0)


class Plain:
    """A press whose colours are its inks: 1 % is 1 CIELAB."""

    def predict_lab(self, builds):
        return np.asarray(builds, dtype=float)[:, :3] + [50.0, 0.0, 0.0]


def pair_with(*waiting, pair=LASER, printed=(), read=(), picked=(), small=()):
    model = Plain()
    return SimpleNamespace(
        pair=pair,
        model=model,
        printed=frozenset(printed),
        kept=[SimpleNamespace(sheet=it) for it in read],
        picks=[
            SimpleNamespace(sheet=it, pick=SimpleNamespace(colour=colour)) for it, colour in picked
        ],
        waiting=lambda: tuple(it for it in waiting if it.purpose is not Purpose.CONTROLS),
        picked_sheets=tuple(it.id for it, _ in picked),
        still_to_look_at=lambda _: (),
        moves={},
        waiting_controls=lambda: tuple(it for it in waiting if it.purpose is Purpose.CONTROLS),
        too_small=lambda: tuple(small),
        lab_of=lambda build: model.predict_lab(np.array([build.values]))[0],
    )


def test_an_order_has_two_rounds_to_read_and_three_to_pick():
    own = [sheet_of(LASER, name=f"S{at}") for at in range(MOST_PICKED)]
    assert (MOST_READ, MOST_PICKED) == (2, 3)
    assert may_be_read(ORDER, [pair_with(read=own[:1])])
    # A second sheet of one pair was the second round of all.
    assert not may_be_read(ORDER, [pair_with(read=own[:1]), pair_with(read=own[:2])])
    twice, often = ([(it, "slate") for it in own[:count]] for count in (2, MOST_PICKED))
    assert may_be_picked(ORDER, [pair_with(picked=twice)])
    # A third sheet of one pair was the third round of all, whatever was picked from it.
    assert not may_be_picked(ORDER, [pair_with(picked=twice), pair_with(picked=often)])


def test_sheets_of_other_orders_and_controls_are_no_rounds_of_this_one():
    earlier = [sheet_of(LASER, name=f"S{at}", order="spring") for at in range(3)]
    a_year_ago = sheet_of(LASER, date=DATE - datetime.timedelta(365))
    controls = sheet_of(LASER).model_copy(update={"purpose": Purpose.CONTROLS})
    assert may_be_read(ORDER, [pair_with(read=[*earlier, a_year_ago, controls, controls])])


def test_a_sheet_offers_a_colour_while_its_swatches_lie_round_it():
    sheet = sheet_of(LASER, ["slate"])
    known = pair_with(sheet)
    assert offers(known, sheet, "slate", MIDDLE)
    assert not offers(known, sheet, "butter", MIDDLE)
    assert not offers(known, sheet, "slate", Build.cmyk(30, 8, 45, 0))
    assert that_offers(known, "slate", MIDDLE) == sheet
    assert that_offers(known, "slate", Build.cmyk(30, 8, 45, 0)) is None


def test_a_first_sheet_must_have_what_the_eye_needs_unless_it_is_printed():
    plain, ladder = sheet_of(LASER), sheet_of(LASER, ["slate"], name="LADDER")
    middles = {"slate": MIDDLE}
    assert first_that_waits(ORDER, pair_with(plain), {}) == plain
    assert first_that_waits(ORDER, pair_with(plain), middles) is None
    assert first_that_waits(ORDER, pair_with(plain, ladder), middles) == ladder
    assert first_that_waits(ORDER, pair_with(plain, printed=[plain.id]), middles) == plain


def test_a_stale_sheet_is_withdrawn_with_a_word_and_a_printed_one_is_not():
    stale = sheet_of(LASER, ["butter"], name="STALE")
    fresh = sheet_of(LASER, ["butter"], name="FRESH")
    others = sheet_of(LASER, order="spring", name="SPRING")
    idle = sheet_of(PRESS, name="IDLE")
    pairs = [pair_with(stale, fresh, others), pair_with(idle, pair=PRESS)]
    gone = withdrawn(ORDER, pairs, [fresh])
    assert gone == {
        "STALE": "its colours have moved, and another takes its place",
        "IDLE": "nothing that is open hangs on it any more",
    }
    marked = [pair_with(stale, fresh, printed=["STALE"]), pair_with(idle, printed=["IDLE"])]
    assert withdrawn(ORDER, marked, [fresh]) == {}


def test_a_sheet_too_small_for_the_instrument_is_withdrawn_and_says_so():
    small, fresh = sheet_of(LASER, name="SMALL"), sheet_of(LASER, name="FRESH")
    gone = withdrawn(ORDER, [pair_with(fresh, small=[small])], [fresh])
    assert list(gone) == ["SMALL"]
    assert "too small for the instrument" in gone["SMALL"]


def test_a_look_that_was_broken_off_goes_on_at_the_same_sheet():
    sheet = sheet_of(LASER, ["slate", "butter"])
    known = pair_with(picked=[(sheet, "slate")])
    known.still_to_look_at = lambda colour: (sheet,) if colour == "butter" else ()
    assert that_offers(known, "slate", MIDDLE) is None
    assert that_offers(known, "butter", MIDDLE) == sheet


def test_nothing_is_printed_while_a_look_that_was_broken_off_can_go_on(monkeypatch):
    """A stop after the first colour took a new sheet for all, and wasted the other rows."""
    begun = sheet_of(LASER, ["slate", "butter"], name="BEGUN")
    planned = sheet_of(LASER, ["slate"], name="PLANNED")
    known = pair_with(planned, picked=[(begun, "slate")])
    monkeypatch.setattr(planner, "middle", lambda *_: MIDDLE)
    monkeypatch.setattr(planner, "ladder", lambda _, __, colour, ___: colour)
    monkeypatch.setattr(planner, "closing_sheet", lambda *it: sheet_of(LASER) if it[3] else None)

    def steps(*colours):
        order = order_of(colours__butter={"aim": {"by_eye": "the ribbon"}})
        desk = planner._Desk(order, None, None, bench_of(order, {LASER: known}))
        desk._closing_in(
            known, Chosen({}, {}, frozenset(), frozenset()), [(LASER, it) for it in colours], None
        )
        return [(it.sheet.id, it.printed) for it in desk.planned]

    assert steps("slate", "butter") == [("PLANNED", False), ("K7Q-XM3", False)]
    known.still_to_look_at = lambda colour: (begun,) if colour == "butter" else ()
    assert steps("slate", "butter") == [("BEGUN", True)]
    assert steps("slate") == [("PLANNED", False)]
    known.printed = frozenset({"PLANNED"})
    assert steps("slate", "butter") == [("PLANNED", True), ("BEGUN", True)]
