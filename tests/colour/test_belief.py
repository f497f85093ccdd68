"""Where a thing lies: against people drawn by chance, and on a device with other equations."""

import numpy as np
import pytest

from inkaccord.colour.belief import BETWEEN_PEOPLE, HEARSAY, Told, judge, judge_alone
from inkaccord.colour.delta_e import delta_e_2000, delta_e_2000_metric
from inkaccord.colour.direction import Direction
from inkaccord.colour.looks import Look, Offered

MIDDLE, PAPER = np.array([58.0, -14.0, 16.0]), np.array([94.0, 0.0, -2.0])
ROOT = np.linalg.inv(np.linalg.cholesky(delta_e_2000_metric(MIDDLE)).T)
"""CIELAB of a step of one ΔE00, by the metric at the middle alone."""
TO_DE = np.linalg.inv(ROOT.T)
"""From rows of CIELAB to steps of ΔE00."""


def ladders(step, middle=MIDDLE):
    rungs = [0.0, -2.0, -1.0, 1.0, 2.0]
    steps = [[0.0, 0.0, 0.0], *(np.eye(3)[way] * it for way in range(3) for it in rungs[1:])]
    labs = middle + step * np.array(steps) @ ROOT.T
    return Offered(builds=labs, labs=labs, paper=PAPER)


def drawn(count, error, rng):
    return rng.normal(0.0, error / np.sqrt(3.0), (count, 3)) @ ROOT.T


@pytest.mark.parametrize(
    "answers",
    [
        [(0, None)],
        pytest.param([(3, None), (0, None)], marks=pytest.mark.slow),
        [(3, 0), (3, None)],
    ],
)
def test_it_is_what_people_drawn_by_chance_say(answers):
    """Of many imaginary people and things, those are kept who said the very same.

    Written on its own: the differences are CIEDE2000 itself, the integrals a count.
    """
    offered, rng, count = ladders(3.0), np.random.default_rng(5), 150_000
    things = MIDDLE + drawn(count, 5.0, rng)
    own = drawn(count, BETWEEN_PEOPLE, rng)
    eye = 2.25 * np.exp(rng.normal(0.0, 0.35, (count, 1)))
    kept = np.ones(count, dtype=bool)
    for swatch, then in answers:
        seen = things[kept] + own[kept] + drawn(int(kept.sum()), 1.0, rng) * eye[kept]
        apart = delta_e_2000(seen[:, None], offered.labs[None])
        order = np.argsort(apart, axis=1)
        same = order[:, 0] == swatch
        if then is not None:
            same &= order[:, 1] == then
        # Who sees nothing near says so instead: half of them at 8 ΔE00.
        same &= rng.uniform(size=len(same)) < 1.0 / (1.0 + (apart.min(axis=1) / 8.0) ** 4)
        kept[np.flatnonzero(kept)[~same]] = False
    things = things[kept]
    assert len(things) > 300
    found = judge([Look(offered, swatch, then=then) for swatch, then in answers], MIDDLE, 5.0)
    assert delta_e_2000(found.lab, things.mean(axis=0)) < 0.4
    apart = delta_e_2000(things, things.mean(axis=0))
    assert found.error == pytest.approx(np.sqrt(np.mean(apart**2)), rel=0.12)
    assert found.bound_round(found.lab) == pytest.approx(np.percentile(apart, 95), rel=0.12)


@pytest.mark.slow
def test_what_is_told_from_elsewhere_counts_as_often_as_it_is_right():
    """Things drawn by chance: most of them where they are said to lie, some of them anywhere."""
    offered, rng, count = ladders(3.0), np.random.default_rng(7), 400_000
    told = Told(MIDDLE + 3.0 * ROOT[:, 0], 2.0)
    guided = rng.uniform(size=(count, 1)) > HEARSAY
    things = np.where(guided, told.lab + drawn(count, 2.0, rng), MIDDLE + drawn(count, 9.0, rng))
    seen = things + drawn(count, BETWEEN_PEOPLE, rng)
    seen += drawn(count, 1.0, rng) * 2.25 * np.exp(rng.normal(0.0, 0.35, (count, 1)))
    # Who perceives it beside the middle, and nobody farther off than any of the swatches.
    near = np.flatnonzero(np.abs((seen - MIDDLE) @ np.linalg.inv(ROOT).T).max(axis=1) < 3.0)
    apart = delta_e_2000(seen[near][:, None], offered.labs[None])
    kept = things[near][apart.argmin(axis=1) == 0]
    found = judge([Look(offered, 0)], MIDDLE, 9.0, told=told)
    assert delta_e_2000(found.lab, kept.mean(axis=0)) < 0.4
    apart = delta_e_2000(kept, kept.mean(axis=0))
    assert found.error == pytest.approx(np.sqrt(np.mean(apart**2)), rel=0.15)
    alone = judge([Look(offered, 0)], MIDDLE, 9.0)
    assert found.error < 0.8 * alone.error


def test_looks_that_say_otherwise_overrule_what_is_told():
    far = Told(MIDDLE + 14.0 * ROOT[:, 0], 1.5)
    found = judge([Look(ladders(2.0), 0, then=3)] * 4, MIDDLE, 9.0, told=far)
    assert delta_e_2000(found.lab, MIDDLE) < 2.0


def test_what_was_not_named_tells_something_too():
    """The middle of fine ladders says more than that of coarse ones."""
    coarse, fine = (judge([Look(ladders(step), 0)], MIDDLE, 9.0) for step in (6.0, 2.0))
    assert fine.error < 0.85 * coarse.error


def test_more_looks_narrow_it_but_one_persons_not_for_ever():
    offered = ladders(3.0)
    one, four, many = (
        judge([Look(offered, 0, by="Ada")] * count, MIDDLE, 9.0) for count in (1, 4, 20)
    )
    assert many.error < four.error < 0.75 * one.error
    assert many.error > BETWEEN_PEOPLE
    people = judge([Look(offered, 0, by=str(at)) for at in range(20)], MIDDLE, 9.0)
    assert people.error < many.error
    assert one.change_by(3) > four.change_by(3) > many.change_by(3)


def test_an_eye_that_repeats_well_is_believed_more_than_its_word():
    offered = ladders(3.0)
    same = judge([Look(offered, 0, sure=0.0)] * 4, MIDDLE, 9.0)
    rows = [1, 4, 5, 8]
    scattered = judge([Look(offered, row, sure=0.0) for row in rows], MIDDLE, 9.0)
    assert same.eye < 3.0 < scattered.eye
    assert same.error < 0.8 * scattered.error


def test_one_slip_among_many_looks_moves_little():
    offered = ladders(4.0)
    slip = judge([Look(offered, 0)] * 4 + [Look(offered, 4)], MIDDLE, 9.0)
    assert delta_e_2000(slip.lab, MIDDLE) < 2.5
    alone = judge_alone([Look(offered, 0), Look(offered, 4)], 9.0)
    assert delta_e_2000(alone[1].lab, MIDDLE) > 4.0


def scanned(found, error, by="a scanner"):
    return Look(ladders(3.0), 0, compared=(found, error), by=by)


def test_what_a_scanner_found_is_taken_with_the_bound_that_it_states():
    glass = judge([scanned(MIDDLE, 1.2)], MIDDLE + 5.0, 40.0)
    assert delta_e_2000(glass.lab, MIDDLE) < 0.2
    assert glass.bound_round(glass.lab) == pytest.approx(1.2 * 1.61, rel=0.1)
    assert glass.error < 1.2  # mostly it errs by less


def test_a_scan_and_a_look_are_what_scanners_and_people_drawn_by_chance_say():
    """Scanners are drawn that err by 0.6 of what they state, times or by 1.8 (log-normal)."""
    offered, rng, count = ladders(3.0), np.random.default_rng(6), 150_000
    found = offered.labs[3]  # one rung lighter
    times = 0.6 * np.exp(rng.normal(0.0, 0.6, (count, 1)))
    things = found + drawn(count, 4.0, rng) * times
    kept = rng.uniform(size=count) < np.exp(
        -1.5 * np.sum(((things - MIDDLE) @ TO_DE / 5.0) ** 2, 1)
    )
    things = things[kept]
    eye = 2.25 * np.exp(rng.normal(0.0, 0.35, (len(things), 1)))
    seen = things + drawn(len(things), BETWEEN_PEOPLE, rng) + drawn(len(things), 1.0, rng) * eye
    things = things[delta_e_2000(seen[:, None], offered.labs[None]).argmin(axis=1) == 0]
    assert len(things) > 1000
    told = judge([scanned(found, 4.0), Look(offered, 0)], MIDDLE, 5.0)
    assert delta_e_2000(told.lab, things.mean(axis=0)) < 0.3
    apart = delta_e_2000(things, things.mean(axis=0))
    assert told.error == pytest.approx(np.sqrt(np.mean(apart**2)), rel=0.12)


def test_another_scan_by_the_same_scanner_tells_no_more_and_one_by_a_telephone_does():
    once = judge([scanned(MIDDLE, 3.0)], MIDDLE, 9.0)
    again = judge([scanned(MIDDLE, 3.0)] * 3, MIDDLE, 9.0)
    both = judge([scanned(MIDDLE, 3.0), scanned(MIDDLE, 3.0, "a telephone")], MIDDLE, 9.0)
    rough = judge([scanned(MIDDLE, 3.0), scanned(MIDDLE + 4.0, 20.0)], MIDDLE, 9.0)
    assert again.error == pytest.approx(once.error, rel=0.02)
    assert both.error < 0.75 * once.error
    torn = judge([scanned(MIDDLE, 3.0), scanned(MIDDLE + 8.0, 3.0, "a telephone")], MIDDLE, 9.0)
    assert torn.error > 1.3 * both.error
    assert rough.error == pytest.approx(once.error, rel=0.1)


def test_none_of_them_sends_it_on_and_leaves_it_open():
    found = judge([Look(ladders(4.0), None, direction=Direction.DARKER)], MIDDLE, 9.0)
    assert found.lab[0] < MIDDLE[0] - 8.0
    assert found.error > 4.0


def test_the_same_looks_give_the_same_bytes():
    one, other = (judge([Look(ladders(3.0), 3, then=0)], MIDDLE, 9.0) for _ in range(2))
    assert one.lab.tobytes() == other.lab.tobytes()
    assert one.bound_round(one.lab) == other.bound_round(other.lab)


@pytest.mark.parametrize(
    "eye", [2.25, *(pytest.param(it, marks=pytest.mark.slow) for it in (1.0, 1.5, 3.0))]
)
def test_the_bound_holds_on_a_device_that_steps_otherwise(eye):
    """Its true colours are the model's turned, stretched by a fifth and shifted: no equations of
    ours. People look three times at coarse ladders, then at fine ones round what was found."""
    rng = np.random.default_rng(11)
    inside, errors = [], []
    for _ in range(20):
        bent = np.eye(3) + rng.normal(0.0, 0.12, (3, 3))
        shift = rng.normal(0.0, 3.0, 3)

        def printed(labs, bent=bent, shift=shift):
            return MIDDLE + shift + (labs - MIDDLE) @ bent.T

        thing = MIDDLE + drawn(1, 4.0, rng)[0]
        looks, at, step = [], MIDDLE, 4.0
        for _ in range(2):
            offered = ladders(step, at)
            offered = Offered(offered.builds, offered.labs, PAPER, steps_off=0.25)
            for _ in range(3):
                seen = thing + drawn(1, eye, rng)[0]
                nearest = np.argsort(delta_e_2000(printed(offered.labs), seen))
                looks.append(Look(offered, int(nearest[0]), then=int(nearest[1])))
            found = judge(looks, MIDDLE, 9.0)
            at, step = found.lab, 2.0
        off = float(delta_e_2000(printed(found.lab[None])[0], thing))
        errors.append(off)
        inside.append(off <= found.bound_round(found.lab))
    assert np.mean(inside) >= 0.85  # of 20, two more than 95 of 100 may miss by chance
    assert np.median(errors) < 1.2 * eye
