import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inkaccord.colour.builds import Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.direction import Direction
from inkaccord.colour.drivers import other_drivers
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.looks import Look
from inkaccord.colour.matching.match import match
from inkaccord.colour.picks import fuse, fuse_picked, offered_on, picked_build
from inkaccord.colour.sampling.design import GenericPress
from inkaccord.colour.sampling.eye_set import eye_set
from inkaccord.colour.sampling.planning import scouting_set
from inkaccord.colour.spaces import srgb_to_lab
from inkaccord.errors import OrderError

POLICY = InkPolicy()
GREEN = (60.0, 15.0, 70.0, 10.0)


@pytest.fixture(scope="module")
def press():
    return GenericPress.of(Drive.CMYK)


@pytest.fixture(scope="module")
def offered(cmyk_printer):
    return offered_on(cmyk_printer, eye_set(cmyk_printer, GREEN, POLICY))


def row_of(offered, build):
    return int(np.flatnonzero((offered.builds == build).all(axis=1))[0])


@given(st.tuples(*[st.integers(10, 70)] * 3, st.integers(5, 40)))
@settings(max_examples=10, deadline=None)
def test_a_middle_that_is_picked_is_the_swatch_itself_even_on_a_press_never_read(build):
    press = GenericPress.of(Drive.CMYK)
    offered = offered_on(press, eye_set(press, build, POLICY))
    picked = picked_build(press, [Look(offered, row_of(offered, build))] * 2, POLICY)
    assert delta_e_2000(picked.lab, press.predict_lab(np.array([build], float))[0]) < 2.5
    assert 2 < picked.bound < 8
    assert picked.findings == ()


def test_between_two(cmyk_printer):
    builds = np.array([[60.0, 10, 70, 0], [60.0, 30, 70, 0], [40.0, 20, 50, 0], [80.0, 20, 80, 0]])
    offered = offered_on(cmyk_printer, builds)
    picked = picked_build(cmyk_printer, [Look(offered, 0, between=1)] * 3, POLICY)
    there, back = delta_e_2000(picked.lab, offered.labs[:2])
    assert abs(there - back) < 1.5
    assert delta_e_2000(picked.lab, offered.labs[:2].mean(axis=0)) < 2.0


@pytest.mark.parametrize("known", [True, False])
def test_nudges_go_where_they_say(cmyk_printer, press, known):
    model = cmyk_printer if known else press
    offered = offered_on(model, eye_set(model, GREEN, POLICY))
    middle = row_of(offered, GREEN)

    def found(direction=None):
        return picked_build(model, [Look(offered, middle, direction=direction)] * 2, POLICY).lab

    plain = found()
    chroma = np.hypot(*plain[1:])
    assert found(Direction.DARKER)[0] < plain[0] - 0.6
    assert found(Direction.LIGHTER)[0] > plain[0] + 0.6
    assert np.hypot(*found(Direction.STRONGER)[1:]) > chroma + 0.6
    assert np.hypot(*found(Direction.WEAKER)[1:]) < chroma - 0.6
    assert found(Direction.YELLOWER)[2] > plain[2] + 0.6
    assert found(Direction.REDDER)[1] > plain[1] + 0.6


def test_more_picks_narrow_the_answer_but_not_for_ever(cmyk_printer, offered):
    middle = row_of(offered, GREEN)
    one, four, many = (
        picked_build(cmyk_printer, [Look(offered, middle)] * count, POLICY).bound
        for count in (1, 4, 30)
    )
    assert many < four < 0.8 * one
    assert many > 1.0


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


def two_sheets(model, one, other):
    return [
        Look(offered, row_of(offered, build))
        for build in (one, other)
        for offered in [offered_on(model, eye_set(model, build, POLICY))]
    ]


def test_a_pick_that_contradicts_the_others_is_pointed_out(cmyk_printer):
    green, red = two_sheets(cmyk_printer, GREEN, (20.0, 60, 30, 0))
    picked = picked_build(cmyk_printer, [green, green, red, green], POLICY)
    (finding,) = picked.findings
    assert finding.code == "picks-disagree"
    assert "pick 3 of 4" in finding.message
    assert delta_e_2000(picked.lab, cmyk_printer.predict_lab(np.array([GREEN]))[0]) < 4.0


def test_two_that_contradict_each_other_are_both_named(cmyk_printer):
    looks = two_sheets(cmyk_printer, GREEN, (10.0, 70, 20, 0))
    picked = picked_build(cmyk_printer, looks, POLICY)
    assert len(picked.findings) == 2
    assert picked.apart[0, 1] > 20
    assert picked.bound > 6


def test_an_aim_picked_on_one_pair_serves_another(cmyk_printer, make_printer, offered):
    """The whole way: picked on a pair that is read, matched on another."""
    picked = picked_build(cmyk_printer, [Look(offered, row_of(offered, GREEN))], POLICY)
    found = match(make_printer(strength=0.9), picked.lab, POLICY)
    assert found.delta_e_00[0] < 0.5


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


@pytest.mark.parametrize("thing", [(40.0, 22.0, -8.0), (52.0, -18.0, 20.0), (35.0, 4.0, 6.0)])
def test_what_is_said_of_a_first_print_tells_how_light_a_driver_prints(thing):
    """An RGB driver that prints half tones lighter than a screen; who looks errs in nothing."""

    def printed(builds):
        return srgb_to_lab((builds / 255.0) ** 0.65)

    paper = (100.0, 0.0, 0.0)
    screen, others = GenericPress.of(Drive.RGB, paper), other_drivers(Drive.RGB, paper)
    start = match(screen, np.array([thing]), POLICY).builds[0]
    offered = offered_on(screen, eye_set(screen, start, POLICY))
    nearest, then = np.argsort(delta_e_2000(printed(offered.builds), np.array(thing)))[:2]
    looks = [Look(offered, int(nearest), then=int(then))] * 2
    alone, among = (picked_build(screen, looks, POLICY, it) for it in ((), others))
    miss = [delta_e_2000(printed(it.build[None])[0], np.array(thing)) for it in (alone, among)]
    assert miss[1] < 0.85 * miss[0]
    assert miss[1] < among.bound


def test_looks_tell_that_a_driver_mixes_inks_instead_of_aiming_at_a_screen(cmyk_printer):
    """It hands the complements on, so its green is far beyond what a screen's could be."""

    def printed(builds):
        return cmyk_printer.predict_lab(np.c_[100.0 - builds / 2.55, np.zeros(len(builds))])

    paper, thing = tuple(cmyk_printer.paper_lab), printed(np.array([[40.0, 200.0, 120.0]]))[0]
    screen, others = GenericPress.of(Drive.RGB, paper), other_drivers(Drive.RGB, paper)
    start = match(screen, thing[None], POLICY).builds[0]
    miss = []
    for kinds in ((), others):
        middle, model, looks = start, screen, []
        for _ in range(2):
            offered = offered_on(screen, eye_set(model, middle, POLICY))
            nearest, then = np.argsort(delta_e_2000(printed(offered.builds), thing))[:2]
            looks += [Look(offered, int(nearest), then=int(then))] * 2
            found = picked_build(screen, looks, POLICY, kinds)
            middle, model = found.build, found.model
        miss.append(float(delta_e_2000(printed(found.build[None])[0], thing)))
    assert miss[1] < 0.6 * miss[0]


def test_the_nearest_on_the_whole_sheet_leads_on_better_than_the_way_alone(cmyk_printer):
    """A driver that hands the complements on prints the first swatches far from the thing."""

    def printed(builds):
        return cmyk_printer.predict_lab(np.c_[100.0 - builds / 2.55, np.zeros(len(builds))])

    paper, thing = tuple(cmyk_printer.paper_lab), printed(np.array([[40.0, 200.0, 120.0]]))[0]
    screen, others = GenericPress.of(Drive.RGB, paper), other_drivers(Drive.RGB, paper)
    own = eye_set(screen, match(screen, thing[None], POLICY).builds[0], POLICY)
    rest = scouting_set(Drive.RGB, POLICY, 28, paper_lab=paper)
    sheet = offered_on(screen, np.concatenate([own, rest]), own=len(own))
    nearest = int(delta_e_2000(printed(sheet.builds), thing).argmin())
    assert nearest >= len(own)
    told = (
        Look(offered_on(screen, own), None, direction=Direction.GREENER),
        Look(sheet, nearest),
    )
    way, named = (picked_build(screen, [it] * 2, POLICY, others) for it in told)
    miss = [delta_e_2000(printed(it.build[None])[0], thing) for it in (way, named)]
    assert miss[1] < 0.6 * miss[0]
    assert miss[1] < named.bound


def test_a_press_that_is_driven_in_its_inks_is_of_one_kind():
    assert other_drivers(Drive.CMYK, (94.0, 0.0, -2.0)) == ()
