import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inkaccord.colour.agreement.differences import Papers, agreement, differences, least_sure
from inkaccord.colour.agreement.verdicts import Verdict
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.spaces import lab_to_xyz, paper_relative_lab

LABS = np.array([[40.0, -30, 10], [40.5, -30, 11], [46.0, -22, 8]])


def _table(bounds, **more):
    return agreement(LABS, bounds, between_tolerance=2.0, aim_tolerance=3.0, **more)


def test_the_table_holds_the_differences():
    table = _table([0.3] * 3, aim_lab=LABS[0])
    assert np.allclose(table.between.delta_e_00, delta_e_2000(LABS[:, None], LABS[None]))
    assert table.to_aim is not None
    assert table.to_aim.delta_e_00[0] == 0
    assert np.isclose(table.apart, table.between.delta_e_00[0, 2])
    assert np.isclose(table.between.uncertainty[0, 1], 0.3 * np.sqrt(2))
    assert np.all(np.diag(table.between.uncertainty) == 0)


def test_the_verdicts():
    verdicts = _table([0.3] * 3).between.verdicts
    assert verdicts[0, 1] is Verdict.INSIDE
    assert verdicts[0, 2] is Verdict.OUTSIDE
    assert verdicts[0, 0] is Verdict.INSIDE
    assert _table([0.3] * 3).verdict is Verdict.OUTSIDE
    # The same colours, hardly known.
    assert _table([4.0] * 3).between.verdicts[0, 1] is Verdict.UNCERTAIN
    assert _table([8.0] * 3).between.verdicts[0, 2] is Verdict.UNCERTAIN


def test_one_print_agrees_with_itself_however_uncertain():
    table = _table([5.0, 5.0, 5.0], same=["laser 1", "laser 1", "press 2"])
    assert table.between.delta_e_00[0, 1] == 0
    assert table.between.verdicts[0, 1] is Verdict.INSIDE
    assert table.between.verdicts[0, 2] is not Verdict.INSIDE


def test_an_uncertain_aim_makes_the_verdict_uncertain():
    sure = _table([0.2] * 3, aim_lab=LABS[0])
    picked = _table([0.2] * 3, aim_lab=LABS[0], aim_bound=5.0)
    assert sure.to_aim is not None
    assert picked.to_aim is not None
    assert sure.to_aim.verdicts[1] is Verdict.INSIDE
    assert picked.to_aim.verdicts[1] is Verdict.UNCERTAIN


def test_relative_to_the_papers():
    papers = np.array([[95.0, 0, -2], [95.0, 0, -2], [80.0, 6, 18]])
    table = _table([0.3] * 3, papers=Papers(papers, np.zeros(3)))
    assert table.between_relative is not None
    assert np.allclose(table.between_relative.uncertainty, table.between.uncertainty)
    relative = np.array([paper_relative_lab(*both) for both in zip(LABS, papers, strict=True)])
    expected = delta_e_2000(relative[0], relative[2])
    assert np.isclose(table.between_relative.delta_e_00[0, 2], expected)
    # What ICC.1's media-relative colorimetry says, by hand.
    by_hand = lab_to_xyz(LABS[2]) / lab_to_xyz(papers[2]) * np.array([96.422, 100, 82.521])
    assert np.allclose(lab_to_xyz(relative[2]), by_hand)


def test_an_unknown_paper_leaves_the_others_known():
    papers = np.array([[95.0, 0, -2], [np.nan] * 3, [80.0, 6, 18]])
    relative = _table([0.3] * 3, papers=Papers(papers, np.full(3, 0.5))).between_relative
    assert relative is not None
    assert np.isnan(relative.delta_e_00[0, 1])
    assert np.isfinite(relative.delta_e_00[0, 2])
    assert np.isfinite(relative.uncertainty[0, 2])


def test_what_an_uncertain_paper_adds_against_chance():
    """Against a simulation: papers off by equal errors whose 95th percentile is their bound."""
    papers = np.array([[95.0, 0, -2], [93.0, -1, 4], [70.0, 8, 20]])
    bounds = np.array([1.0, 2.0, 3.0])
    seen, added = Papers(papers, bounds).seen(LABS)
    rng = np.random.default_rng(5)
    for at in range(3):
        off = rng.normal(0, bounds[at] / np.sqrt(7.814728), (20_000, 3))
        moved = delta_e_2000(seen[at], paper_relative_lab(LABS[at], papers[at] + off))
        # The error is no longer equal in all directions, so a 95 % bound of it is a rough one.
        assert added[at] == pytest.approx(float(np.percentile(moved, 95)), rel=0.3)


def test_to_an_aim_that_is_a_print_on_a_paper():
    papers = Papers(np.array([[95.0, 0, -2], [95.0, 0, -2], [80.0, 6, 18]]), np.zeros(3))
    aim_paper = Papers(np.array([[95.0, 0, -2]]), np.zeros(1))
    table = _table([0.3] * 3, aim_lab=LABS[0], papers=papers, aim_paper=aim_paper)
    assert table.to_aim_relative is not None
    assert table.to_aim_relative.delta_e_00[0] == pytest.approx(0, abs=1e-9)
    assert table.between_relative is not None
    assert np.isclose(table.to_aim_relative.delta_e_00[2], table.between_relative.delta_e_00[0, 2])
    assert _table([0.3] * 3, aim_lab=LABS[0], papers=papers).to_aim_relative is None


@pytest.mark.parametrize(("distance", "bound"), [(0.0, 1.5), (1.0, 1.0), (2.0, 1.0), (2.5, 3.0)])
def test_the_probability_against_chance(distance, bound):
    """Against a simulation: errors of equal spread whose 95th percentile is the bound."""
    rng = np.random.default_rng(7)
    errors = rng.normal(0, bound / np.sqrt(7.814728), (200_000, 3))
    assert abs(np.percentile(np.linalg.norm(errors, axis=1), 95) - bound) < 0.01
    inside = (np.linalg.norm(errors + np.array([distance, 0, 0]), axis=1) <= 2.0).mean()
    assert abs(float(differences(distance, bound, 2.0).within) - inside) < 0.005


@pytest.mark.slow
@given(st.floats(0, 40), st.floats(0, 20), st.floats(0.1, 10))
@settings(max_examples=200, deadline=None)
def test_the_probability_is_one(distance, bound, tolerance):
    found = differences(distance, bound, tolerance)
    assert 0 <= found.within <= 1
    if distance > tolerance:
        assert found.within <= 0.6
    assert 0 <= found.beyond <= 1
    assert not (found.within >= 0.95 and found.beyond >= 0.95)
    closer = differences(0.9 * distance, bound, tolerance)
    assert closer.within >= found.within - 1e-6


def test_knowing_nothing_is_no_verdict():
    """However far apart two guesses are: what is hardly known is never surely outside."""
    for distance in (0.0, 2.0, 8.0):
        assert differences(distance, 12.0, 2.0).verdicts.item() is Verdict.UNCERTAIN


def test_surely_outside_is_seldom_wrong():
    """Prints just at the tolerance are called outside in one case of a hundred."""
    rng = np.random.default_rng(11)
    errors = rng.normal(0, 1.5 / np.sqrt(7.814728), (4000, 3))
    shown = np.linalg.norm(errors + np.array([2.0, 0, 0]), axis=1)
    outside = differences(shown, 1.5, 2.0).verdicts == Verdict.OUTSIDE
    assert abs(outside.mean() - 0.01) < 0.006


def test_certain_differences_are_judged_plainly():
    assert differences(1.99, 0.0, 2.0).verdicts.item() is Verdict.INSIDE
    assert differences(2.01, 0.0, 2.0).verdicts.item() is Verdict.OUTSIDE


def test_the_least_sure_decides():
    assert least_sure([]) is Verdict.INSIDE
    assert least_sure([Verdict.INSIDE, Verdict.UNCERTAIN]) is Verdict.UNCERTAIN
    assert least_sure([Verdict.UNCERTAIN, Verdict.OUTSIDE]) is Verdict.OUTSIDE
    alone = agreement(LABS[:1], [9.0], between_tolerance=2, aim_tolerance=3)
    assert alone.verdict is Verdict.INSIDE
    assert alone.apart == 0
