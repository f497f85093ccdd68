from itertools import pairwise

import numpy as np
import pytest

from inkaccord.colour.agreement.common_aim import common_aim, trade_curve
from inkaccord.colour.builds import Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.errors import OrderError

GREEN = np.array([50.0, -58.0, 26.0])


@pytest.fixture(scope="module")
def printers(make_printer):
    return [make_printer(), make_printer(strength=0.5, paper=(84, 3, 12))]


def test_colours_in_reach_need_no_common_aim(printers):
    found = common_aim(printers, [60.0, 10.0, 10.0], [InkPolicy()] * 2, 2.0)
    assert found.keeps
    assert found.mean < 0.3


def test_the_limit_is_kept_at_the_smallest_cost(printers):
    """Against every pair of colours of two dense sets of builds."""
    policies = [InkPolicy(whole=False, black_free_above=None, spare_ink_within=0)] * 2
    found = common_aim(printers, GREEN, policies, 3.0)
    assert found.keeps
    assert found.apart <= 3.01

    rng = np.random.default_rng(1)
    labs = []
    for printer, near in zip(printers, found.matches, strict=True):
        wide = rng.uniform(-0.3, 1.3, (3000, 4)).clip(0, 1) * 100
        close = (near.builds[0] + rng.normal(0, 8, (3000, 4))).clip(0, 100)
        builds = np.concatenate([wide, close])
        lab = printer.predict_lab(builds[builds.sum(axis=1) <= 280])
        labs.append(lab[np.argsort(delta_e_2000(lab, GREEN))[:1200]])
    apart = delta_e_2000(labs[0][:, None], labs[1][None])
    cost = 0.5 * (delta_e_2000(labs[0], GREEN)[:, None] + delta_e_2000(labs[1], GREEN)[None])
    assert found.mean <= cost[apart <= 3.0].min() + 0.05


def test_the_curve_trades_one_for_the_other(printers):
    curve = trade_curve(printers, GREEN, [InkPolicy()] * 2, limits=[1.0, 3.0, 5.0])
    assert [point.limit for point in curve[:-1]] == [1.0, 3.0, 5.0]
    assert all(point.keeps for point in curve)
    apart, mean = [p.apart for p in curve], [p.mean for p in curve]
    assert apart == sorted(apart)
    # Closer together is farther from the aim, up to the rounding to whole percent.
    assert all(a >= b - 0.3 for a, b in pairwise(mean))
    assert mean[0] > mean[-1] + 0.5
    assert curve[-1].apart > 5.0


def test_pieces_that_can_go_together(make_printer, printers):
    """Two pairs reach the aim, one does not: the two move alike, and only as far as needed."""
    able, weak = printers
    models = [able, able, make_printer(strength=1.1), weak]
    found = common_aim(models, GREEN * [1, 0.8, 0.8], [InkPolicy()] * 4, 2.0)
    assert found.keeps
    assert np.array_equal(found.matches[0].builds, found.matches[1].builds)
    assert delta_e_2000(found.labs[0], found.labs[2]) < 1.0
    assert found.to_aim[3] >= found.to_aim[0]


def test_cmyk_and_rgb_devices_together(make_printer):
    models = [make_printer(strength=0.6), make_printer(Drive.RGB)]
    policies = [InkPolicy(total_ink_limit=200), InkPolicy()]
    found = common_aim(models, [48.0, 60.0, 45.0], policies, 2.0)
    assert found.keeps
    for one, model, policy in zip(found.matches, models, policies, strict=True):
        assert policy.allows(one.builds, model.drive).all()
        assert np.array_equal(one.builds, np.rint(one.builds))


def test_bad_arguments(printers):
    with pytest.raises(OrderError, match="limit"):
        common_aim(printers, GREEN, [InkPolicy()] * 2, 0.0)
    with pytest.raises(OrderError, match="policy"):
        common_aim(printers, GREEN, [InkPolicy()], 2.0)
