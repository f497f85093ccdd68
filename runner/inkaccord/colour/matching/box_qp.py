"""Many small quadratic programs at once: a box and one cap on the sum.

Every step of the match is such a program: bounds of each channel and the total ink limit.
"""

import numpy as np
from numpy.typing import NDArray

from inkaccord.colour.arrays import Array

_TINY = 1e-12


def solve_box_qp(hessian: Array, gradient: Array, lower: Array, upper: Array, cap: Array) -> Array:
    """Return the minimisers of ½ pᵀHp + gᵀp with lower ≤ p ≤ upper and Σp ≤ cap.

    A primal active-set method (J. Nocedal, S. Wright, Numerical Optimization, 2nd ed. 2006,
    algorithm 16.3), all programs in step.

    Parameters
    ----------
    hessian
        (n, k, k), positive definite.
    gradient
        (n, k).
    lower, upper
        (n, k), lower ≤ 0 ≤ upper: p = 0 is allowed, where the search starts.
    cap
        (n,), not negative; infinite where there is none.

    Returns
    -------
    Array
        (n, k). After 4 k + 4 rounds the best point found, which always keeps the limits.
    """
    count, size = gradient.shape
    p = np.zeros((count, size))
    at_lower = (lower >= -_TINY) & (gradient > 0)
    at_upper = (upper <= _TINY) & (gradient < 0)
    capped = np.zeros(count, dtype=bool)
    todo = np.arange(count)
    for _ in range(4 * size + 4):
        h, g, now, low, high, most = (
            part[todo] for part in (hessian, gradient, p, lower, upper, cap)
        )
        lo, up, cut = at_lower[todo], at_upper[todo], capped[todo]
        free = ~(lo | up)
        cut &= free.any(axis=1)
        goal, multiplier = _equality_solution(h, g, now, free, cut, most)
        direction = goal - now

        room = np.where(direction > _TINY, high - now, np.where(direction < -_TINY, low - now, 0.0))
        moving = free & (np.abs(direction) > _TINY)
        ratio = np.where(moving, room / np.where(moving, direction, 1.0), np.inf)
        rise = direction.sum(axis=1)
        bites = ~cut & (rise > _TINY)
        left = most - now.sum(axis=1)
        cap_ratio = np.where(bites, left / np.where(bites, rise, 1.0), np.inf)
        first = ratio.argmin(axis=1)
        rows = np.arange(len(todo))
        nearest = ratio[rows, first]
        length = np.clip(np.minimum(nearest, cap_ratio), 0.0, 1.0)
        now = np.clip(now + length[:, None] * direction, low, high)

        blocked = length < 1.0
        by_cap = blocked & (cap_ratio <= nearest)
        by_box = blocked & ~by_cap
        up[rows[by_box], first[by_box]] = direction[rows, first][by_box] > 0
        lo[rows[by_box], first[by_box]] = direction[rows, first][by_box] <= 0
        cut |= by_cap

        # Where the whole step was taken: let go of the limit that holds back most.
        slope = np.einsum("nij,nj->ni", h, now) + g + multiplier[:, None] * cut[:, None]
        pull = np.where(lo, -slope, np.where(up, slope, -np.inf))
        pull = np.concatenate([pull, np.where(cut, -multiplier, -np.inf)[:, None]], axis=1)
        worst = pull.argmax(axis=1)
        release = ~blocked & (pull[rows, worst] > 1e-9)
        box_release = release & (worst < size)
        lo[rows[box_release], worst[box_release]] = False
        up[rows[box_release], worst[box_release]] = False
        cut &= ~(release & (worst == size))

        p[todo], at_lower[todo], at_upper[todo], capped[todo] = now, lo, up, cut
        todo = todo[blocked | release]
        if not len(todo):
            break
    return p


def _equality_solution(
    h: Array,
    g: Array,
    now: Array,
    free: NDArray[np.bool_],
    cut: NDArray[np.bool_],
    most: Array,
) -> tuple[Array, Array]:
    """Return the minimisers with held channels kept and the cap met where ``cut``."""
    count, size = g.shape
    system = np.zeros((count, size + 1, size + 1))
    right = np.zeros((count, size + 1))
    system[:, :size, :size] = np.where(free[:, :, None], h, np.eye(size))
    system[:, :size, size] = free & cut[:, None]
    system[:, size, :size] = cut[:, None]
    system[:, size, size] = ~cut
    right[:, :size] = np.where(free, -g, now)
    right[:, size] = np.where(cut, np.where(np.isfinite(most), most, 0.0), 0.0)
    solution = np.linalg.solve(system, right[:, :, None])[:, :, 0]
    return solution[:, :size], solution[:, size]
