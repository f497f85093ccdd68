import numpy as np
import pytest
from scipy.optimize import minimize

from inkaccord.colour.matching.box_qp import solve_box_qp


def _problems(count, size, seed):
    rng = np.random.default_rng(seed)
    root = rng.normal(size=(count, 3, size)) * 20
    hessian = np.einsum("nri,nrj->nij", root, root) + 1e-2 * np.eye(size)
    gradient = rng.normal(size=(count, size)) * 50
    lower = -rng.uniform(0, 1, (count, size)) * (rng.random((count, size)) < 0.7)
    upper = rng.uniform(0, 1, (count, size)) * (rng.random((count, size)) < 0.7)
    cap = np.where(rng.random(count) < 0.3, np.inf, rng.uniform(0, 0.8, count))
    cap[: count // 10] = 0.0
    return hessian, gradient, lower, upper, cap


@pytest.mark.parametrize("size", [1, 3, 4])
def test_the_limits_hold_and_the_minimum_is_optimal(size):
    hessian, gradient, lower, upper, cap = _problems(400, size, size)
    p = solve_box_qp(hessian, gradient, lower, upper, cap)
    assert np.all(p >= lower)
    assert np.all(p <= upper)
    assert np.all(p.sum(axis=1) <= cap + 1e-9)
    # Karush-Kuhn-Tucker: no feasible direction goes down. A step of a projected gradient from
    # the answer must not help; the cap's multiplier makes the projection two-fold.
    slope = np.einsum("nij,nj->ni", hessian, p) + gradient
    free = (p > lower + 1e-9) & (p < upper - 1e-9)
    capped = p.sum(axis=1) >= cap - 1e-9
    for i in range(len(p)):
        multiplier = -slope[i][free[i]].mean() if capped[i] and free[i].any() else 0.0
        assert multiplier >= -1e-6
        adjusted = slope[i] + multiplier
        assert np.abs(adjusted[free[i]]).max(initial=0.0) < 1e-5
        if not capped[i]:
            rises = (p[i] <= lower[i] + 1e-9) & (p[i] < upper[i] - 1e-9)
            falls = (p[i] >= upper[i] - 1e-9) & (p[i] > lower[i] + 1e-9)
            assert np.all(adjusted[rises] >= -1e-5)
            assert np.all(adjusted[falls] <= 1e-5)


def test_against_scipy():
    hessian, gradient, lower, upper, cap = _problems(40, 4, 9)
    p = solve_box_qp(hessian, gradient, lower, upper, cap)

    def cost(x, i):
        return 0.5 * x @ hessian[i] @ x + gradient[i] @ x

    for i in range(len(p)):
        limit = [{"type": "ineq", "fun": lambda x, i=i: cap[i] - x.sum()}]
        theirs = minimize(
            cost,
            np.zeros(4),
            args=(i,),
            jac=lambda x, i: hessian[i] @ x + gradient[i],
            bounds=list(zip(lower[i], upper[i], strict=True)),
            constraints=limit if np.isfinite(cap[i]) else [],
            method="SLSQP",
            options={"ftol": 1e-12, "maxiter": 300},
        )
        assert cost(p[i], i) <= theirs.fun + 1e-5 * (1 + abs(theirs.fun))
