"""On which pairs a thing is looked for, and in which order."""

from types import SimpleNamespace

import pytest

from inkaccord.knowledge.values import ResolvedAim, Unknown
from inkaccord.planning.unknowns import unknowns_of
from inkaccord.planning.where_to_look import by_what_they_tell, for_the_eye, told_of_others
from inkaccord.sheets.model import Purpose
from planning_kit import INKJET, KRAFT, LASER, PRESS, bench_of, order_of

ORDER = order_of()
BLIND = ResolvedAim(lab=None, by_eye=True)
SEEN = ResolvedAim(lab=(50.0, 0.0, 0.0), bound=2.14, by_eye=True)


def pairs(*read, purpose=Purpose.SCOUTING, picked=()):
    """Return a bench on which some pairs are read, from sheets of a kind."""
    record = SimpleNamespace(sheet=SimpleNamespace(purpose=purpose))
    return bench_of(
        ORDER,
        {
            pair: SimpleNamespace(
                pair=pair,
                is_read=pair in read,
                kept=(record,) if pair in read else (),
                picks=("kept",) if pair in (*read, *picked) else (),
                waits_for_new_sheet=False,
                read_sheets=(),
                picked_sheets=(),
                sheets=(),
            )
            for pair in (LASER, PRESS, KRAFT, INKJET)
        },
    )


def translations(aim, *lacking):
    unknown = tuple(Unknown(colour="slate", pair=pair, why="") for pair in lacking)
    return SimpleNamespace(aims={"slate": aim}, unknown=unknown)


@pytest.mark.parametrize(
    ("bench", "aim", "lacking", "wanted"),
    [
        (pairs(), BLIND, (LASER, PRESS), ("slate",)),  # nothing is read: each has to be looked at
        (pairs(LASER), BLIND, (LASER, PRESS), ("slate",)),  # a second one tells more
        (pairs(LASER), BLIND, (LASER, KRAFT, PRESS), ()),  # and two are enough
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


def test_pairs_are_looked_at_in_the_order_in_which_they_tell_most():
    assert by_what_they_tell(ORDER, [KRAFT, PRESS, LASER], pairs()) == [LASER, KRAFT, PRESS]
    assert by_what_they_tell(ORDER, [LASER, KRAFT, PRESS], pairs(PRESS))[0] == PRESS


def test_one_pair_that_is_read_is_enough_and_unread_ones_are_all_looked_at():
    def looked_for(bench, *lacking):
        return unknowns_of(ORDER, translations(BLIND, *lacking), bench).ladders

    # Also while another pair's first sheet is asked for.
    assert looked_for(pairs(PRESS, KRAFT), LASER, PRESS, KRAFT) == [(KRAFT, "slate")]
    unread = pairs(picked=(PRESS, LASER))
    assert looked_for(unread, PRESS, LASER) == [(LASER, "slate"), (PRESS, "slate")]


def test_a_plan_says_why_there_is_nothing_to_look_at():
    said = told_of_others(ORDER, ["slate"], translations(SEEN, PRESS), pairs(LASER))
    assert said == "no look is needed at slate (to 2.1 ΔE00), known from other pairs"
    said = told_of_others(ORDER, ["slate"], translations(BLIND, LASER, KRAFT, PRESS), pairs(LASER))
    where = "laser@card and laser@kraft"
    assert said == f"look for slate on {where}: that tells it for every pair that is read"
    for bench in (pairs(), pairs(LASER)):
        assert told_of_others(ORDER, ["slate"], translations(BLIND), bench) == ""
