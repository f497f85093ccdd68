"""What a person says, as a region of what the eye perceived."""

import numpy as np
import pytest

from inkaccord.colour.chart import EvenChart
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.direction import Direction
from inkaccord.colour.looks import (
    ALL_WRONG,
    LEAST_SURE,
    NUDGE,
    SUREST,
    Look,
    Offered,
    look_error,
    perceived,
)

MIDDLE, PAPER = np.array([55.0, 12.0, -18.0]), np.array([94.0, 0.0, -2.0])
CHART = EvenChart.round(MIDDLE)
GRID = np.array([[x, y, z] for x in (-4, 0, 4) for y in (-4, 0, 4) for z in (-4, 0, 4)], float)
CENTRE, RIGHT = 13, 22
OFFERED = Offered(builds=GRID, labs=CHART.lab(GRID), paper=PAPER)


def said(places, **look):
    return perceived(Look(OFFERED, **look), np.atleast_2d(np.asarray(places, float)), CHART)


@pytest.mark.parametrize(
    "lab", [(55.0, 12.0, -18.0), (90.0, 3.0, 70.0), (30.0, 0.0, 0.0), (40.0, 20.0, -55.0)]
)
def test_a_distance_on_the_chart_is_a_difference_of_colours(lab):
    middle = np.array(lab)
    chart = EvenChart.round(middle)
    places = np.random.default_rng(1).normal(size=(40, 3))
    places *= 3.0 / np.linalg.norm(places, axis=1, keepdims=True)
    labs = chart.lab(places)
    assert chart.place(labs) == pytest.approx(places, abs=1e-9)
    assert delta_e_2000(labs, middle) == pytest.approx(3.0, rel=0.12)


def test_the_nearest_of_a_whole_sheet_may_be_far_from_right():
    """What was laid for the thing lies to the left; one that stands for something else is named."""
    offered = Offered(GRID, OFFERED.labs, PAPER)
    sheet = Offered(GRID, OFFERED.labs, PAPER, own=RIGHT)
    far = np.array([[4.0 + 2 * ALL_WRONG, 0.0, 0.0]])
    among = perceived(Look(offered, RIGHT), far, CHART)
    beyond = perceived(Look(sheet, RIGHT), far, CHART)
    assert Look(sheet, RIGHT).beyond_own
    assert not Look(sheet, CENTRE).beyond_own
    assert not Look(sheet, None).beyond_own
    assert among[0] < 0.1
    assert beyond[0] > 0.9


def test_how_sure_a_person_was():
    assert look_error(1.0) == SUREST == 1.5
    assert look_error(0.0) == LEAST_SURE == 3.0
    assert look_error(0.5) == 2.25


def test_a_swatch_is_said_of_what_lies_nearest_to_it():
    inside, outside = [1.9, 0.0, 0.0], [2.1, 0.0, 0.0]
    assert (said([inside, outside], swatch=CENTRE) > 0.5).tolist() == [True, False]
    assert (said([inside, outside], swatch=RIGHT) > 0.5).tolist() == [False, True]


@pytest.mark.parametrize("room", [(4.0, 4.0, 4.0), (4.0, 4.0, 0.0), (4.0, 0.0, 0.0)])
def test_of_a_hundred_swatches_the_nearest_decides_though_few_border_on_it(room):
    draw = np.random.default_rng(3)
    swatches = draw.uniform(-1.0, 1.0, (100, 3)) * room
    offered = Offered(np.zeros((100, 4)), CHART.lab(swatches), PAPER)
    places = draw.uniform(-1.5, 1.5, (400, 3)) * 4.0
    apart = np.linalg.norm(places[:, None] - CHART.place(offered.labs), axis=2)
    for swatch in range(0, 100, 9):
        # How far it lies from the thing plays no part here.
        near = perceived(Look(offered, swatch), places, CHART)
        near /= 1.0 / (1.0 + (apart[:, swatch] ** 2 / ALL_WRONG**2) ** 2)
        clear = np.abs(apart[:, swatch] - np.delete(apart, swatch, axis=1).min(axis=1)) > 0.01
        nearest = apart.argmin(axis=1) == swatch
        assert (near > 0.5)[clear].tolist() == nearest[clear].tolist()


def test_the_next_nearest_halves_the_region_again():
    near, away = [1.0, 0.2, 0.1], [-1.0, 0.2, 0.1]
    assert (said([near, away], swatch=CENTRE, then=RIGHT) > 0.5).tolist() == [True, False]


def test_a_twin_is_no_rival_and_says_nothing_as_the_next():
    twins = Offered(GRID, np.concatenate([OFFERED.labs, OFFERED.labs[[CENTRE]]]), PAPER)
    place = np.array([[0.5, 0.3, 0.1], [5.0, 0.0, 0.0]])
    plain = said(place, swatch=CENTRE)
    for look in (Look(twins, CENTRE), Look(twins, 27), Look(twins, CENTRE, then=27)):
        assert perceived(look, place, CHART) == pytest.approx(plain)


def test_an_answer_that_the_steps_leave_no_room_for_is_heard_where_they_may_be_off():
    """The second but one of a row, and then one beside its middle: what lies between was passed."""
    row = np.array([[-8.0, 0, 0], [-4.0, 0, 0], [0.0, 0, 0], [0.0, 4.0, 0]])
    along = np.array([[x, 0.5, 0.0] for x in (-8.0, -4.0, 0.0, 4.0)])
    true, wrong = (Offered(row, CHART.lab(row), PAPER, steps_off=it) for it in (0.0, 0.5))
    assert perceived(Look(true, 0, then=3), along, CHART).max() < 1e-6
    heard = perceived(Look(wrong, 0, then=3), along, CHART)
    assert heard[:2].min() > 4.0 * heard[3] > 0.0
    plain = perceived(Look(wrong, 0), along, CHART)
    assert plain.argmax() == 0
    assert 0.05 < plain[1] < 0.5


def test_between_two_is_nearer_to_their_middle_than_to_either():
    places = [[2.0, 0.0, 0.0], [0.5, 0.0, 0.0], [3.5, 0.0, 0.0]]
    assert (said(places, swatch=CENTRE, between=RIGHT) > 0.5).tolist() == [True, False, False]


def test_only_what_was_looked_at_has_a_say():
    place = [0.0, 4.0, 0.0]
    assert said(place, swatch=CENTRE)[0] == 0.0
    assert said(place, swatch=CENTRE, among=(4, CENTRE, RIGHT))[0] > 0.5


@pytest.mark.parametrize("direction", list(Direction))
def test_a_nudge_lies_where_it_says(direction):
    """Found by its place alone: the middle of what is said lies off the swatch, that way."""
    cloud = np.random.default_rng(2).uniform(-6, 6, (20_000, 3))
    inside = said(cloud, swatch=CENTRE, direction=direction)
    lab = CHART.lab(np.average(cloud, axis=0, weights=inside)[None])[0]
    assert 0.4 * NUDGE < delta_e_2000(lab, MIDDLE) < 1.6 * NUDGE
    chroma = np.hypot(*lab[1:]) - np.hypot(*MIDDLE[1:])
    moved = {
        Direction.DARKER: -(lab[0] - MIDDLE[0]),
        Direction.LIGHTER: lab[0] - MIDDLE[0],
        Direction.STRONGER: chroma,
        Direction.WEAKER: -chroma,
        Direction.YELLOWER: lab[2] - MIDDLE[2],
        Direction.BLUER: -(lab[2] - MIDDLE[2]),
        Direction.REDDER: lab[1] - MIDDLE[1],
        Direction.GREENER: -(lab[1] - MIDDLE[1]),
    }
    assert moved[direction] > 0.5


def test_none_of_them_lies_far_from_all_and_more_or_less_that_way():
    far, near = [0.0, 0.0, 18.0], [0.0, 0.0, 1.0]
    none = said([far, near], swatch=None)
    assert none[0] > 0.9
    assert none[1] < 0.1
    lighter = said([[18.0, 0, 0], [-18.0, 0, 0]], swatch=None, direction=Direction.LIGHTER)
    assert lighter[0] > 0.9
    assert lighter[1] == 0.0
    aslant = said([[14.0, 14.0, 0]], swatch=None, direction=Direction.LIGHTER)
    assert 0.1 < aslant[0] < 0.6 * lighter[0]
