import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inkaccord.colour.builds import Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.matching.match import match
from inkaccord.colour.picks import (
    LEAST_SURE,
    SUREST,
    Direction,
    Look,
    fuse,
    fuse_picked,
    look_lab,
    pick_error,
    picked_build,
)
from inkaccord.colour.sampling.design import GenericPress
from inkaccord.errors import OrderError

POLICY = InkPolicy()
GREEN = (60.0, 15.0, 70.0, 10.0)


@pytest.fixture(scope="module")
def press():
    return GenericPress.of(Drive.CMYK)


def test_how_sure_a_person_was():
    assert pick_error(1.0) == SUREST == 1.5
    assert pick_error(0.0) == LEAST_SURE == 3.0
    assert pick_error(0.5) == 2.25


@given(st.tuples(*[st.integers(0, 70)] * 4))
@settings(max_examples=25, deadline=None)
def test_a_plain_pick_is_the_swatch_itself_even_on_a_press_never_read(build):
    picked = picked_build(GenericPress.of(Drive.CMYK), [Look(build)], POLICY)
    assert np.abs(picked.build - build).max() <= 1
    assert 2 < picked.bound < 6
    assert picked.findings == ()


def test_between_two(cmyk_printer):
    one, two = (60.0, 10.0, 70.0, 0.0), (60.0, 30.0, 70.0, 0.0)
    picked = picked_build(cmyk_printer, [Look(one, between=two)], POLICY)
    assert 15 <= picked.build[1] <= 25
    there, back = delta_e_2000(picked.lab, cmyk_printer.predict_lab(np.array([one, two])))
    assert abs(there - back) < 1.0
    # Two that lie far apart say less than one swatch.
    _, near_error = look_lab(cmyk_printer, Look(one))
    _, between_error = look_lab(cmyk_printer, Look(one, between=two))
    assert between_error > near_error


@pytest.mark.parametrize("known", [True, False])
def test_nudges_go_where_they_say(cmyk_printer, press, known):
    model = cmyk_printer if known else press
    plain = model.predict_lab(np.array([GREEN]))[0]
    chroma = np.hypot(*plain[1:])
    found = {
        direction: picked_build(model, [Look(GREEN, direction=direction)], POLICY)
        for direction in Direction
    }
    assert found[Direction.DARKER].lab[0] < plain[0] - 0.8
    assert found[Direction.LIGHTER].lab[0] > plain[0] + 0.8
    assert np.hypot(*found[Direction.STRONGER].lab[1:]) > chroma + 0.8
    assert np.hypot(*found[Direction.WEAKER].lab[1:]) < chroma - 0.8
    for one in found.values():
        assert 0.8 < delta_e_2000(one.lab, plain) < 2.2


def test_a_stronger_grey_is_a_darker_one(cmyk_printer):
    grey = (30.0, 20.0, 20.0, 0.0)
    plain = cmyk_printer.predict_lab(np.array([grey]))[0]
    assert np.hypot(*plain[1:]) < 8
    picked = picked_build(cmyk_printer, [Look(grey, direction=Direction.STRONGER)], POLICY)
    assert delta_e_2000(picked.lab, cmyk_printer.paper_lab) > delta_e_2000(
        plain, cmyk_printer.paper_lab
    )


def test_more_picks_narrow_the_answer_but_not_for_ever(cmyk_printer):
    one = picked_build(cmyk_printer, [Look(GREEN)], POLICY)
    four = picked_build(cmyk_printer, [Look(GREEN)] * 4, POLICY)
    many = picked_build(cmyk_printer, [Look(GREEN)] * 400, POLICY)
    assert four.bound < 0.7 * one.bound
    assert many.bound > 1.0


def test_the_error_of_a_mean_of_picks_is_as_stated(cmyk_printer):
    """Simulated people whose picks err by 2.25 ΔE00: the bound holds for 95 % of their means."""
    rng = np.random.default_rng(2)
    aim = cmyk_printer.predict_lab(np.array([GREEN]))[0]
    from inkaccord.colour.delta_e import delta_e_2000_metric

    root = np.linalg.cholesky(np.linalg.inv(delta_e_2000_metric(aim)))
    inside = []
    for _ in range(400):
        labs = aim + rng.normal(0, 2.25 / np.sqrt(3), (3, 3)) @ root.T
        fused = fuse(labs, [2.25] * 3)
        inside.append(delta_e_2000(fused.lab, aim) <= fused.bound)
    assert np.mean(inside) > 0.93


def test_a_pick_that_contradicts_the_others_is_pointed_out(cmyk_printer):
    looks = [Look(GREEN), Look((62.0, 15, 70, 10)), Look((20.0, 60, 30, 0)), Look(GREEN)]
    picked = picked_build(cmyk_printer, looks, POLICY)
    (finding,) = picked.findings
    assert finding.code == "picks-disagree"
    assert "pick 3 of 4" in finding.message
    assert np.abs(picked.build - np.array(GREEN)).max() < 12
    agreed = picked_build(cmyk_printer, looks[:2], POLICY)
    assert picked.bound > agreed.bound


def test_two_that_contradict_each_other_are_both_named(cmyk_printer):
    picked = picked_build(cmyk_printer, [Look(GREEN), Look((10.0, 70, 20, 0))], POLICY)
    assert len(picked.findings) == 2
    assert picked.bound > 10


def test_an_aim_picked_on_one_pair_serves_another(cmyk_printer, make_printer):
    """The whole way: picked on a pair that is read, matched on another."""
    lab, error = look_lab(cmyk_printer, Look(GREEN, sure=1.0))
    other = make_printer(strength=0.9)
    found = match(other, lab, POLICY)
    assert found.delta_e_00[0] < 0.5
    assert error == SUREST


def test_what_was_picked_on_several_pairs_is_weighed_by_how_sure_it_is():
    lab = np.array([[40.0, -5.0, -10.0], [42.0, -5.0, -10.0]])
    alone = fuse_picked(lab[:1], [3.4])
    assert alone.lab == pytest.approx(lab[0])
    # What picks share is in the bound already, and not added again.
    assert alone.bound == pytest.approx(3.4)
    both = fuse_picked(lab, [3.0, 6.0])
    assert 40.0 < both.lab[0] < 40.6
    assert both.bound < 3.0
    assert both.contradicting == ()
    many = fuse_picked(np.repeat(lab, 300, axis=0), np.full(600, 3.4))
    assert many.bound > 1.0


def test_a_pair_whose_pick_contradicts_the_others_is_heard_but_counts_little():
    lab = np.array(
        [[40.0, -5.0, -10.0], [41.0, -4.0, -10.0], [40.0, -6.0, -9.0], [60.0, 30.0, 20.0]]
    )
    fused = fuse_picked(lab, [3.4, 3.4, 3.4, 3.4])
    assert fused.contradicting == (3,)
    assert delta_e_2000(fused.lab, lab[0]) < 3.0
    assert fused.bound > fuse_picked(lab[:3], [3.4] * 3).bound


def test_no_picks():
    with pytest.raises(OrderError, match="pick"):
        picked_build(GenericPress.of(Drive.RGB), [], POLICY)
