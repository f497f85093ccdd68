"""The search of a match: from starting points down to the nearest colour, many aims in step."""

from collections.abc import Sequence
from dataclasses import dataclass
from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray

from inkaccord.colour.arrays import Array
from inkaccord.colour.builds import FULL_SCALE, Drive
from inkaccord.colour.delta_e import delta_e_2000, delta_e_2000_slopes
from inkaccord.colour.matching.box_qp import solve_box_qp
from inkaccord.colour.predictor import Predictor

STAGES = ((4.0, 4, 2), (0.3, 20, 1), (0.03, 2, 1))
"""Pull of the policy (ΔE00 for a whole channel), rounds, and how many ends of each aim go on.

Builds of one colour lie in a narrow curved valley: a strong pull brings the search to the right end
of it, a weaker one lets it follow the floor, and the last leaves next to no bias.
"""
_SMALL_STEP, _SMALL_GAIN = 3e-4, 3e-6
"""A search ends at steps below 0.03 % of ink, or that promise less than this in ½ ΔE00²."""
_FAR, _NEARER = 0.1, 0.02
"""An end farther than this from its aim is sought again without a strong pull, and given up for one
that is so much nearer, ΔE00."""


@dataclass(frozen=True, eq=False)
class Starts:
    """Builds over the whole reach of a pair, with their colours: where searches start.

    Attributes
    ----------
    drive
        How the device is driven.
    builds
        (t, k), 0 to 1, within the policy's limits.
    lab
        (t, 3).
    """

    drive: Drive
    builds: Array
    lab: Array

    @classmethod
    def of(cls, model: Predictor, lower: Array, upper: Array, cap: float) -> "Starts":
        """Return the starts of a model within limits; made once, and kept as long as the model."""
        made = _made.setdefault(model, {})
        limits = (*lower.tolist(), *upper.tolist(), cap)
        if limits not in made:
            made[limits] = cls._over(model, lower, upper, cap)
        return made[limits]

    @classmethod
    def _over(cls, model: Predictor, lower: Array, upper: Array, cap: float) -> "Starts":
        if model.drive is Drive.RGB:
            levels = [np.linspace(0.0, 1.0, 6)] * 3
        else:
            levels = [np.array([0.0, 0.3, 0.65, 1.0])] * 3 + [np.array([0.0, 0.35, 0.7, 1.0])]
        grid = np.stack(np.meshgrid(*levels, indexing="ij"), axis=-1).reshape(-1, len(upper))
        grid = grid * (upper - lower)
        total, room = grid.sum(axis=1), cap - lower.sum()
        over = total > room
        grid[over] *= (room / total[over])[:, None]
        builds = np.unique(lower + grid, axis=0)
        return cls(model.drive, builds, model.predict_lab(builds * FULL_SCALE[model.drive]))

    def nearest(self, aims: Array) -> Array:
        """Return (m, s, k) the nearest starts to each aim: at each level of black for CMYK."""
        distance = delta_e_2000(self.lab[None, :, :], aims[:, None, :])
        if self.drive is Drive.RGB:
            return np.asarray(self.builds[np.argsort(distance, axis=1, kind="stable")[:, :3]])
        most = self.builds[:, 3].max()
        level = np.digitize(self.builds[:, 3], [0.1 * most, 0.5 * most])
        picks = [
            np.where(level == number, distance, np.inf).argmin(axis=1)
            for number in np.unique(level).tolist()
        ]
        return np.asarray(self.builds[np.stack(picks, axis=1)])


_made: WeakKeyDictionary[Predictor, dict[tuple[float, ...], Starts]] = WeakKeyDictionary()
"""By model and limits."""


@dataclass(frozen=True, eq=False)
class Search:
    """What the descent of a chunk of aims shares. Builds are 0 to 1 here."""

    model: Predictor
    aims: Array
    lower: Array
    upper: Array
    cap: float
    goal: Array

    @property
    def top(self) -> float:
        """The full scale of a channel."""
        return FULL_SCALE[self.model.drive]

    def steps(self, x: Array, which: NDArray[np.int_]) -> tuple[Array, Array]:
        """Return residuals (n, 3) and their derivatives by the channels (n, 3, k)."""
        lab, by_build = self.model.lab_and_jacobian(x * self.top)
        residual, by_lab = delta_e_2000_slopes(lab, self.aims[which])
        return residual, by_lab @ by_build * self.top


def descend(
    search: Search,
    which: NDArray[np.int_],
    x: Array,
    upper: Array,
    *,
    pull: float,
    rounds: int,
) -> tuple[Array, Array]:
    """Go down from (n, k) starts; return the ends and the ΔE00 there."""
    x = x.copy()
    wished = np.isfinite(search.goal[which])
    goal = np.where(wished, search.goal[which], 0.0)
    weight = np.where(wished, pull**2, 1e-6)
    residual, slopes = search.steps(x, which)
    trust = np.full(len(x), 0.3)
    todo = np.arange(len(x))
    for _ in range(rounds):
        now, wanted, heavy = x[todo], goal[todo], weight[todo]
        a, r = slopes[todo], residual[todo]
        gradient = np.einsum("nri,nr->ni", a, r) + heavy * (now - wanted)
        hessian = np.einsum("nri,nrj->nij", a, a)
        hessian += (heavy + 1e-7)[:, :, None] * np.eye(x.shape[1])
        step = solve_box_qp(
            hessian,
            gradient,
            np.maximum(search.lower - now, -trust[todo, None]),
            np.minimum(upper[todo] - now, trust[todo, None]),
            np.maximum(search.cap - now.sum(axis=1), 0.0),
        )
        expected = -np.einsum("ni,ni->n", gradient, step)
        expected -= 0.5 * np.einsum("ni,nij,nj->n", step, hessian, step)
        size = np.abs(step).max(axis=1)
        going = (size > _SMALL_STEP) & (expected > _SMALL_GAIN)
        todo, now, wanted, heavy, r, step, expected, size = (
            part[going] for part in (todo, now, wanted, heavy, r, step, expected, size)
        )
        if not len(todo):
            break
        tried = np.clip(now + step, search.lower, upper[todo])
        new_r, new_a = search.steps(tried, which[todo])
        gain = 0.5 * ((r**2).sum(axis=1) - (new_r**2).sum(axis=1))
        gain += 0.5 * (heavy * ((now - wanted) ** 2 - (tried - wanted) ** 2)).sum(axis=1)
        kept = todo[gain > 0]
        x[kept], residual[kept], slopes[kept] = tried[gain > 0], new_r[gain > 0], new_a[gain > 0]
        ratio = gain / expected
        trust[todo] = np.where(
            ratio > 0.7, np.maximum(trust[todo], 2.0 * size), np.where(ratio < 0.3, 0.4, 1.0) * size
        )
    return x, np.sqrt((residual**2).sum(axis=1))


def best_ends(
    search: Search, which: NDArray[np.int_], starts: Array, upper: Array
) -> tuple[Array, Array]:
    """Return for each aim the end nearest in ΔE00, of equal ones what the policy prefers.

    ``starts`` is (m, s, k) and ``upper`` (m, k) for the m aims ``which``. Returns builds (m, k)
    and ΔE00 (m,).
    """
    best, cost = _ends(search, which, starts, upper, STAGES)
    far = np.flatnonzero(cost > _FAR)
    if len(far):
        # A strong pull may have closed the only valley that leads to the aim: a deep colour near
        # the total ink limit needs the black that the policy would rather do without.
        other, less = _ends(search, which[far], starts[far], upper[far], STAGES[1:])
        nearer = less < cost[far] - _NEARER
        best[far[nearer]], cost[far[nearer]] = other[nearer], less[nearer]
    return best, cost


def _ends(
    search: Search,
    which: NDArray[np.int_],
    starts: Array,
    upper: Array,
    stages: Sequence[tuple[float, int, int]],
) -> tuple[Array, Array]:
    rows = np.arange(len(which))
    ends = np.minimum(starts, upper[:, None, :])
    for pull, rounds, left in stages:
        tries = ends.shape[1]
        flat, cost = descend(
            search,
            np.repeat(which, tries),
            ends.reshape(-1, ends.shape[2]),
            np.repeat(upper, tries, axis=0),
            pull=pull,
            rounds=rounds,
        )
        ends, cost = flat.reshape(ends.shape), cost.reshape(-1, tries)
        away = np.nansum((ends - search.goal[which][:, None, :]) ** 2, axis=2)
        order = np.argsort(cost**2 + pull**2 * away, axis=1, kind="stable")[:, :left]
        ends, cost = ends[rows[:, None], order], cost[rows[:, None], order]
    return ends[:, 0], cost[:, 0]
