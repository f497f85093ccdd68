"""A colour that is accepted on a piece: the cross stays there, and no other is held for it."""

import pytest

from inkaccord.colour.agreement.verdicts import Verdict
from inkaccord.planning.accepting import (
    LEEWAY,
    acceptances,
    answers_without_use,
    passes,
    reach,
    with_acceptances,
)
from inkaccord.run.agreement import Agreement
from planning_kit import bench_of, distance, order_of

FAR = (
    distance("card", None, 0.4, 0.6, 3.0),
    distance("tag", None, 8.0, 0.6, 3.0),
    distance("card", "tag", 8.2, 0.8),
    distance("card", "menu", 0.5, 0.7),
)


def accepting(written, distances=FAR, before=(), **more):
    order = order_of(pieces__tag={"accept": {"butter": written}}, **more)
    accepted = acceptances(order, distances, before)
    return order, accepted, with_acceptances(distances, accepted)


def test_the_piece_keeps_its_cross_and_holds_no_other():
    order, _, judged = accepting({"why": "never shows", "up_to": 9})
    held = [it for it in judged if not passes(order, it)]
    assert held == []
    crossed = [it for it in judged if it.verdict is Verdict.OUTSIDE]
    assert [(it.piece, it.other, it.accepted) for it in crossed] == [
        ("tag", None, "tag"),
        ("card", "tag", "tag"),
    ]
    assert judged[3].accepted is None


def test_what_has_become_much_worse_than_was_accepted_is_covered_no_more():
    order, (accepted,), judged = accepting({"why": "never shows", "up_to": 7})
    assert (accepted.now, accepted.up_to, accepted.holds) == (8.0, 7.0, False)
    assert [it.piece for it in judged if not passes(order, it)] == ["tag", "card"]


def test_without_a_number_the_record_keeps_what_was_known_first():
    _, (first,), _ = accepting("never shows")
    assert (first.known, first.up_to) == (8.0, reach(FAR[1]))
    worse = (FAR[0], distance("tag", None, 9.6, 0.6, 3.0), *FAR[2:])
    _, (later,), _ = accepting("never shows", worse, before=(first,))
    assert (later.known, later.up_to, later.now, later.holds) == (8.0, first.up_to, 9.6, False)
    _, (anew,), _ = accepting("seen, and still fine", worse, before=(first,))
    assert anew.holds


def test_another_print_of_the_same_pair_is_no_measure():
    twins = (distance("tag", "label", 0.0, 0.0), distance("card", "tag", 8.2, 0.8))
    _, (alone,), _ = accepting("never shows", twins)
    assert alone.known == 8.2
    # Where the colour is accepted on every other piece, those are the measure all the same.
    _, found, _ = accepting("never shows", twins, pieces__card={"accept": {"butter": "too"}})
    assert {it.piece: it.known for it in found} == {"card": 8.2, "tag": 8.2}


@pytest.mark.parametrize(("off", "bound", "up_to"), [(5.4, 0.3, 6.5), (5.4, 2.2, 8.0), (5, 1, 6)])
def test_the_leeway_is_what_was_uncertain_or_just_seen(off, bound, up_to):
    assert reach(distance("tag", None, off, bound, 3.0)) == up_to
    assert LEEWAY == 1.0


def findings(order, distances, accepted=()):
    agreement = Agreement(distances=distances, accepted=accepted)
    return [it.code for it in answers_without_use(order, agreement, bench_of(order))]


def test_answers_that_nothing_needs_are_told():
    order, accepted, judged = accepting("never shows")
    assert findings(order, judged, accepted) == []
    near = (distance("tag", None, 0.4, 0.5, 3.0), distance("card", "tag", 0.5, 0.6))
    order, accepted, judged = accepting("never shows", near)
    assert findings(order, judged, accepted) == ["unused-acceptance"]
    wide = order_of(colours__butter={"tolerance": 4.0})
    assert findings(wide, near) == ["unused-limit"]
    assert findings(wide, (*near, distance("card", "menu", 2.5, 0.3, 4.0))) == []
    assert findings(order_of(colours__butter={"tolerance": 1.0}), near) == []
