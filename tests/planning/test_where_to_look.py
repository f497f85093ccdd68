"""On which pairs a thing is looked for, and in which order."""

from types import SimpleNamespace

import numpy as np
import pytest

from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.sampling.design import GenericPress
from inkaccord.knowledge.values import ResolvedAim, Unknown
from inkaccord.planning.unknowns import unknowns_of
from inkaccord.planning.where_to_look import by_what_they_tell, for_the_eye, told_of_others
from inkaccord.recall.recall import computed
from inkaccord.sheets.model import Purpose
from planning_kit import INKJET, KRAFT, LASER, PRESS, bench_of, order_of

ORDER = order_of()
BLIND = ResolvedAim(lab=None, by_eye=True)
SEEN = ResolvedAim(lab=(50.0, 0.0, 0.0), bound=2.14, by_eye=True)


class ReadPress(GenericPress):
    """A press that prints what most do, to a bound that is stated."""

    stated = 1.0

    def bound(self, builds):
        return np.full(len(builds), self.stated)


class RoughlyReadPress(ReadPress):
    stated = 8.0


def pairs(*read, purpose=Purpose.SCOUTING, picked=(), roughly=()):
    """Return a bench on which some pairs are read, from sheets of a kind; some roughly."""
    record = SimpleNamespace(sheet=SimpleNamespace(purpose=purpose))
    kinds = dict.fromkeys(read, ReadPress) | dict.fromkeys(roughly, RoughlyReadPress)
    known = {}
    for pair in (LASER, PRESS, KRAFT, INKJET):
        paper = ORDER.stocks[pair.stock].colour
        known[pair] = SimpleNamespace(
            pair=pair,
            drive=Drive.CMYK,
            policy=InkPolicy(total_ink_limit=300),
            model=kinds.get(pair, GenericPress).of(Drive.CMYK, paper),
            recall=computed,
            picked=lambda colour, told=None: None,
            is_read=pair in kinds,
            kept=(record,) if pair in kinds else (),
            picks=("kept",) if pair in (*kinds, *picked) else (),
            waits_for_new_sheet=False,
            read_sheets=(),
            picked_sheets=(),
            sheets=(),
        )
    return bench_of(ORDER, known)


def translations(aim, *lacking):
    unknown = tuple(Unknown(colour="slate", pair=pair, why="") for pair in lacking)
    return SimpleNamespace(aims={"slate": aim}, unknown=unknown)


@pytest.mark.parametrize(
    ("bench", "aim", "lacking", "wanted"),
    [
        (pairs(), BLIND, (LASER, PRESS), ("slate",)),  # nothing is read: each has to be looked at
        (pairs(LASER), BLIND, (LASER, PRESS), ("slate",)),  # a second one tells more
        (pairs(LASER), BLIND, (LASER, INKJET, PRESS), ()),  # and two are enough
        (pairs(LASER), SEEN, (PRESS,), ()),  # and has told
        (pairs(LASER), BLIND, (PRESS,), ("slate",)),  # the laser does not print it
        # Readings of others' sheets are no sign that this person will read any.
        (pairs(LASER, purpose=Purpose.IMPORTED), BLIND, (LASER, PRESS), ("slate",)),
        (pairs(LASER, purpose=Purpose.IMPORTED), SEEN, (PRESS,), ("slate",)),
    ],
)
def test_a_new_pair_has_swatches_for_the_eye_where_no_other_tells(bench, aim, lacking, wanted):
    found = for_the_eye(ORDER, PRESS, ["butter", "slate"], translations(aim, *lacking), bench)
    assert found == wanted


def in_turn(colour, bench, *asked):
    return by_what_they_tell(ORDER, colour, asked, bench)


def test_a_thing_is_looked_for_first_where_it_can_be_printed():
    """Kraft's sheet is the least trouble, and so it came first, though it prints no light blue."""
    for bench in (pairs(PRESS, KRAFT), pairs()):
        assert in_turn("slate", bench, KRAFT, PRESS) == [PRESS, KRAFT]
        assert in_turn("butter", bench, KRAFT, PRESS) == [PRESS, KRAFT]


def test_where_a_look_tells_as_much_the_read_pair_and_the_nearest_vendor_come_first():
    assert in_turn("slate", pairs(), PRESS, INKJET, LASER) == [LASER, INKJET, PRESS]
    assert in_turn("slate", pairs(PRESS), LASER, PRESS) == [PRESS, LASER]
    # A pair that is hardly known tells less than one that is known well.
    roughly = pairs(PRESS, roughly=(LASER,))
    assert in_turn("slate", roughly, LASER, PRESS) == [PRESS, LASER]


def test_what_was_picked_already_tells_where_a_thing_can_be_printed():
    """The artwork has a light blue, but what was picked is as brown as kraft, and darker."""
    bench = pairs(KRAFT, PRESS)
    assert in_turn("slate", bench, KRAFT, PRESS) == [PRESS, KRAFT]
    brown = ReadPress.of(Drive.CMYK, (64.0, 10.0, 24.0)).predict_lab(np.array([[10, 40, 50, 30.0]]))
    picked = SimpleNamespace(lab=tuple(brown[0]), bound=3.0, build=Build.cmyk(10, 40, 50, 30))
    bench.pair(PRESS).picked = lambda colour, told=None: picked
    bench.pair(PRESS).bound_of = lambda build: 1.0
    assert in_turn("slate", bench, KRAFT, PRESS) == [KRAFT, PRESS]


def looked_for(bench, *lacking):
    return unknowns_of(ORDER, translations(BLIND, *lacking), bench).ladders


def test_one_pair_that_is_read_is_enough_and_unread_ones_are_all_looked_at():
    # Also while another pair's first sheet is asked for.
    assert looked_for(pairs(PRESS, KRAFT), LASER, PRESS, KRAFT) == [(PRESS, "slate")]
    unread = pairs(picked=(PRESS, LASER))
    assert looked_for(unread, PRESS, LASER) == [(LASER, "slate"), (PRESS, "slate")]


def test_no_sheet_is_asked_for_on_a_pair_that_misses_the_thing_by_more_than_a_guess():
    assert looked_for(pairs(KRAFT), LASER, KRAFT) == []
    assert looked_for(pairs(KRAFT), KRAFT) == [(KRAFT, "slate")]


def test_a_plan_says_why_there_is_nothing_to_look_at():
    said = told_of_others(ORDER, ["slate"], translations(SEEN, PRESS), pairs(LASER))
    assert said == "no look is needed at slate (to 2.1 ΔE00), known from other pairs"
    said = told_of_others(ORDER, ["slate"], translations(BLIND, LASER, KRAFT, PRESS), pairs(LASER))
    where = "laser@card and press@card"
    assert said == f"look for slate on {where}: that tells it for every pair that is read"
    for bench in (pairs(), pairs(LASER)):
        assert told_of_others(ORDER, ["slate"], translations(BLIND), bench) == ""
