"""Match: the builds that print given colours, or the nearest that a pair can print.

A table of builds gives every aim a few starting points. From each, Gauss–Newton steps in a trust
region go down in ΔE00; the metric is taken anew at every step, so that the answer for an aim out of
reach is nearest in ΔE00 and not in some fixed metric. A weak pull towards what the policy prefers
picks one of the many builds that print the same colour. At last whole numbers round the
answer are searched with the model itself.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from inkaccord.colour.box_qp import solve_box_qp
from inkaccord.colour.builds import FULL_SCALE, Build, Drive
from inkaccord.colour.delta_e import delta_e_2000, delta_e_2000_slopes
from inkaccord.colour.ink_policy import Black, InkPolicy
from inkaccord.colour.predictor import Predictor
from inkaccord.colour.rounding import whole_builds
from inkaccord.colour.spaces import lab_to_lch
from inkaccord.errors import OrderError

Array = NDArray[np.float64]

IN_REACH = 0.1
"""An aim counts as in reach when its best unrounded build is this near in ΔE00."""

_STAGES = ((4.0, 4, 2), (0.3, 20, 1), (0.03, 2, 1))
"""Pull of the policy (ΔE00 for a whole channel), rounds, and how many ends of each aim go on.

Builds of one colour lie in a narrow curved valley: a strong pull brings the search to the right end
of it, a weaker one lets it follow the floor, and the last leaves next to no bias.
"""
_SMALL_STEP, _SMALL_GAIN = 3e-4, 3e-6
"""A search ends at steps below 0.03 % of ink, or that promise less than this in ½ ΔE00²."""
_HUE_HOLD = 20.0
"""How much more a hue difference weighs when the hue is to be kept."""
_CHUNK = 256


@dataclass(frozen=True)
class Match:
    """The build for one aim."""

    aim_lab: tuple[float, float, float]
    build: Build
    unrounded: tuple[float, ...]
    predicted_lab: tuple[float, float, float]
    delta_e_00: float
    """From the aim to the predicted colour of ``build``."""
    bound: float
    """The print lies within this ΔE00 of ``predicted_lab`` with 95 % probability."""
    in_reach: bool
    lost_lightness: float
    """L* of the prediction less L* of the aim; the next two likewise."""
    lost_chroma: float
    lost_hue: float
    """ΔH*ab: positive where the prediction is turned to greater hue angles."""


@dataclass(frozen=True, eq=False)
class Matches:
    """The builds for m aims, as arrays; iterate or index for single ones.

    Attributes
    ----------
    aims_lab
        (m, 3).
    builds, unrounded
        (m, k): what to send, and the optimum before whole numbers.
    predicted_lab
        (m, 3) of ``builds``.
    delta_e_00, bound
        (m,): distance to the aim; 95 % bound on the prediction.
    in_reach
        (m,) whether the pair can print the aim (to 0.1 ΔE00, unrounded).
    lost
        (m, 3) ΔL*, ΔC*ab, ΔH*ab from the aim to the prediction.
    """

    drive: Drive
    aims_lab: Array
    builds: Array
    unrounded: Array
    predicted_lab: Array
    delta_e_00: Array
    bound: Array
    in_reach: NDArray[np.bool_]
    lost: Array

    def __len__(self) -> int:
        return len(self.builds)

    def __getitem__(self, index: int) -> Match:
        lightness, chroma, hue = (float(value) for value in self.lost[index])
        return Match(
            aim_lab=_triple(self.aims_lab[index]),
            build=Build(drive=self.drive, values=tuple(self.builds[index].tolist())),
            unrounded=tuple(self.unrounded[index].tolist()),
            predicted_lab=_triple(self.predicted_lab[index]),
            delta_e_00=float(self.delta_e_00[index]),
            bound=float(self.bound[index]),
            in_reach=bool(self.in_reach[index]),
            lost_lightness=lightness,
            lost_chroma=chroma,
            lost_hue=hue,
        )

    def __iter__(self) -> Iterator[Match]:
        return (self[index] for index in range(len(self)))


def match(
    model: Predictor,
    aims_lab: ArrayLike,
    policy: InkPolicy,
    *,
    near: ArrayLike | None = None,
    keep_hue: bool = False,
) -> Matches:
    """Return the builds that print the aims as nearly as the pair can.

    Parameters
    ----------
    model
        What the pair prints.
    aims_lab
        (m, 3) or (3,) CIELAB, D50/2°.
    policy
        Limits of the pair, use of black, whole numbers.
    near
        (m, k) or (k,) builds that the answers should be close to where the colour allows; needed
        for ``Black.NEAR``, and then used for every channel. Otherwise unused.
    keep_hue
        Out of reach: give up lightness and chroma rather than hue.

    Raises
    ------
    OrderError
        ``bad-aim``, ``no-near-build``.

    Notes
    -----
    Deterministic, and each aim's answer is independent of the other aims.
    """
    aims = np.atleast_2d(np.asarray(aims_lab, dtype=np.float64))
    if aims.ndim != 2 or aims.shape[1] != 3 or not np.isfinite(aims).all():
        raise OrderError.of("bad-aim", "an aim is not three CIELAB numbers", hint="L* a* b*")
    top = FULL_SCALE[model.drive]
    upper = policy.upper(model.drive) / top
    cap = policy.total(model.drive) / top
    goal = _preferred(model, policy, near, len(aims), upper)
    table = _starting_table(model, upper, cap)
    table_lab = model.predict_lab(table * top)

    parts = [
        _match_chunk(
            _Search(model, aims[i : i + _CHUNK], upper, cap, goal[i : i + _CHUNK], keep_hue),
            policy,
            table,
            table_lab,
        )
        for i in range(0, len(aims), _CHUNK)
    ]
    unrounded = np.concatenate([part[0] for part in parts]) if parts else np.empty((0, len(upper)))
    builds = np.concatenate([part[1] for part in parts]) if parts else unrounded
    predicted = model.predict_lab(builds)
    reached = delta_e_2000(model.predict_lab(unrounded), aims) <= IN_REACH
    return Matches(
        drive=model.drive,
        aims_lab=aims,
        builds=builds,
        unrounded=unrounded,
        predicted_lab=predicted,
        delta_e_00=delta_e_2000(predicted, aims),
        bound=model.bound(builds),
        in_reach=reached,
        lost=_lost(predicted, aims),
    )


@dataclass(frozen=True, eq=False)
class _Search:
    """What the descent of a chunk of aims shares. Builds are 0 to 1 here."""

    model: Predictor
    aims: Array
    upper: Array
    cap: float
    goal: Array
    keep_hue: bool

    @property
    def top(self) -> float:
        return FULL_SCALE[self.model.drive]

    def steps(self, x: Array, which: NDArray[np.int_]) -> tuple[Array, Array]:
        """Return residuals (n, 3) and their derivatives by the channels (n, 3, k)."""
        lab, by_build = self.model.lab_and_jacobian(x * self.top)
        residual, by_lab = delta_e_2000_slopes(lab, self.aims[which])
        weight = np.array([1.0, 1.0, _HUE_HOLD if self.keep_hue else 1.0])
        return residual * weight, (by_lab * weight[:, None]) @ by_build * self.top


def _match_chunk(
    search: _Search, policy: InkPolicy, table: Array, table_lab: Array
) -> tuple[Array, Array]:
    """Return unrounded and final builds of a chunk, in the units of a build."""
    count, channels = len(search.aims), len(search.upper)
    upper = np.broadcast_to(search.upper, (count, channels)).copy()
    light = np.zeros(count, dtype=bool)
    if search.model.drive is Drive.CMYK and policy.black_free_above is not None:
        light = search.aims[:, 0] > policy.black_free_above
        upper[light, 3] = 0.0
    starts = _starts(search, table, table_lab)
    everyone = np.arange(count)
    best, cost = _best_end(search, everyone, starts, upper)
    doubtful = np.flatnonzero(light & (cost > policy.black_free_within))
    if len(doubtful):
        freed = np.broadcast_to(search.upper, (len(doubtful), channels))
        with_black, less = _best_end(search, doubtful, starts[doubtful], freed)
        worth = less < cost[doubtful] - policy.black_free_within
        best[doubtful[worth]], upper[doubtful[worth]] = with_black[worth], freed[worth]
    best = _spare_inks(search, best, upper, policy.spare_ink_within)
    unrounded = np.where(best < 1e-7, 0.0, best) * search.top
    if not policy.whole:
        return unrounded, unrounded
    return unrounded, whole_builds(
        search.model,
        search.aims,
        unrounded,
        upper=upper * search.top,
        cap=search.cap * search.top,
        goal=search.goal * search.top,
        keep_hue=_HUE_HOLD if search.keep_hue else 1.0,
    )


def _descend(
    search: _Search,
    which: NDArray[np.int_],
    x: Array,
    upper: Array,
    *,
    pull: float,
    rounds: int,
) -> tuple[Array, Array]:
    """Go down from (n, k) starts; return the ends and the ΔE00 there (hue-weighted if held)."""
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
            np.maximum(-now, -trust[todo, None]),
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
        tried = np.clip(now + step, 0.0, upper[todo])
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


def _best_end(
    search: _Search, which: NDArray[np.int_], starts: Array, upper: Array
) -> tuple[Array, Array]:
    """Return for each aim the end nearest in ΔE00, of equal ones what the policy prefers.

    ``starts`` is (m, s, k) and ``upper`` (m, k) for the m aims ``which``. Returns builds (m, k)
    and ΔE00 (m,).
    """
    rows = np.arange(len(which))
    ends = np.minimum(starts, upper[:, None, :])
    for pull, rounds, left in _STAGES:
        tries = ends.shape[1]
        flat, cost = _descend(
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


def _spare_inks(search: _Search, x: Array, upper: Array, within: float) -> Array:
    """Leave out inks of a few percent where that costs no more than ``within`` ΔE00."""
    if search.model.drive is Drive.RGB or within <= 0:
        return x
    everyone = np.arange(len(x))
    allowed = np.linalg.norm(search.steps(x, everyone)[0], axis=1) + within
    x, upper = x.copy(), upper.copy()
    for _ in range(2):
        small = np.where((x > 1e-6) & (x < 0.08), x, np.inf)
        ink = small.argmin(axis=1)
        rows = np.flatnonzero(np.isfinite(small[everyone, ink]))
        if not len(rows):
            break
        tight = np.where(x[rows] > 1e-6, upper[rows], 0.0)
        tight[np.arange(len(rows)), ink[rows]] = 0.0
        tried, cost = _descend(
            search, rows, np.minimum(x[rows], tight), tight, pull=_STAGES[-1][0], rounds=4
        )
        good = cost <= allowed[rows]
        x[rows[good]], upper[rows[good]] = tried[good], tight[good]
    return x


def _preferred(
    model: Predictor, policy: InkPolicy, near: ArrayLike | None, count: int, upper: Array
) -> Array:
    """Return (m, k) what the policy pulls towards, 0 to 1; NaN where it has no wish."""
    goal = np.full((count, len(upper)), np.nan)
    if policy.black is Black.NEAR:
        if near is None:
            raise OrderError.of(
                "no-near-build",
                "the policy asks for builds near given ones, but none are given",
                hint="give 'near', or choose black 'least' or 'most'",
            )
        goal[:] = np.asarray(near, dtype=np.float64) / FULL_SCALE[model.drive]
    elif model.drive is Drive.CMYK:
        goal[:, 3] = 0.0 if policy.black is Black.LEAST else upper[3]
    return goal


def _starting_table(model: Predictor, upper: Array, cap: float) -> Array:
    """Return builds over the whole reach, 0 to 1, within the limits."""
    if model.drive is Drive.RGB:
        levels = [np.linspace(0.0, 1.0, 6)] * 3
    else:
        levels = [np.array([0.0, 0.3, 0.65, 1.0])] * 3 + [np.array([0.0, 0.35, 0.7, 1.0])]
    grid = np.stack(np.meshgrid(*levels, indexing="ij"), axis=-1).reshape(-1, len(upper))
    grid = grid * upper
    total = grid.sum(axis=1)
    over = total > cap
    grid[over] *= (cap / total[over])[:, None]
    return np.unique(grid, axis=0)


def _starts(search: _Search, table: Array, table_lab: Array) -> Array:
    """Return (m, s, k) starting builds: the nearest of the table at each level of black."""
    distance = delta_e_2000(table_lab[None, :, :], search.aims[:, None, :])
    if search.model.drive is Drive.RGB:
        nearest = np.argsort(distance, axis=1, kind="stable")[:, :3]
        return np.asarray(table[nearest])
    level = np.digitize(table[:, 3], [0.1 * search.upper[3], 0.5 * search.upper[3]])
    picks = [
        np.where(level == number, distance, np.inf).argmin(axis=1)
        for number in np.unique(level).tolist()
    ]
    return np.asarray(table[np.stack(picks, axis=1)])


def _lost(lab: Array, aims: Array) -> Array:
    """Return ΔL*, ΔC*ab and ΔH*ab from the aims, (m, 3)."""
    got, want = lab_to_lch(lab), lab_to_lch(aims)
    turn = np.radians(got[:, 2] - want[:, 2])
    hue = (
        2.0 * np.sqrt(got[:, 1] * want[:, 1]) * np.sin(0.5 * ((turn + np.pi) % (2 * np.pi) - np.pi))
    )
    return np.stack([got[:, 0] - want[:, 0], got[:, 1] - want[:, 1], hue], axis=1)


def _triple(values: Array) -> tuple[float, float, float]:
    first, second, third = values.tolist()
    return first, second, third
