import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from examples_kit import few
from inkaccord.colour.black_wish import BlackWish
from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.ink_policy import Black, InkPolicy
from inkaccord.colour.matching.match import match, match_together
from inkaccord.errors import OrderError

EXACT = InkPolicy(whole=False, spare_ink_within=0.0, black_free_above=None)


def _builds(count, seed, limit=280.0):
    rng = np.random.default_rng(seed)
    builds = np.rint(rng.uniform(0, 1, (4 * count, 4)) ** 1.5 * 100)
    return builds[builds.sum(axis=1) <= limit][:count]


@pytest.mark.parametrize("black", [Black.LEAST, Black.MOST])
def test_a_printed_colour_is_found_again(cmyk_printer, black):
    aims = cmyk_printer.predict_lab(_builds(80, 1))
    exact = match(cmyk_printer, aims, EXACT.model_copy(update={"black": black}))
    assert exact.delta_e_00.max() < 0.03
    assert np.median(exact.delta_e_00) < 0.003
    assert exact.in_reach.all()
    whole = match(cmyk_printer, aims, InkPolicy(black=black, black_free_above=None))
    assert np.array_equal(whole.builds, np.rint(whole.builds))
    assert np.median(whole.delta_e_00) < 0.2
    assert whole.delta_e_00.max() < 0.5


def test_the_swatch_itself_is_found_when_asked_to_stay_near(cmyk_printer):
    builds = _builds(60, 2)
    policy = InkPolicy(black=Black.NEAR, black_free_above=None, spare_ink_within=0.0)
    found = match(cmyk_printer, cmyk_printer.predict_lab(builds), policy, near=builds)
    assert np.abs(found.builds - builds).max() <= 1
    assert found.delta_e_00.max() < 0.05


def test_rgb_devices_are_matched_to_the_step(rgb_printer):
    builds = np.rint(np.random.default_rng(3).uniform(0, 255, (60, 3)))
    found = match(rgb_printer, rgb_printer.predict_lab(builds), InkPolicy())
    assert np.array_equal(found.builds, builds)


def test_black_policies_differ_as_they_say(cmyk_printer):
    aims = cmyk_printer.predict_lab(_builds(60, 4))
    least, most = (
        match(cmyk_printer, aims, InkPolicy(black=black)).builds for black in ("least", "most")
    )
    assert np.all(least[:, 3] <= most[:, 3] + 1)
    assert most[:, 3].mean() > least[:, 3].mean() + 15


def test_light_tones_are_free_of_black(cmyk_printer):
    aims = cmyk_printer.predict_lab(_builds(100, 5))
    found = match(cmyk_printer, aims, InkPolicy(black=Black.MOST, black_free_above=60))
    light = aims[:, 0] > 60
    assert light.sum() > 10
    assert np.all(found.builds[light, 3] == 0)
    assert np.any(found.builds[~light, 3] > 0)


def test_least_black_is_the_least(cmyk_printer):
    """No build with clearly less black prints a dark colour as well."""
    aims = cmyk_printer.predict_lab(np.array([[70.0, 60, 60, 60], [90, 20, 90, 50]]))
    found = match(cmyk_printer, aims, EXACT)
    grid = np.stack(np.meshgrid(*[np.linspace(0, 100, 41)] * 3, indexing="ij"), -1).reshape(-1, 3)
    for aim, build in zip(aims, found.builds, strict=True):
        black = max(build[3] - 4.0, 0.0)
        tried = np.column_stack([grid, np.full(len(grid), black)])
        tried = tried[tried.sum(axis=1) <= 280]
        if build[3] > 0:
            assert delta_e_2000(cmyk_printer.predict_lab(tried), aim).min() > 0.3


@pytest.mark.slow
def test_out_of_reach_is_nearest_in_delta_e(cmyk_printer):
    """Against 200,000 builds, dense at the limits; the search may only be better."""
    rng = np.random.default_rng(6)
    dense = rng.uniform(-0.35, 1.35, (200_000, 4)).clip(0, 1) * 100
    dense = dense[dense.sum(axis=1) <= 280]
    lab = cmyk_printer.predict_lab(dense)
    edge = lab[rng.integers(0, len(lab), 40)]
    # Push colours outwards and down: three to ten ΔE00 out of reach.
    aims = edge * [1, 1.35, 1.35] - [4, 0, 0]
    found = match(cmyk_printer, aims, EXACT)
    assert (~found.in_reach).sum() >= 15
    for aim, distance in zip(aims, found.delta_e_00, strict=True):
        assert distance <= delta_e_2000(lab, aim).min() + 0.005


def test_what_is_lost_is_told(cmyk_printer):
    found = match(cmyk_printer, [[60.0, -90.0, 20.0]], InkPolicy())
    assert not found.in_reach[0]
    assert found[0].lost_chroma < -5
    dark = match(cmyk_printer, [[1.0, 0.0, 0.0]], InkPolicy())[0]
    assert dark.lost_lightness > 1


@given(
    st.lists(
        st.tuples(st.floats(0, 100), st.floats(-90, 90), st.floats(-90, 90)),
        min_size=1,
        max_size=6,
    ),
    st.floats(60, 400),
    st.tuples(*[st.integers(20, 100)] * 4),
    st.sampled_from(["least", "most"]),
)
@few(15)
def test_limits_always_hold(cmyk_printer, aims, limit, channels, black):
    policy = InkPolicy(total_ink_limit=limit, channel_limits=channels, black=black)
    found = match(cmyk_printer, np.array(aims), policy)
    assert policy.allows(found.builds, Drive.CMYK).all()
    assert policy.allows(found.unrounded, Drive.CMYK).all()
    assert np.array_equal(found.builds, np.rint(found.builds))


def test_an_ink_is_spared_where_it_does_nothing(cmyk_printer):
    aims = cmyk_printer.predict_lab(np.array([[60.0, 30, 0.6, 0], [0.0, 70, 55, 0]]))
    found = match(cmyk_printer, aims, InkPolicy(spare_ink_within=0.5))
    assert found.builds[0, 2] == 0
    assert np.all(found.builds[:, 3] == 0)


def test_each_answer_is_independent_and_repeatable(cmyk_printer):
    aims = cmyk_printer.predict_lab(_builds(30, 8))
    once, again = match(cmyk_printer, aims, InkPolicy()), match(cmyk_printer, aims, InkPolicy())
    assert once.builds.tobytes() == again.builds.tobytes()
    turned = match(cmyk_printer, aims[::-1], InkPolicy())
    assert np.array_equal(turned.builds[::-1], once.builds)
    alone = match(cmyk_printer, aims[4], InkPolicy())
    assert np.array_equal(alone.builds[0], once.builds[4])


def test_calls_that_are_matched_together_are_answered_as_alone(cmyk_printer, rgb_printer):
    aims = cmyk_printer.predict_lab(_builds(6, 8))
    near = InkPolicy(black=Black.NEAR)
    calls = [
        (cmyk_printer, aims[:1], InkPolicy()),
        (cmyk_printer, aims[1:4], near, np.full((3, 4), 20.0)),
        (rgb_printer, aims[1:2], InkPolicy()),
        (cmyk_printer, aims[4:], InkPolicy()),
        (cmyk_printer, aims[:2], near, np.full((2, 4), 60.0)),
    ]
    for found, call in zip(match_together(calls), calls, strict=True):
        alone = match(*call)
        assert found.drive is alone.drive
        assert np.array_equal(found.aims_lab, call[1])
        assert np.array_equal(found.builds, alone.builds)
        assert np.allclose(found.delta_e_00, alone.delta_e_00, atol=1e-9)
    assert match_together([]) == []


def test_greys_and_paper(cmyk_printer):
    found = match(cmyk_printer, [cmyk_printer.paper_lab, [60, 0, 0], [30, 0, 0]], InkPolicy())
    assert found[0].build == Build.cmyk(0, 0, 0, 0)
    assert found.delta_e_00.max() < 0.5


def test_values_of_one_match(cmyk_printer):
    found = match(cmyk_printer, [50.0, 10.0, 10.0], InkPolicy())
    assert len(found) == 1
    (one,) = found
    assert one.bound == 0.4
    assert one.build.drive is Drive.CMYK
    assert abs(delta_e_2000(one.predicted_lab, one.aim_lab) - one.delta_e_00) < 1e-12


def test_bad_arguments_are_named(cmyk_printer):
    with pytest.raises(OrderError, match="CIELAB"):
        match(cmyk_printer, [[np.nan, 0, 0]], InkPolicy())
    with pytest.raises(OrderError, match="near"):
        match(cmyk_printer, [[50, 0, 0]], InkPolicy(black=Black.NEAR))
    assert len(match(cmyk_printer, np.empty((0, 3)), InkPolicy())) == 0


def test_light_tones_get_black_where_they_need_it(cmyk_printer):
    """A light dull yellow cannot be printed without black: the rule yields where it costs."""
    aim = cmyk_printer.predict_lab(np.array([[0.0, 10, 100, 22]]))
    assert aim[0, 0] > 60
    strict = match(cmyk_printer, aim, InkPolicy(black_free_within=5.0))
    assert strict.builds[0, 3] == 0
    assert strict.delta_e_00[0] > 1.0
    assert match(cmyk_printer, aim, InkPolicy()).delta_e_00[0] < 0.3


def test_black_that_the_artwork_has_is_kept(cmyk_printer):
    """Small dark type: one ink stays one ink; in a mixture the share of black stays."""
    aims = cmyk_printer.predict_lab(np.array([[0.0, 0, 0, 85], [40, 30, 30, 60]]))
    alone = InkPolicy().wishing(BlackWish.KEEP, (0, 0, 0, 100))
    found = match(cmyk_printer, aims, alone)
    assert np.all(found.builds[:, :3] == 0.0)
    assert found.builds[0, 3] == 85.0
    assert found.delta_e_00[0] < 0.3
    # One ink can't make the second colour, and says by how much.
    assert found.delta_e_00[1] > match(cmyk_printer, aims, InkPolicy()).delta_e_00[1] + 0.5

    mixed = InkPolicy().wishing(BlackWish.KEEP, (60, 40, 40, 50))
    found = match(cmyk_printer, aims[1:], mixed)
    assert found.builds[0, 3] == 50.0
    assert found.delta_e_00[0] < 0.5
    assert mixed.allows(found.builds, cmyk_printer.drive).all()
    assert not mixed.allows([60.0, 40, 40, 49], cmyk_printer.drive)


def test_least_and_most_black(cmyk_printer):
    aim = cmyk_printer.predict_lab(np.array([[45.0, 35, 35, 30]]))
    least, most = (
        match(cmyk_printer, aim, InkPolicy().wishing(wish, np.zeros(4)))
        for wish in (BlackWish.LEAST, BlackWish.MOST)
    )
    assert least.builds[0, 3] <= 3.0
    assert most.builds[0, 3] >= 35.0
    assert max(least.delta_e_00[0], most.delta_e_00[0]) < 0.5


def test_a_kept_black_leaves_room_under_the_ink_limit(cmyk_printer):
    policy = InkPolicy(total_ink_limit=200).wishing(BlackWish.KEEP, (50, 50, 50, 90))
    aims = cmyk_printer.predict_lab(np.array([[90.0, 80, 80, 90], [10, 10, 10, 90]]))
    found = match(cmyk_printer, aims, policy)
    assert policy.allows(found.builds, cmyk_printer.drive).all()
    assert np.all(found.builds[:, 3] == 90.0)
    assert found.delta_e_00[1] < 0.3
