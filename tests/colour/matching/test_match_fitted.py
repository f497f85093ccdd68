"""Match on fitted press models, as an order uses it."""

import numpy as np
import pytest

from inkaccord.colour.builds import FULL_SCALE, Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.ink_policy import Black, InkPolicy
from inkaccord.colour.matching.match import match
from inkaccord.colour.press.model import fit
from inkaccord.colour.readings import Readings
from inkaccord.colour.sampling.planning import scouting_set

POLICY = InkPolicy(black_free_above=None)


@pytest.fixture(scope="module", params=list(Drive))
def fitted(request, make_printer):
    """A printer, the builds that were read of it, and the model fitted to them."""
    printer = make_printer(request.param)
    builds = scouting_set(request.param, POLICY, 40)
    count = len(builds)
    readings = Readings(
        drive=request.param,
        builds=builds,
        xyz=printer.predict_xyz(builds),
        sheet=np.zeros(count, dtype=int),
        noise=np.full(count, 0.2),
    )
    return printer, builds, fit(readings)


def test_the_colour_of_a_printed_swatch_is_matched_by_it_or_an_equal(fitted):
    printer, builds, model = fitted
    aims = printer.predict_lab(builds)
    found = match(model, aims, POLICY)
    for aim, build, one in zip(aims, builds, found, strict=True):
        by_swatch = delta_e_2000(model.predict_lab(build[None])[0], aim)
        assert one.delta_e_00 <= by_swatch + 0.35 or tuple(build) == one.build.values


def test_the_swatch_itself_stays_when_near(fitted):
    _, builds, model = fitted
    near = POLICY.model_copy(update={"black": Black.NEAR, "spare_ink_within": 0.0})
    found = match(model, model.predict_lab(builds), near, near=builds)
    assert np.abs(found.builds - builds).max() <= 0.02 * FULL_SCALE[model.drive]
    assert found.delta_e_00.max() < 0.2


def test_what_is_matched_prints_as_predicted(fitted):
    printer, _, model = fitted
    rng = np.random.default_rng(4)
    top = FULL_SCALE[model.drive]
    wanted = rng.uniform(0, 0.65, (40, 4 if model.drive is Drive.CMYK else 3)) * top
    aims = printer.predict_lab(wanted if model.drive is Drive.CMYK else top - wanted)
    found = match(model, aims, POLICY)
    error = delta_e_2000(printer.predict_lab(found.builds), aims)
    assert np.median(error) < 1.0
    inside = delta_e_2000(printer.predict_lab(found.builds), found.predicted_lab) <= found.bound
    assert inside.mean() >= 0.9


def test_out_of_reach_on_a_fitted_model(fitted):
    _, _, model = fitted
    rng = np.random.default_rng(6)
    channels = 4 if model.drive is Drive.CMYK else 3
    dense = rng.uniform(-0.35, 1.35, (30_000, channels)).clip(0, 1) * FULL_SCALE[model.drive]
    if model.drive is Drive.CMYK:
        dense = dense[dense.sum(axis=1) <= POLICY.total_ink_limit]
    lab = model.predict_lab(dense)
    aims = lab[rng.integers(0, len(lab), 20)] * [1, 1.3, 1.3] - [3, 0, 0]
    found = match(model, aims, POLICY.model_copy(update={"whole": False, "spare_ink_within": 0.0}))
    nearest = delta_e_2000(lab[None], aims[:, None]).min(axis=1)
    assert np.all(found.delta_e_00 <= nearest + 0.01)
    assert (~found.in_reach).sum() >= 5
