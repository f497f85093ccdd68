"""One thing, many pairs: what was found on one tells where to look on the next."""

from types import SimpleNamespace

import numpy as np
import pytest

from inkaccord.colour.belief import Told
from inkaccord.colour.builds import Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.picks import ANYWHERE, guides
from inkaccord.colour.press.model import fit
from inkaccord.knowledge.course import follow
from inkaccord.knowledge.elsewhere import UNREAD_OFF, picked_here, told_elsewhere
from inkaccord.knowledge.pairs import PairKnowledge, paper_readings
from inkaccord.planning.sheets import guess, ladder
from inkaccord.recall.recall import computed
from planning_kit import INKJET, KRAFT, LASER, PRESS, bench_of, order_of

ORDER = order_of()
THING = np.array([52.0, 3.0, -9.0])


class Pair:
    """A pair with what was picked on it, which notes what it was told."""

    def __init__(self, pair, lab=None, *, bound=3.0, is_read=False, drive=Drive.CMYK):
        self.pair, self.is_read, self.drive = pair, is_read, drive
        self.policy, self.recall, self.told, self.other_models = InkPolicy(), computed, [], ()
        self.model = fit(paper_readings(drive, (94.0, 0.0, -2.0)))
        self._picked = None if lab is None else SimpleNamespace(lab=lab, bound=bound, build=None)
        pick = SimpleNamespace(pick=SimpleNamespace(colour="slate"))
        self.picks = () if lab is None else (pick,)

    def bound_of(self, _):
        return 1.0 if self.is_read else 15.0

    def picked(self, _, told=None):
        self.told.append(told)
        return self._picked


def bench(*pairs):
    every = {pair: Pair(pair) for pair in (LASER, PRESS, KRAFT, INKJET)}
    return bench_of(ORDER, every | {it.pair: it for it in pairs})


def test_a_pair_that_is_read_tells_more_than_one_that_is_not_and_drivers_tell_nothing():
    here = Pair(PRESS)
    of_read, of_unread, of_driver = (
        told_elsewhere(ORDER, here, "slate", bench(other, here))
        for other in (
            Pair(LASER, THING, is_read=True),
            Pair(LASER, THING),
            Pair(INKJET, THING, drive=Drive.RGB),
        )
    )
    assert UNREAD_OFF[Drive.CMYK] < of_read.error < of_unread.error < of_driver.error
    assert np.allclose(of_read.lab, THING)
    assert [guides(it) for it in (of_read, of_unread, of_driver)] == [True, True, False]
    assert told_elsewhere(ORDER, here, "slate", bench(here)) is None
    assert not guides(None)


def test_where_pairs_disagree_the_surer_one_counts_more():
    far, here = THING + np.array([8.0, 0.0, 0.0]), Pair(PRESS)
    others = Pair(LASER, THING, is_read=True), Pair(KRAFT, far)
    told = told_elsewhere(ORDER, here, "slate", bench(*others, here))
    assert abs(told.lab[0] - THING[0]) < 1.5


def test_an_aim_in_cielab_tells_it_too():
    told = told_elsewhere(ORDER, Pair(PRESS), "butter", bench())
    assert told.lab.tolist() == [90.0, 0.0, 30.0]
    assert told.error == pytest.approx(UNREAD_OFF[Drive.CMYK])


def test_a_pick_hears_of_others_what_they_saw_themselves_and_nothing_twice():
    here, other = Pair(PRESS, THING), Pair(LASER, THING, is_read=True)
    picked_here(ORDER, here, "slate", bench(here, other))
    assert [it.error < ANYWHERE for it in here.told] == [True]
    assert other.told == [None]


def test_what_says_no_more_than_somewhere_about_is_not_weighed_anew(monkeypatch):
    weighed = []
    monkeypatch.setattr(
        "inkaccord.knowledge.picking.weigh_picks", lambda _, colour, told: weighed.append(told)
    )
    known = PairKnowledge(
        pair=LASER,
        drive=Drive.CMYK,
        policy=InkPolicy(),
        paper=(94.0, 0.0, -2.0),
        kept=(),
        picks=(),
        sheets=(),
        course=follow((), 2.0),
    )
    near = Told(THING, ANYWHERE / 2)
    for told in (None, Told(THING, ANYWHERE), near, near):
        known.picked("slate", told)
    assert weighed == [None, near]


def test_the_first_swatches_stand_round_what_was_found_elsewhere_and_nearer_together():
    here = Pair(PRESS)
    blind, told = bench(here), bench(here, Pair(LASER, THING, is_read=True))
    at = here.model.predict_lab(np.array([guess(ORDER, here, "slate", told).values]))
    assert delta_e_2000(at, THING) < 1.0
    wide, narrow = (
        here.model.predict_lab(np.array([it.values for it in ladder(ORDER, here, "slate", on)]))
        for on in (blind, told)
    )
    assert _reach(narrow) < 0.9 * _reach(wide)
    artwork = guess(ORDER, here, "slate", blind)
    assert artwork.values == (60.0, 30.0, 20.0, 10.0)


def _reach(labs):
    return float(delta_e_2000(labs, labs[2]).max())
