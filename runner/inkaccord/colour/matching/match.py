"""Match: the builds that print given colours, or the nearest that a pair can print.

A table of builds gives every aim a few starting points. From each, Gauss–Newton steps in a trust
region go down in ΔE00; the metric is taken anew at every step, so that the answer for an aim out of
reach is nearest in ΔE00 and not in some fixed metric. A weak pull towards what the policy prefers
picks one of the many builds that print the same colour. At last whole numbers round the
answer are searched with the model itself.
"""

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from inkaccord.colour.arrays import Array
from inkaccord.colour.builds import FULL_SCALE, Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.ink_policy import Black, InkPolicy
from inkaccord.colour.matching.descent import STAGES, Search, Starts, best_ends, descend
from inkaccord.colour.matching.matches import Match, Matches, lost_from
from inkaccord.colour.matching.rounding import whole_builds
from inkaccord.colour.predictor import Predictor
from inkaccord.errors import OrderError

__all__ = ["IN_REACH", "Match", "Matches", "match", "match_together"]


IN_REACH = 0.1
"""An aim counts as in reach when its best unrounded build is this near in ΔE00."""

_CHUNK = 256


def match(
    model: Predictor,
    aims_lab: ArrayLike,
    policy: InkPolicy,
    near: ArrayLike | None = None,
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
    lower, upper = policy.lower(model.drive) / top, policy.upper(model.drive) / top
    cap = policy.total(model.drive) / top
    goal = _preferred(model, policy, near, len(aims), upper)
    starts = Starts.of(model, lower, upper, cap)
    parts = []
    for i in range(0, len(aims), _CHUNK):
        some = slice(i, i + _CHUNK)
        search = Search(model, aims[some], lower, upper, cap, goal[some])
        parts.append(_match_chunk(search, policy, starts))
    unrounded = np.concatenate([part[0] for part in parts]) if parts else np.empty((0, len(upper)))
    builds = np.concatenate([part[1] for part in parts]) if parts else unrounded
    predicted, free = np.split(model.predict_lab(np.concatenate([builds, unrounded])), 2)
    return Matches(
        drive=model.drive,
        aims_lab=aims,
        builds=builds,
        unrounded=unrounded,
        predicted_lab=predicted,
        delta_e_00=delta_e_2000(predicted, aims),
        bound=model.bound(builds),
        in_reach=delta_e_2000(free, aims) <= IN_REACH,
        lost=lost_from(predicted, aims),
    )


def match_together(calls: Sequence[tuple[Any, ...]]) -> list[Matches]:
    """Return what :func:`match` gives for many calls, each with its aims as (m, 3) and ``near``.

    Those on one model under one policy take little longer than one of them: a search goes down in
    many small steps, and takes all aims along.
    """
    alike: dict[tuple[object, ...], list[int]] = {}
    for at, (model, _, policy, *near) in enumerate(calls):
        alike.setdefault((id(model), policy, len(near)), []).append(at)
    found: dict[int, Matches] = {}
    for places in alike.values():
        model, _, policy, *_ = calls[places[0]]
        aims, *near = (
            np.concatenate(parts)
            for parts in zip(*((calls[at][1], *calls[at][3:]) for at in places), strict=True)
        )
        matches = match(model, aims, policy, *near)
        start = 0
        for at in places:
            found[at] = matches.part(slice(start, start := start + len(calls[at][1])))
    return [found[at] for at in range(len(calls))]


def _match_chunk(search: Search, policy: InkPolicy, starts: Starts) -> tuple[Array, Array]:
    """Return unrounded and final builds of a chunk, in the units of a build."""
    count, channels = len(search.aims), len(search.upper)
    upper = np.broadcast_to(search.upper, (count, channels)).copy()
    light = np.zeros(count, dtype=bool)
    if search.model.drive is Drive.CMYK and policy.black_free_above is not None:
        light = search.aims[:, 0] > policy.black_free_above
        upper[light, 3] = 0.0
    first = starts.nearest(search.aims)
    everyone = np.arange(count)
    best, cost = best_ends(search, everyone, first, upper)
    doubtful = np.flatnonzero(light & (cost > policy.black_free_within))
    if len(doubtful):
        freed = np.broadcast_to(search.upper, (len(doubtful), channels))
        with_black, less = best_ends(search, doubtful, first[doubtful], freed)
        worth = less < cost[doubtful] - policy.black_free_within
        best[doubtful[worth]], upper[doubtful[worth]] = with_black[worth], freed[worth]
        cost[doubtful[worth]] = less[worth]
    if search.model.drive is Drive.CMYK and policy.spare_ink_within > 0:
        best = _spare_inks(search, best, upper, cost + policy.spare_ink_within)
    unrounded = np.where(best < 1e-7, 0.0, best) * search.top
    if not policy.whole:
        return unrounded, unrounded
    return unrounded, whole_builds(
        search.model,
        search.aims,
        unrounded,
        lower=search.lower * search.top,
        upper=upper * search.top,
        cap=search.cap * search.top,
        goal=search.goal * search.top,
    )


def _spare_inks(search: Search, x: Array, upper: Array, allowed: Array) -> Array:
    """Leave out inks of a few percent where that leaves no more than so many ΔE00, (m,)."""
    everyone = np.arange(len(x))
    x, upper = x.copy(), upper.copy()
    for _ in range(2):
        small = np.where((x > 1e-6) & (x < 0.08) & (search.lower == 0.0), x, np.inf)
        ink = small.argmin(axis=1)
        rows = np.flatnonzero(np.isfinite(small[everyone, ink]))
        if not len(rows):
            break
        tight = np.where(x[rows] > 1e-6, upper[rows], 0.0)
        tight[np.arange(len(rows)), ink[rows]] = 0.0
        tried, cost = descend(
            search, rows, np.minimum(x[rows], tight), tight, pull=STAGES[-1][0], rounds=4
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
