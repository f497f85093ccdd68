"""The press model: what it predicts, how sure it is, and what it does with odd readings."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inkaccord.colour.builds import FULL_SCALE, Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.press.drift import drift_between, re_anchor
from inkaccord.colour.press.model import fit
from inkaccord.colour.readings import Readings
from inkaccord.colour.spaces import lab_to_xyz, xyz_to_lab
from inkaccord.errors import OrderError


def spread(drive, count, seed=0):
    """Return builds: paper, solids, then an even spread over light to dark."""
    inks = 4 if drive is Drive.CMYK else 3
    rng = np.random.default_rng(seed)
    shares = rng.uniform(size=(count, inks)) * rng.choice([0.0, 0.6, 1.0], size=(count, inks))
    corners = np.concatenate([np.zeros((1, inks)), np.eye(inks), 0.5 * np.eye(inks)])
    shares[: min(count, len(corners))] = corners[:count]
    return (shares if drive is Drive.CMYK else 1.0 - shares) * FULL_SCALE[drive]


def readings_of(printer, builds, *, noise=0.2, seed=0, sheet=None):
    rng = np.random.default_rng(seed)
    lab = printer.predict_lab(builds) + rng.normal(size=(len(builds), 3)) * noise / np.sqrt(3)
    return Readings(
        drive=printer.drive,
        builds=builds,
        xyz=lab_to_xyz(lab),
        sheet=np.zeros(len(builds), dtype=np.int_) if sheet is None else sheet,
        noise=np.full(len(builds), max(noise, 0.05)),
    )


@pytest.fixture(scope="module")
def read60(cmyk_printer):
    return readings_of(cmyk_printer, spread(Drive.CMYK, 60))


@pytest.fixture(scope="module")
def model60(read60):
    return fit(read60)


def test_sixty_readings_tell_the_rest(cmyk_printer, model60):
    builds = spread(Drive.CMYK, 200, seed=9)
    error = delta_e_2000(model60.predict_lab(builds), cmyk_printer.predict_lab(builds))
    assert np.median(error) < 0.4
    assert np.mean(error <= model60.bound(builds)) >= 0.9
    assert np.median(model60.bound(builds)) < 4.0 * np.percentile(error, 95)


def test_its_own_readings_come_back_within_noise(read60, model60):
    apart = delta_e_2000(model60.predict_lab(read60.builds), xyz_to_lab(read60.xyz))
    assert np.sqrt(np.mean(apart**2)) < 1.5 * 0.2


def test_rgb_devices_are_modelled_too(rgb_printer):
    model = fit(readings_of(rgb_printer, spread(Drive.RGB, 60)))
    builds = spread(Drive.RGB, 100, seed=9)
    error = delta_e_2000(model.predict_lab(builds), rgb_printer.predict_lab(builds))
    assert np.median(error) < 0.6
    assert np.mean(error <= model.bound(builds)) >= 0.9
    assert delta_e_2000(model.paper_lab, rgb_printer.paper_lab) < 0.5


def test_the_jacobian_is_that_of_the_prediction(model60):
    builds = spread(Drive.CMYK, 12, seed=4) * 0.96 + 1.0
    step = 1e-3
    numeric = np.stack(
        [
            (model60.predict_lab(builds + step * e) - model60.predict_lab(builds - step * e))
            / (2 * step)
            for e in np.eye(4)
        ],
        axis=-1,
    )
    assert model60.jacobian_lab(builds) == pytest.approx(numeric, abs=2e-3)


@settings(max_examples=6, deadline=None)
@given(st.randoms(use_true_random=False))
def test_the_order_of_readings_does_not_matter(cmyk_printer, random):
    read = readings_of(cmyk_printer, spread(Drive.CMYK, 24))
    order = list(range(24))
    random.shuffle(order)
    shuffled = replace(
        read,
        builds=read.builds[order],
        xyz=read.xyz[order],
        sheet=read.sheet[order],
        noise=read.noise[order],
    )
    probes = spread(Drive.CMYK, 8, seed=3)
    assert fit(read).predict_lab(probes).tobytes() == fit(shuffled).predict_lab(probes).tobytes()


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.floats(0, 85), min_size=4, max_size=4),
    st.integers(0, 3),
    st.floats(5, 15),
)
def test_more_ink_never_lightens_beyond_noise(model60, build, ink, more):
    before = np.array([build])
    after = before.copy()
    after[0, ink] += more
    lighter = model60.predict_lab(after)[0, 0] - model60.predict_lab(before)[0, 0]
    doubt = model60.bound(before)[0] + model60.bound(after)[0]
    assert lighter < 0.3 + doubt


@pytest.mark.parametrize("count", [1, 2, 5, 16])
def test_a_few_readings_give_a_usable_model_with_an_honest_bound(cmyk_printer, count):
    model = fit(readings_of(cmyk_printer, spread(Drive.CMYK, count)))
    builds = spread(Drive.CMYK, 150, seed=9)
    error = delta_e_2000(model.predict_lab(builds), cmyk_printer.predict_lab(builds))
    assert np.isfinite(model.predict_lab(builds)).all()
    assert np.mean(error <= model.bound(builds)) >= 0.9
    assert delta_e_2000(model.paper_lab, cmyk_printer.paper_lab) < 1.0


def test_more_readings_make_it_surer(cmyk_printer):
    builds = spread(Drive.CMYK, 60, seed=9)
    bounds = [
        np.median(fit(readings_of(cmyk_printer, spread(Drive.CMYK, n))).bound(builds))
        for n in (5, 24, 80)
    ]
    assert bounds[0] > 2 * bounds[1] > 2 * bounds[2]


def test_without_paper_light_tones_are_less_sure_and_it_says_so(cmyk_printer, read60, model60):
    dark = replace(
        read60,
        **{name: getattr(read60, name)[9:30] for name in ("builds", "xyz", "sheet", "noise")},
    )
    model = fit(dark)
    assert "no-paper-reading" in {finding.code for finding in model.findings}
    paper = np.zeros((1, 4))
    assert model.bound(paper)[0] > 2 * model60.bound(paper)[0]


def test_one_ink_only_leaves_the_others_wide_open(cmyk_printer):
    builds = np.zeros((11, 4))
    builds[:, 0] = np.linspace(0, 100, 11)
    model = fit(readings_of(cmyk_printer, builds))
    assert "one-ink-only" in {finding.code for finding in model.findings}
    cyan, magenta = model.bound(np.array([[55.0, 0, 0, 0], [0, 55.0, 0, 0]]))
    assert cyan < 1.5
    assert magenta > 4.0


def test_readings_that_are_all_alike_are_remarked_on(cmyk_printer):
    builds = spread(Drive.CMYK, 20)
    read = readings_of(cmyk_printer, builds)
    same = replace(read, xyz=np.repeat(read.xyz[:1], 20, axis=0))
    assert "all-alike" in {finding.code for finding in fit(same).findings}


def read_again(read, at, shift):
    """Return the readings with one build read a second time, ``shift`` away in CIELAB."""
    again = lab_to_xyz(xyz_to_lab(read.xyz[at]) + np.array(shift))
    return Readings(
        drive=read.drive,
        builds=np.concatenate([read.builds, read.builds[at : at + 1]]),
        xyz=np.concatenate([read.xyz, again[None]]),
        sheet=np.append(read.sheet, 0),
        noise=np.append(read.noise, read.noise[at]),
    )


def test_of_two_readings_that_disagree_the_one_that_others_contradict_is_named(read60, model60):
    model = fit(read_again(read60, 20, [4.0, 2.0, -2.0]))
    assert [suspect.index for suspect in model.suspects] == [60]
    at = read60.builds[20:21]
    assert delta_e_2000(model.predict_lab(at), model60.predict_lab(at))[0] < 0.2


def test_two_readings_that_disagree_widen_the_bound_where_nothing_decides(cmyk_printer):
    few = readings_of(cmyk_printer, spread(Drive.CMYK, 6))
    agree, disagree = (fit(read_again(few, 1, [0.0, step, 0.0])) for step in (0.2, 6.0))
    assert np.all(disagree.bound(few.builds) > 1.2 * agree.bound(few.builds))


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("xyz", np.nan),
        ("xyz", 400.0),
        ("builds", np.nan),
        ("builds", 120.0),
        ("builds", -1.0),
        ("noise", 0.0),
    ],
)
def test_impossible_readings_are_refused_by_name(read60, field, value):
    broken = getattr(read60, field).copy()
    broken[7] = value
    with pytest.raises(OrderError, match="reading 8") as caught:
        fit(replace(read60, **{field: broken}))
    assert caught.value.findings[0].code == "bad-readings"


def test_no_readings_are_refused(read60):
    none = replace(
        read60, **{name: getattr(read60, name)[:0] for name in ("builds", "xyz", "sheet", "noise")}
    )
    with pytest.raises(OrderError) as caught:
        fit(none)
    assert caught.value.findings[0].code == "no-readings"


def test_swapped_swatches_are_named_and_do_no_harm(cmyk_printer, read60, model60):
    first, second = 15, 40
    swapped = read60.xyz.copy()
    swapped[[first, second]] = swapped[[second, first]]
    model = fit(replace(read60, xyz=swapped))
    named = {suspect.index: suspect.swapped_with for suspect in model.suspects}
    assert named == {first: second, second: first}
    assert "swapped with reading" in model.findings[-1].message
    builds = spread(Drive.CMYK, 100, seed=9)
    truth = cmyk_printer.predict_lab(builds)
    harmed = np.median(delta_e_2000(model.predict_lab(builds), truth))
    assert harmed < 1.3 * np.median(delta_e_2000(model60.predict_lab(builds), truth)) + 0.05


def test_good_readings_are_not_suspected(model60):
    assert model60.suspects == ()


@pytest.fixture(scope="module")
def elsewhere(make_printer):
    """The device of ``cmyk_printer`` on a creamy uncoated stock."""
    return make_printer(paper=(91.0, 1.5, 8.0), strength=0.88)


def test_a_kin_helps_while_readings_are_few(model60, elsewhere):
    builds = spread(Drive.CMYK, 150, seed=9)
    truth = elsewhere.predict_lab(builds)
    few = readings_of(elsewhere, spread(Drive.CMYK, 8))
    alone, helped = fit(few), fit(few, prior=model60)
    error = delta_e_2000(helped.predict_lab(builds), truth)
    assert np.median(error) < 0.6 * np.median(delta_e_2000(alone.predict_lab(builds), truth))
    assert np.median(helped.bound(builds)) < np.median(alone.bound(builds))
    assert np.mean(error <= helped.bound(builds)) >= 0.9


def test_a_kin_that_the_readings_speak_against_is_dropped(model60, cmyk_printer):
    builds = spread(Drive.CMYK, 60)
    backwards = replace(
        readings_of(cmyk_printer, builds), xyz=cmyk_printer.predict_xyz(builds[:, [1, 2, 0, 3]])
    )
    stranger = fit(backwards)
    few = readings_of(cmyk_printer, spread(Drive.CMYK, 40, seed=2))
    model = fit(few, prior=stranger)
    assert "kin-dropped" in {finding.code for finding in model.findings}
    probes = spread(Drive.CMYK, 20, seed=3)
    assert model.predict_lab(probes) == pytest.approx(fit(few).predict_lab(probes))


def test_a_kin_of_another_drive_is_refused(model60, rgb_printer):
    with pytest.raises(OrderError) as caught:
        fit(readings_of(rgb_printer, spread(Drive.RGB, 10)), prior=model60)
    assert caught.value.findings[0].code == "wrong-kin"


CONTROLS = np.concatenate([np.zeros((1, 4)), 100 * np.eye(4), 50 * np.eye(4)])


@pytest.fixture(scope="module")
def later(cmyk_printer):
    """The same printer with more dot gain on another day."""
    return replace(cmyk_printer, gain=cmyk_printer.gain - 0.05)


def test_controls_alone_re_anchor_a_drifted_pair(model60, read60, later):
    now = re_anchor(model60, read60, readings_of(later, CONTROLS, seed=5))
    builds = spread(Drive.CMYK, 150, seed=9)
    truth = later.predict_lab(builds)
    stale = delta_e_2000(model60.predict_lab(builds), truth)
    fresh = delta_e_2000(now.predict_lab(builds), truth)
    assert np.median(fresh) < 0.5 * np.median(stale)
    assert np.median(now.bound(builds)) > np.median(model60.bound(builds))
    assert np.mean(fresh <= now.bound(builds)) >= 0.9
    assert now.lab_and_jacobian(builds)[1] == pytest.approx(now.jacobian_lab(builds))


def test_a_few_swatches_teach_a_re_anchored_pair_where_they_lie(model60, read60, later):
    builds = spread(Drive.CMYK, 150, seed=9)
    near, controls = builds[:8], readings_of(later, CONTROLS, seed=5)
    alone = re_anchor(model60, read60, controls)
    more = re_anchor(model60, read60, readings_of(later, np.concatenate([CONTROLS, near]), seed=5))
    truth = later.predict_lab(near)
    assert np.all(more.bound(near) < alone.bound(near))
    error = delta_e_2000(more.predict_lab(near), truth)
    assert np.median(error) < np.median(delta_e_2000(alone.predict_lab(near), truth))
    assert np.median(error) < 0.4


def test_sheets_of_several_days_make_one_model_of_the_usual_press(cmyk_printer):
    days = [replace(cmyk_printer, gain=cmyk_printer.gain + step) for step in (-0.03, 0.0, 0.03)]
    parts = [
        readings_of(day, np.concatenate([CONTROLS, spread(Drive.CMYK, 30, seed=n)]), seed=n)
        for n, day in enumerate(days)
    ]
    together = Readings(
        drive=Drive.CMYK,
        builds=np.concatenate([p.builds for p in parts]),
        xyz=np.concatenate([p.xyz for p in parts]),
        sheet=np.repeat([4, 7, 9], 39),
        noise=np.full(117, 0.2),
    )
    model = fit(together)
    mixed = fit(replace(together, sheet=np.zeros(117, dtype=np.int_)))
    builds = spread(Drive.CMYK, 150, seed=9)
    truth = cmyk_printer.predict_lab(builds)
    error = delta_e_2000(model.predict_lab(builds), truth)
    assert np.median(error) <= np.median(delta_e_2000(mixed.predict_lab(builds), truth)) + 0.02
    assert np.mean(error <= model.bound(builds)) >= 0.9


def test_drift_is_told_in_delta_e(cmyk_printer, later):
    before = readings_of(cmyk_printer, CONTROLS, seed=1)
    assert drift_between(before, readings_of(later, CONTROLS, seed=2)).seen
    quiet = drift_between(before, readings_of(cmyk_printer, CONTROLS, seed=3))
    assert not quiet.seen
    assert quiet.swatches == 9
    elsewhere = readings_of(cmyk_printer, spread(Drive.CMYK, 30)[20:])
    with pytest.raises(OrderError) as caught:
        drift_between(before, elsewhere)
    assert caught.value.findings[0].code == "nothing-in-common"
