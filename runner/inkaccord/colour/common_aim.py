"""The common aim: where pieces should meet when some of them can't print a colour.

Each printed as near to the aim as it can leaves the pieces apart. All printed like the worst of
them agree, but are far off. Between the two lies the smallest mean distance to the aim such that no
two pieces are further apart than a limit, which the user chooses from the curve of all limits.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from inkaccord.colour.builds import FULL_SCALE, Drive
from inkaccord.colour.delta_e import delta_e_2000, delta_e_2000_slopes
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.match import IN_REACH, Matches, match
from inkaccord.colour.predictor import Predictor
from inkaccord.errors import OrderError

Array = NDArray[np.float64]

_SOFT = 0.05
"""ΔE00 by which the kink of a distance at zero is rounded off."""


@dataclass(frozen=True, eq=False)
class CommonAim:
    """What to print on each of n pieces.

    Attributes
    ----------
    limit
        The limit that was asked for, ΔE00.
    matches
        One :class:`~inkaccord.colour.match.Matches` of length 1 for each piece. Its aim is the
        colour that this piece should print, not the brand colour.
    labs
        (n, 3) predicted CIELAB.
    to_aim
        (n,) ΔE00 from the brand colour.
    apart
        The largest ΔE00 between two pieces, in whole builds.
    """

    limit: float
    matches: tuple[Matches, ...]
    labs: Array
    to_aim: Array
    apart: float

    @property
    def mean(self) -> float:
        """The mean ΔE00 to the brand colour."""
        return float(self.to_aim.mean())

    @property
    def keeps(self) -> bool:
        """Whether the limit could be kept, to a hundredth."""
        return self.apart <= self.limit + 0.01


def common_aim(
    models: Sequence[Predictor],
    aim_lab: ArrayLike,
    policies: Sequence[InkPolicy],
    limit: float,
) -> CommonAim:
    """Return builds with the smallest mean ΔE00 to the aim and no two further apart than a limit.

    Parameters
    ----------
    models, policies
        (n) of the pieces' pairs; pieces of one pair share one model object.
    aim_lab
        (3,) CIELAB of the brand colour.
    limit
        ΔE00, more than 0.

    Raises
    ------
    OrderError
        ``bad-limit``, ``no-pieces``.

    Notes
    -----
    Pieces whose pairs can print every colour in question are best served by one and the same
    colour, so only one of them enters the search. Whole builds are checked at the end and the
    search repeated with a tighter limit where rounding broke it.
    """
    if not models or len(models) != len(policies):
        raise OrderError.of("no-pieces", "each piece needs a model and a policy")
    if limit <= 0:
        raise OrderError.of("bad-limit", f"a limit of {limit:g} ΔE00", hint="more than 0")
    aim = np.asarray(aim_lab, dtype=np.float64)
    plain = tuple(match(m, aim, p) for m, p in zip(models, policies, strict=True))
    best = _summary(limit, plain, aim)
    if best.apart <= limit:
        return best
    inner = limit
    for attempt in range(5):
        labs = _search(models, aim, policies, inner, plain)
        found = _summary(
            limit,
            tuple(match(m, x, p) for m, x, p in zip(models, labs, policies, strict=True)),
            aim,
        )
        if found.keeps or found.apart < best.apart:
            best = found
        if found.keeps:
            break
        inner = max(inner - (found.apart - limit) - 0.05 * (attempt + 1), 0.25 * inner)
    return best


def trade_curve(
    models: Sequence[Predictor],
    aim_lab: ArrayLike,
    policies: Sequence[InkPolicy],
    limits: Sequence[float] | None = None,
) -> tuple[CommonAim, ...]:
    """Return common aims for a range of limits, from the tightest to each piece's own match.

    ``limits`` defaults to eight, from a quarter ΔE00 to as far apart as the plain matches are.
    """
    loose = common_aim(models, aim_lab, policies, 1e3)
    if limits is None:
        limits = np.linspace(0.25, max(loose.apart, 0.5), 8).tolist()
    inner = [common_aim(models, aim_lab, policies, t) for t in sorted(limits) if t < loose.apart]
    return (*inner, loose)


def _summary(limit: float, matches: tuple[Matches, ...], aim: Array) -> CommonAim:
    labs = np.concatenate([one.predicted_lab for one in matches])
    apart = float(delta_e_2000(labs[:, None], labs[None]).max())
    return CommonAim(limit, matches, labs, delta_e_2000(labs, aim), apart)


def _search(
    models: Sequence[Predictor],
    aim: Array,
    policies: Sequence[InkPolicy],
    limit: float,
    plain: tuple[Matches, ...],
) -> Array:
    """Return (n, 3) the colour that each piece should print."""
    count = len(models)
    pairs = list(zip(models, policies, strict=True))
    worst = int(np.argmax([one.delta_e_00[0] for one in plain]))
    worst_lab = plain[worst].predicted_lab[0]
    free = {
        i
        for i, (model, policy) in enumerate(pairs)
        if plain[i].in_reach[0] and _reaches(model, policy, worst_lab)
    }
    while True:
        # One of the free stands for all of them; pieces of one pair are one.
        acting: list[int] = []
        weights: list[int] = []
        stands: list[int] = []
        for i in range(count):
            known = next(
                (
                    n
                    for n, j in enumerate(acting)
                    if (i in free and j in free)
                    or (models[i] is models[j] and policies[i] == policies[j])
                ),
                None,
            )
            if known is None:
                acting.append(i)
                weights.append(1)
                stands.append(len(acting) - 1)
            else:
                weights[known] += 1
                stands.append(known)
        problem = _Problem([pairs[i] for i in acting], np.array(weights, float), aim, limit)
        found = problem.solve([plain[i] for i in acting], worst_lab)
        labs = np.asarray(found[np.array(stands)])
        failing = {i for i in free if not _reaches(*pairs[i], labs[i])}
        if not failing or len(free) == 1:
            return labs
        free -= failing


def _reaches(model: Predictor, policy: InkPolicy, lab: Array) -> bool:
    found = match(model, lab, policy.model_copy(update={"whole": False}))
    return bool(found.delta_e_00[0] <= 1.5 * IN_REACH)


class _Problem:
    """Smallest weighted mean distance to the aim, limited distances between pieces."""

    def __init__(
        self,
        pairs: list[tuple[Predictor, InkPolicy]],
        weights: Array,
        aim: Array,
        limit: float,
    ) -> None:
        self.pairs, self.aim, self.limit = pairs, aim, limit
        self.weights = weights / weights.sum()
        sizes = [len(policy.upper(model.drive)) for model, policy in pairs]
        ends = np.cumsum(sizes).tolist()
        self.places = [slice(end - size, end) for end, size in zip(ends, sizes, strict=True)]
        self.first, self.second = np.triu_indices(len(pairs), 1)
        self._last: tuple[bytes, tuple[Array, list[Array]]] | None = None

    def solve(self, plain: list[Matches], worst_lab: Array) -> Array:
        """Return (a, 3) the best colours from several starts."""
        from scipy.optimize import minimize  # noqa: PLC0415  (slow to load)

        best, least = np.concatenate([one.predicted_lab for one in plain]), np.inf
        tops = self._upper()
        for share in (0.0, 1.0):
            found = minimize(
                self._cost,
                self._start(plain, worst_lab, share),
                jac=True,
                bounds=[(0.0, top) for top in tops],
                constraints=self._constraints(),
                method="SLSQP",
                options={"maxiter": 80, "ftol": 1e-4},
            )
            x = np.clip(found.x, 0.0, tops)
            value = self._cost(x)[0] + 10.0 * max(-float(self._room(x)[0].min(initial=0.0)), 0.0)
            if value < least - 1e-4:
                least, best = value, self._labs(x)[0]
        return best

    def _start(self, plain: list[Matches], worst_lab: Array, share: float) -> Array:
        parts = []
        for (model, policy), own in zip(self.pairs, plain, strict=True):
            lab = (1.0 - share) * own.predicted_lab[0] + share * worst_lab
            loose = policy.model_copy(update={"whole": False})
            build = match(model, lab, loose).builds[0] if share else own.unrounded[0]
            parts.append(build / FULL_SCALE[model.drive])
        return np.concatenate(parts)

    def _upper(self) -> Array:
        tops = [policy.upper(m.drive) / FULL_SCALE[m.drive] for m, policy in self.pairs]
        for (model, policy), top in zip(self.pairs, tops, strict=True):
            light = policy.black_free_above is not None and self.aim[0] > policy.black_free_above
            if model.drive is Drive.CMYK and light:
                top[3] = 0.0
        return np.concatenate(tops)

    def _labs(self, x: Array) -> tuple[Array, list[Array]]:
        """Return (a, 3) CIELAB and each piece's derivatives (3, k).

        The solver asks four times at each point, so the last answer is kept.
        """
        key = x.tobytes()
        if self._last is not None and self._last[0] == key:
            return self._last[1]
        labs, slopes = [], []
        for (model, _), place in zip(self.pairs, self.places, strict=True):
            top = FULL_SCALE[model.drive]
            build = np.clip(x[place], 0.0, 1.0)[None] * top
            lab, slope = model.lab_and_jacobian(build)
            labs.append(lab[0])
            slopes.append(slope[0] * top)
        self._last = key, (np.array(labs), slopes)
        return self._last[1]

    def _cost(self, x: Array) -> tuple[float, Array]:
        labs, slopes = self._labs(x)
        squared, by_lab = _squared(labs, np.broadcast_to(self.aim, labs.shape))
        soft = np.sqrt(squared + _SOFT**2)
        gradient = np.zeros(len(x))
        for i, place in enumerate(self.places):
            gradient[place] = self.weights[i] * (by_lab[i] @ slopes[i]) / (2.0 * soft[i])
        return float(self.weights @ soft), gradient

    def _room(self, x: Array) -> tuple[Array, Array]:
        """Return how much room each distance leaves, (q,), with derivatives (q, v)."""
        labs, slopes = self._labs(x)
        one, other = labs[self.first], labs[self.second]
        squared, by_one = _squared(one, other)
        _, by_other = _squared(other, one)
        room = (self.limit**2 - squared) / (2.0 * self.limit)
        jacobian = np.zeros((len(room), len(x)))
        for row, (i, j) in enumerate(zip(self.first, self.second, strict=True)):
            jacobian[row, self.places[i]] -= by_one[row] @ slopes[i] / (2.0 * self.limit)
            jacobian[row, self.places[j]] -= by_other[row] @ slopes[j] / (2.0 * self.limit)
        return room, jacobian

    def _constraints(self) -> list[Any]:
        limits: list[Any] = []
        if len(self.first):
            limits.append(
                {
                    "type": "ineq",
                    "fun": lambda x: self._room(x)[0],
                    "jac": lambda x: self._room(x)[1],
                }
            )
        for (model, policy), place in zip(self.pairs, self.places, strict=True):
            cap = policy.total(model.drive) / FULL_SCALE[model.drive]
            if np.isfinite(cap):
                limits.append(
                    {
                        "type": "ineq",
                        "fun": lambda x, place=place, cap=cap: cap - x[place].sum(),
                    }
                )
        return limits


def _squared(one: Array, other: Array) -> tuple[Array, Array]:
    """Return squared ΔE00 (n,) and its derivatives (n, 3) by ``one``."""
    parts, slopes = delta_e_2000_slopes(one, other)
    return (parts**2).sum(axis=1), 2.0 * np.einsum("nr,nri->ni", parts, slopes)
