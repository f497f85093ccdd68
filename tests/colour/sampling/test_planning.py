import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inkaccord.colour.builds import Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.matching.match import match
from inkaccord.colour.press.model import fit
from inkaccord.colour.readings import Readings
from inkaccord.colour.sampling.design import GenericPress, choose
from inkaccord.colour.sampling.planning import closing_set, scouting_set
from inkaccord.errors import OrderError


def _read(printer, builds, noise=0.2, seed=0):
    rng = np.random.default_rng(seed)
    xyz = printer.predict_xyz(builds) * (1 + rng.normal(0, 0.003, (len(builds), 3)))
    return Readings(
        printer.drive, builds, xyz, np.zeros(len(builds), dtype=int), np.full(len(builds), noise)
    )


@pytest.mark.parametrize("drive", list(Drive))
@pytest.mark.parametrize("count", [16, pytest.param(100, marks=pytest.mark.slow)])
def test_a_scouting_set_keeps_the_rules(drive, count):
    policy = InkPolicy(total_ink_limit=260)
    builds = scouting_set(drive, policy, count)
    assert builds.shape == (count, 4 if drive is Drive.CMYK else 3)
    assert policy.allows(builds, drive).all()
    assert np.array_equal(builds, np.rint(builds))
    assert len(np.unique(builds, axis=0)) == count
    rows = {tuple(row) for row in builds.tolist()}
    if drive is Drive.CMYK:
        assert {(0, 0, 0, 0), (100, 0, 0, 0), (0, 100, 0, 0), (0, 0, 100, 0)} <= rows
        assert (0, 0, 0, 100) in rows
    else:
        assert {(255, 255, 255), (0, 255, 255), (0, 0, 0), (255, 0, 0)} <= rows
    assert scouting_set(drive, policy, count).tobytes() == builds.tobytes()


@given(st.floats(100, 400), st.tuples(*[st.integers(30, 100)] * 4), st.integers(16, 40))
@settings(max_examples=3, deadline=None)
def test_limits_of_any_pair_hold(limit, channels, count):
    policy = InkPolicy(total_ink_limit=limit, channel_limits=channels)
    assert policy.allows(scouting_set(Drive.CMYK, policy, count), Drive.CMYK).all()


def test_a_pair_without_black_on_a_dark_stock():
    policy = InkPolicy(channel_limits=(100, 100, 100, 0), total_ink_limit=180)
    builds = scouting_set(Drive.CMYK, policy, 20, paper_lab=[35.0, 8.0, 14.0])
    assert len(np.unique(builds, axis=0)) == 20
    assert np.all(builds[:, 3] == 0)
    assert policy.allows(builds, Drive.CMYK).all()


def test_what_stands_beside_is_not_printed_twice():
    controls = np.array([[0.0, 0, 0, 0], [100, 0, 0, 0], [50, 0, 0, 0]])
    builds = scouting_set(Drive.CMYK, InkPolicy(), 30, beside=controls)
    assert len(builds) == 30
    assert not (builds[:, None] == controls[None]).all(axis=2).any()


def test_swatches_gather_where_the_order_needs_them():
    focus = np.array([[85.0, 55, 10, 20]])
    aim = GenericPress.of(Drive.CMYK).predict_lab(focus)
    near = scouting_set(Drive.CMYK, InkPolicy(), 30, focus_lab=aim)
    plain = scouting_set(Drive.CMYK, InkPolicy(), 30)

    def close(builds):
        return (np.abs(builds - focus).max(axis=1) <= 35).sum()

    assert close(near) >= close(plain) + 3


def test_a_planned_sheet_teaches_more_than_a_random_one(cmyk_printer):
    policy = InkPolicy()
    rng = np.random.default_rng(5)
    where = match(cmyk_printer, cmyk_printer.predict_lab(rng.uniform(0, 60, (150, 4))), policy)
    truth = cmyk_printer.predict_lab(where.builds)

    def error(builds):
        predicted = fit(_read(cmyk_printer, builds)).predict_lab(where.builds)
        return np.sqrt(np.mean(delta_e_2000(predicted, truth) ** 2))

    planned = error(scouting_set(Drive.CMYK, policy, 32))
    random = [
        error(np.concatenate([np.zeros((1, 4)), np.rint(rng.uniform(0, 68, (31, 4)))]))
        for _ in range(3)
    ]
    assert planned < 0.8 * np.median(random)


@pytest.mark.parametrize("count", [15, 101])
def test_sizes_outside_are_refused(count):
    with pytest.raises(OrderError, match="scouting"):
        scouting_set(Drive.CMYK, InkPolicy(), count)


def test_the_generic_press_has_the_paper_it_was_given():
    press = GenericPress.of(Drive.CMYK, [70.0, 5.0, 20.0])
    assert np.allclose(press.paper_lab, [70, 5, 20], atol=1e-6)
    builds = np.array([[40.0, 20, 10, 5]])
    step = 1e-4
    for i in range(4):
        moved = np.eye(4)[i] * step
        slope = (press.predict_lab(builds + moved) - press.predict_lab(builds - moved)) / (2 * step)
        assert np.allclose(press.lab_and_jacobian(builds)[1][0, :, i], slope, atol=1e-3)


def test_choosing_lowers_the_variance_it_is_meant_to_lower():
    """The greedy choice against every single alternative for its first step."""
    press = GenericPress.of(Drive.RGB)
    rng = np.random.default_rng(2)
    builds = rng.uniform(0, 255, (60, 3))
    belief = press.belief(builds)
    weights = np.full(20, 0.05)
    first = choose(belief, 1, candidates=40, weights=weights, noise=0.3)[0]

    def left(candidate):
        column = belief.covariance(slice(candidate, candidate + 1), slice(None))[:, 0]
        noise = (0.3 * 1.15) ** 2 / 3
        gone = column**2 / (column[:, candidate] + noise)[:, None]
        return ((belief.variance - gone)[:, 40:] @ weights).sum()

    assert first == np.argmin([left(candidate) for candidate in range(40)])


def test_closing_in(cmyk_printer):
    policy = InkPolicy(total_ink_limit=200)
    model = fit(_read(cmyk_printer, scouting_set(Drive.CMYK, policy, 30)))
    builds = np.array([[60.0, 10.2, 55, 8], [20, 5, 40, 0], [100, 50, 50, 0]])
    sets = closing_set(model, builds, 4, policy)
    assert len(sets) == 3
    for build, chosen in zip(builds, sets, strict=True):
        assert np.array_equal(chosen[0], np.rint(build))
        assert len(np.unique(chosen, axis=0)) == len(chosen) == 4
        assert policy.allows(chosen, Drive.CMYK).all()
        assert np.abs(chosen - build).max() <= 16
    (alone,) = closing_set(model, builds[:1], 1, policy)
    assert np.array_equal(alone, [[60, 10, 55, 8]])
    assert closing_set(model, np.empty((0, 4)), 3, policy) == []


def test_closing_in_makes_the_prediction_surer(cmyk_printer):
    policy = InkPolicy()
    scout = scouting_set(Drive.CMYK, policy, 24)
    model = fit(_read(cmyk_printer, scout))
    builds = np.array([[60.0, 10, 55, 8], [20, 5, 40, 0], [30, 80, 10, 20]])
    more = np.concatenate([scout, *closing_set(model, builds, 3, policy)])
    refit = fit(_read(cmyk_printer, more))
    assert np.all(refit.bound(builds) < model.bound(builds))
