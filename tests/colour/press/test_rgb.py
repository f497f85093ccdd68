"""Devices driven in RGB: both kinds of model, and which of them a device turns out to be."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from inkaccord.colour.builds import Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.press.halftone import Layout
from inkaccord.colour.press.model import fit
from inkaccord.colour.press.population import populations
from inkaccord.colour.press.rgb_inks import MixedInks, mix_inks, mixed_inks_prior
from inkaccord.colour.press.rgb_places import stretched
from inkaccord.colour.press.rgb_screen import Screen, screen_prior
from inkaccord.colour.readings import Readings
from inkaccord.colour.sampling.planning import scouting_set
from inkaccord.colour.spaces import lab_to_xyz, srgb_to_lab, xyz_to_lab

PAPER = (94.0, 0.0, -2.0)


def own_press(prior):
    """Return the colours of a device of a kind, drawn from what the kind allows."""
    rng = np.random.default_rng(3)
    root = np.linalg.cholesky(prior.covariance)
    parameters = prior.mean + 0.4 * root @ rng.normal(size=prior.layout.size)

    def lab(builds):
        return xyz_to_lab(prior.layout.prints(parameters, 1.0 - builds / 255.0).xyz)

    return lab


def read(lab, builds, *, noise=0.2, seed=0):
    rng = np.random.default_rng(seed)
    seen = lab(builds) + rng.normal(size=(len(builds), 3)) * noise / np.sqrt(3)
    count = len(builds)
    return Readings(
        drive=Drive.RGB,
        builds=builds,
        xyz=lab_to_xyz(seen),
        sheet=np.zeros(count, dtype=np.int_),
        noise=np.full(count, max(noise, 0.05)),
    )


@pytest.fixture(scope="module")
def sheet():
    return scouting_set(Drive.RGB, InkPolicy(), 40)


@pytest.fixture(scope="module")
def probes():
    return np.random.default_rng(8).uniform(0, 255, (150, 3))


KINDS = {"screen": screen_prior, "inks": mixed_inks_prior}


@pytest.fixture(scope="module", params=list(KINDS))
def kind(request):
    """A device of a kind, and its model from one sheet."""
    prior = KINDS[request.param]()
    lab = own_press(prior)
    readings = read(lab, scouting_set(Drive.RGB, InkPolicy(), 40))
    return prior, lab, readings, fit(readings)


def test_a_screen_that_prints_as_it_shows_is_srgb_itself():
    """Without floor, on the perfect white, the first kind is IEC 61966-2-1 under D50."""
    rgb = np.random.default_rng(1).uniform(0.01, 1.0, (50, 3))
    parameters = np.concatenate([np.zeros(3), [-40.0], np.zeros(5)])
    lab = xyz_to_lab(Screen().prints(parameters, 1.0 - rgb).xyz)
    assert delta_e_2000(lab, srgb_to_lab(rgb)).max() < 1e-6


RULES = np.array([0.7, 0.7, 0.5, -0.5, 0.0, 0.0, *(0.0,) * 6])
SPREADS = np.array([0.6, 0.6, 0.6, 0.6, 0.4, 0.1, *(0.1,) * 6])


def drawn_rules(seed, wider=1.0):
    """Return a driver's rules (12,): black, tones, what each ink spares the others."""
    return RULES + wider * SPREADS * np.random.default_rng(seed).normal(size=12)


@given(st.lists(st.floats(0.02, 0.98), min_size=3, max_size=3), st.integers(0, 50))
@settings(max_examples=25, deadline=None)
def test_mixed_inks_know_their_derivatives(nominal, seed):
    rules = drawn_rules(seed)
    at = np.array([nominal])
    mixed = mix_inks(rules, at)
    for channel, step in enumerate(1e-6 * np.eye(3)):
        numeric = (mix_inks(rules, at + step).inks - mix_inks(rules, at - step).inks) / 2e-6
        assert mixed.by_coverage[:, :, channel] == pytest.approx(numeric, abs=1e-6)
    for rule, step in enumerate(1e-6 * np.eye(12)):
        numeric = (mix_inks(rules + step, at).inks - mix_inks(rules - step, at).inks) / 2e-6
        assert mixed.by_rule[:, :, rule] == pytest.approx(numeric, abs=1e-6)


@given(st.lists(st.floats(0.0, 1.0), min_size=3, max_size=3), st.integers(0, 50))
@example([0.0, 0.0, 0.0], 39)
@settings(max_examples=40, deadline=None)
def test_mixed_inks_are_inks(nominal, seed):
    """Between nothing and solid, with hardly any black where one of the three is not there."""
    rules = drawn_rules(seed, 1.7)
    inks = mix_inks(rules, np.array([nominal])).inks[0]
    assert (inks >= 0.0).all()
    assert (inks <= 1.0).all()
    plain = np.concatenate([rules[:4], np.zeros(8)])
    assert (mix_inks(plain, np.array([nominal])).inks[0, :3] <= np.array(nominal) + 0.01).all()
    rules[6:] = 0.0
    inks = mix_inks(rules, np.array([nominal])).inks[0]
    without = mix_inks(rules, np.array([[nominal[0], nominal[1], 0.0]])).inks[0]
    assert without[3] <= inks[3] + 1e-12
    # The power mean lies below the geometric one, which is tiny where a channel is not there.
    most, gamma = 1.0 / (1.0 + np.exp(-rules[2])), np.exp(rules[0])
    geometric = (0.001 / 1.001) ** (1.0 / 3.0)
    assert without[3] <= most * geometric**gamma + 1e-12


def test_an_ink_that_spares_others_leaves_what_they_bring():
    """Full cyan that brings a fifth of magenta's colour leaves a fifth of the magenta out."""
    rules = RULES.copy()
    rules[2] = -30.0  # no black
    rules[6:] = [0.0, 0.0, 0.2, 0.0, 0.0, 0.0]  # magenta, for cyan
    inks = mix_inks(rules, np.array([[1.0, 0.7, 0.0], [1.0, 0.1, 0.0], [0.0, 0.7, 0.3]])).inks
    assert inks[:, :3] == pytest.approx(
        np.array([[1.0, 0.5, 0.0], [1.0, 0.0, 0.0], [0.0, 0.7, 0.3]]), abs=0.011
    )


def test_an_ink_may_be_full_before_its_channel_ends():
    rules = RULES.copy()
    rules[2], rules[5] = -30.0, np.log(1.25)
    inks = mix_inks(rules, np.array([[0.4, 0.8, 0.95]])).inks
    assert inks[0, :3] == pytest.approx(np.array([0.5, 1.0, 1.0]), abs=0.011)


@given(st.lists(st.floats(0.05, 0.95), min_size=3, max_size=3), st.integers(0, 50))
@settings(max_examples=25, deadline=None)
def test_a_screen_knows_its_derivatives(nominal, seed):
    prior = screen_prior()
    root = np.linalg.cholesky(prior.covariance)
    parameters = prior.mean + root @ np.random.default_rng(seed).normal(size=prior.layout.size)
    at = np.array([nominal])

    def xyz(parameters, at):
        return prior.layout.prints(parameters, at).xyz

    printed = prior.layout.prints(parameters, at, by_parameter=True)
    # Where the driver leaves the screen's colours, it has a kink.
    contrast, lively = 4.0 * parameters[8], np.exp(parameters[7])
    plain = 1.0 - at[0]
    asked = plain + contrast * plain * at[0] * (plain - 0.5)
    grey = asked @ [0.2126, 0.7152, 0.0722]
    made = grey + lively * (asked - grey)
    assume(all(0.01 < it < 0.99 for it in made))
    for channel, step in enumerate(1e-6 * np.eye(3)):
        numeric = (xyz(parameters, at + step) - xyz(parameters, at - step)) / 2e-6
        assert printed.by_coverage[:, :, channel] == pytest.approx(numeric, abs=1e-4)
    for own, step in enumerate(1e-6 * np.eye(9)[3:]):
        numeric = (xyz(parameters + step, at) - xyz(parameters - step, at)) / 2e-6
        assert printed.by_shared[:, :, own] == pytest.approx(numeric, abs=1e-4)


@pytest.mark.parametrize(
    ("lively", "contrast", "is_said"),
    [(0.0, 0.0, False), (0.15, 0.1, False), (0.2, 0.17, True), (0.3, 0.3, True)],
)
def test_a_driver_that_livens_colours_up_is_told(sheet, lively, contrast, is_said):
    prior = screen_prior()
    parameters = prior.mean.copy()
    parameters[7:9] = lively, contrast

    def lab(builds):
        return xyz_to_lab(prior.layout.prints(parameters, 1.0 - builds / 255.0).xyz)

    findings = {finding.code for finding in fit(read(lab, sheet)).findings}
    assert ("driver-enhances" in findings) is is_said


def test_rules_far_astray_meet_no_overflow():
    at = np.array([[0.0, 0.0, 0.0], [1.0, 1.0, 1.0], [0.0, 0.5, 1.0]])
    for rules in ([3.0, 9.0, 20.0, 20.0, 9.0, 9.0], [-3.0, -9.0, -20.0, -20.0, -9.0, -9.0]):
        for sparing in (-2.0, 2.0):
            mixed = mix_inks(np.array([*rules, *(sparing,) * 6]), at)
            parts = mixed.inks, mixed.by_coverage, mixed.by_rule
            assert all(np.isfinite(it).all() for it in parts)


def test_the_residual_sees_light_tones_stretched():
    t = np.linspace(0, 1, 21)[:, None]
    places, slopes = stretched(t)
    assert places[0] == 0.0
    assert places[-1] == pytest.approx(1.0)
    assert slopes[0] == pytest.approx(3.0 * slopes[-1])
    numeric = (stretched(t + 1e-6)[0] - stretched(t - 1e-6)[0]) / 2e-6
    assert slopes == pytest.approx(numeric, rel=1e-6)


def test_a_device_is_known_for_what_it_is(kind, probes):
    prior, lab, _, model = kind
    assert model.posterior.prior.layout == prior.layout
    error = delta_e_2000(model.predict_lab(probes), lab(probes))
    assert np.median(error) < 0.5
    assert np.mean(error <= model.bound(probes)) >= 0.95
    # This device never wanders from sheet to sheet; of one sheet that can't be known.
    assert np.median(model.bound(probes)) < np.hypot(5.0 * np.percentile(error, 95), 1.5)


def test_its_own_readings_come_back_within_noise(kind):
    _, _, readings, model = kind
    apart = delta_e_2000(model.predict_lab(readings.builds), xyz_to_lab(readings.xyz))
    assert np.sqrt(np.mean(apart**2)) < 1.5 * 0.2


def test_the_jacobian_is_that_of_the_prediction(kind):
    model = kind[3]
    builds = np.random.default_rng(5).uniform(10, 245, (12, 3))
    step = 1e-3
    numeric = [
        (model.predict_lab(builds + step * e) - model.predict_lab(builds - step * e)) / (2 * step)
        for e in np.eye(3)
    ]
    assert model.jacobian_lab(builds) == pytest.approx(np.stack(numeric, axis=-1), abs=2e-3)


def test_greys_rise(kind):
    greys = np.repeat(np.linspace(0.0, 255.0, 40)[:, None], 3, axis=1)
    assert (np.diff(kind[3].predict_lab(greys)[:, 0]) > 0).all()


@given(st.lists(st.floats(0, 240), min_size=3, max_size=3), st.integers(0, 2), st.floats(5, 15))
@settings(max_examples=25, deadline=None)
def test_more_light_in_never_darkens_beyond_noise(kind, build, channel, more):
    model = kind[3]
    builds = np.array([build, build])
    builds[1, channel] += more
    before, after = model.predict_lab(builds)[:, 0]
    assert before - after < 0.3 + model.bound(builds).sum()


def test_the_same_readings_in_any_order_give_the_same_bytes(kind, probes):
    _, _, readings, model = kind
    order = np.random.default_rng(2).permutation(len(readings.builds))
    shuffled = replace(
        readings,
        builds=readings.builds[order],
        xyz=readings.xyz[order],
        sheet=readings.sheet[order],
        noise=readings.noise[order],
    )
    again = fit(shuffled)
    assert again.predict_lab(probes).tobytes() == model.predict_lab(probes).tobytes()
    assert again.bound(probes).tobytes() == model.bound(probes).tobytes()


@pytest.mark.parametrize(("count", "at_least"), [(1, 4.0), (3, 4.0), (8, 3.0)])
def test_few_readings_give_a_wide_bound_that_holds(kind, probes, sheet, count, at_least):
    prior, lab, _, _ = kind
    model = fit(read(lab, sheet[:count]))
    error = delta_e_2000(model.predict_lab(probes), lab(probes))
    bound = model.bound(probes)
    # A device drawn at random from mixed inks has tinted greys: by its paper alone no one would
    # guess that, and few real drivers do it.
    guessed = count == 1 and isinstance(prior.layout, MixedInks)
    assert np.mean(error <= bound) >= (0.5 if guessed else 0.9)
    assert np.median(bound) > at_least
    assert model.bound(sheet[:1])[0] < 2.0


def test_more_readings_make_it_surer(kind, probes, sheet):
    medians = [np.median(fit(read(kind[1], sheet[:n])).bound(probes)) for n in (1, 12, 40)]
    assert medians[0] > medians[1] > medians[2]


def test_of_a_device_that_only_its_paper_is_known_of_grey_is_grey():
    """The readings can't tell the kind yet: a screen's colours are the better guess."""
    paper = np.full((1, 3), 255.0)
    model = fit(read(lambda builds: np.tile(PAPER, (len(builds), 1)), paper, noise=2.0))
    assert isinstance(model.posterior.prior.layout, Screen)
    greys = np.repeat(np.arange(30.0, 256.0, 25.0)[:, None], 3, axis=1)
    lab = model.predict_lab(greys)
    assert np.hypot(*(lab[:, 1:] - lab[-1, 1:] * lab[:, :1] / lab[-1, 0]).T).max() < 2.0
    shown = srgb_to_lab(np.array([[0.8, 0.55, 0.3]]))[0]
    assert delta_e_2000(model.predict_lab(np.array([[204.0, 140.25, 76.5]]))[0], shown) < 8.0
    assert model.bound(greys[4:5])[0] > 10.0


def test_a_press_in_cmyk_is_of_one_kind():
    assert [type(it.layout) for it in populations(Drive.CMYK)] == [Layout]
    assert [type(it.layout) for it in populations(Drive.RGB)] == [Screen, MixedInks]


def test_a_device_that_ignores_its_channels_is_remarked_on(sheet):
    def grey_card(builds):
        return np.tile([55.0, 1.0, 2.0], (len(builds), 1))

    model = fit(read(grey_card, sheet, noise=0.05))
    assert "all-alike" in {finding.code for finding in model.findings}
    assert np.isfinite(model.predict_lab(sheet)).all()
    assert delta_e_2000(model.predict_lab(sheet), grey_card(sheet)).max() < 1.0


def test_a_negative_is_learned_too(sheet, probes):
    """A device whose channels run backwards is no kind that is known, and says how sure it is."""

    def negative(builds):
        return srgb_to_lab((255.0 - builds) / 255.0) * 0.9 + [5.0, 0.0, 0.0]

    model = fit(read(negative, sheet))
    error = delta_e_2000(model.predict_lab(probes), negative(probes))
    assert np.mean(error <= model.bound(probes)) >= 0.8
    assert np.median(model.bound(probes)) > 2.0


def test_swapped_swatches_are_named(kind, sheet):
    readings = kind[2]
    paper, solid = 0, 3
    xyz = readings.xyz.copy()
    xyz[[paper, solid]] = xyz[[solid, paper]]
    model = fit(replace(readings, xyz=xyz))
    assert {suspect.index for suspect in model.suspects} == {paper, solid}


def test_it_takes_up_where_a_kin_left_off(kind, sheet, probes):
    """The same driver on a creamier, duller stock, from eight swatches."""
    _, lab, _, model = kind

    def elsewhere(builds):
        return lab(builds) * [0.96, 0.95, 0.95] + [0.0, 0.5, 5.0]

    few = read(elsewhere, sheet[:8])
    alone, helped = fit(few), fit(few, prior=model)
    truth = elsewhere(probes)
    error = delta_e_2000(helped.predict_lab(probes), truth)
    assert np.median(error) < 0.7 * np.median(delta_e_2000(alone.predict_lab(probes), truth))
    assert np.mean(error <= helped.bound(probes)) >= 0.9
