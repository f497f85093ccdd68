"""Which paper is worth it: only what can change a verdict, on the pair that is in doubt."""

from dataclasses import dataclass, field

import numpy as np
import pytest
from scipy.stats import chi2, ncx2

from inkaccord.planning.paper import LIKELY, Paper, choose
from planning_kit import (
    INKJET,
    KRAFT,
    LASER,
    PRESS,
    bench_of,
    distance,
    doubt,
    order_of,
    sheet_of,
    translation,
)

ORDER = order_of()


@dataclass
class Told(Paper):
    """Paper that has been told what swatches, or a sheet, would bring bounds down to."""

    after: dict = field(default_factory=dict)
    used_up: tuple = ()
    printed: tuple = ()

    def bound_with(self, it, sheet=None):
        return self.after.get((it.pair, sheet.id if sheet else ""), it.uncertainty)

    def may_ask(self, it):
        return it.pair not in self.used_up

    def is_printed(self, sheet):
        return sheet.id in self.printed


def told(after, **more):
    named = {key if isinstance(key, tuple) else (key, ""): it for key, it in after.items()}
    return Told(ORDER, bench_of(ORDER), after=named, **more)


KNOWN_WELL, HARDLY = translation("butter", KRAFT, 0.4), translation("butter", INKJET, 12.6)
ONE = doubt(distance("tag", "note", 0.3, 12.6), KNOWN_WELL, HARDLY)


def test_the_pair_that_is_in_doubt_is_asked_and_no_other():
    chosen = choose(told({KRAFT: 0.3, INKJET: 1.2}), [ONE], [], {})
    assert chosen.asked == {INKJET: ["butter"]}
    assert chosen.for_what == {INKJET: [ONE]}
    assert chosen.settled == {ONE}


def test_what_readings_would_not_make_surer_is_no_question_for_paper():
    chosen = choose(told({KRAFT: 0.3, INKJET: 11.0}), [ONE], [], {})
    assert (chosen.asked, chosen.settled) == ({}, frozenset())
    chosen = choose(told({INKJET: 1.2}, used_up=(INKJET,)), [ONE], [], {})
    assert chosen.asked == {}


def test_a_colour_that_is_2_1_off_by_nature_is_no_question_for_a_limit_of_2():
    near = translation("butter", KRAFT, 1.5, off=2.1)
    by_nature = doubt(distance("card", "tag", 2.1, 1.6), translation("butter", LASER, 0.5), near)
    assert choose(told({KRAFT: 0.3}), [by_nature], [], {}).asked == {}
    # What both pairs reach comes out as near as it is predicted, once it is known.
    reached = doubt(distance("card", "tag", 0.2, 4.2), *by_nature.sides[:1], HARDLY)
    assert choose(told({INKJET: 0.3}), [reached], [], {}).asked == {INKJET: ["butter"]}


def test_of_two_pairs_that_would_do_the_cheaper_is_asked_days_counted():
    sides = translation("butter", LASER, 2.0), translation("butter", PRESS, 2.0)
    it = doubt(distance("card", "menu", 0.2, 2.5), *sides)
    both = told({LASER: 0.5, PRESS: 0.5})
    assert choose(both, [it], [], {}, anyway=True).asked == {LASER: ["butter"]}
    # Where the shop's sheet is asked for anyway, a few swatches more on it cost least.
    assert choose(both, [it], [], {PRESS: ["slate"]}).asked == {PRESS: ["slate", "butter"]}
    dear = told({LASER: 1.7, PRESS: 0.5})
    assert choose(dear, [it], [], {}, anyway=True).asked == {PRESS: ["butter"]}


def test_both_pairs_are_asked_in_one_round_where_one_alone_would_leave_it_to_chance():
    sides = translation("butter", LASER, 2.6), translation("butter", INKJET, 2.6)
    it = doubt(distance("card", "note", 1.0, 3.7), *sides)
    assert choose(told({LASER: 0.4, INKJET: 0.4}), [it], [], {}).asked == {
        LASER: ["butter"],
        INKJET: ["butter"],
    }


def test_a_sheet_that_waits_and_would_help_is_not_planned_again():
    waiting = sheet_of(INKJET, ["butter"])
    paper = told({(INKJET, ""): 1.2, (INKJET, waiting.id): 1.3})
    chosen = choose(paper, [ONE], [waiting], {})
    assert (chosen.asked, chosen.waiting, chosen.settled) == ({}, {waiting.id}, {ONE})
    paper = told({(INKJET, ""): 1.2, (INKJET, waiting.id): 11.9})
    chosen = choose(paper, [ONE], [waiting], {})
    assert (chosen.asked, chosen.waiting) == ({INKJET: ["butter"]}, frozenset())


def test_a_sheet_that_waits_is_left_where_new_swatches_on_its_pair_settle_as_much():
    """Its colour has moved since: it helps a little, and what is asked for beside it helps all."""
    waiting = sheet_of(INKJET, ["butter"])
    other = doubt(distance("tag", "card", 0.3, 12.5), HARDLY, translation("butter", LASER, 0.4))
    after = {(INKJET, ""): 1.2, (INKJET, waiting.id): 1.3}
    alone = choose(told(after), [ONE], [waiting], {})
    assert (alone.asked, alone.waiting) == ({}, {waiting.id})
    anyway = {INKJET: ["butter"]}
    beside = choose(told(after), [ONE, other], [waiting], anyway)
    assert (beside.asked, beside.waiting) == (anyway, frozenset())
    assert beside.settled == {ONE, other}
    printed = choose(told(after, printed=(waiting.id,)), [ONE, other], [waiting], anyway)
    assert printed.waiting == {waiting.id}


def test_what_is_inside_most_likely_is_worth_no_round_of_its_own_but_goes_along_with_one():
    sides = translation("butter", LASER, 1.7), translation("butter", PRESS, 1.5)
    likely = doubt(distance("card", "menu", 0.1, 2.27), *sides)
    sigma = 2.27 / np.sqrt(chi2.ppf(0.95, 3))
    assert likely.chance == pytest.approx(ncx2.cdf((2.0 / sigma) ** 2, 3, (0.1 / sigma) ** 2))
    assert LIKELY < likely.chance < 0.95
    paper = told({LASER: 0.5, PRESS: 0.5, INKJET: 1.2})
    alone = choose(paper, [likely], [], {})
    assert (alone.asked, alone.settled) == ({}, frozenset())
    assert alone.spared in {1.5, 1.7}
    for chosen in (
        choose(paper, [likely], [], {}, anyway=True),
        choose(paper, [likely], [], {INKJET: ["slate"]}),
        choose(paper, [likely, ONE], [], {}),
    ):
        assert likely in chosen.settled
        assert chosen.spared is None
