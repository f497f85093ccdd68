"""The common aim: where pieces should meet when some of them can't print a colour.

Each printed as near to the aim as it can leaves the pieces apart. All printed like the worst of
them agree, but are far off. Between the two lies the smallest mean distance to the aim such that no
two pieces are further apart than a limit, which the user chooses from the curve of all limits.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from inkaccord.colour.arrays import Array
from inkaccord.colour.builds import FULL_SCALE, Drive
from inkaccord.colour.delta_e import delta_e_2000, delta_e_2000_slopes
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.matching.match import IN_REACH, Matches, match
from inkaccord.colour.predictor import Predictor
from inkaccord.errors import OrderError

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
        One :class:`~inkaccord.colour.matching.matches.Matches` of length 1 for each piece. Its
        aim is the colour that this piece should print, not the brand colour.
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
    if limit <= 0:
        raise OrderError.of("bad-limit", f"a limit of {limit:g} ΔE00", hint="more than 0")
    return _Meeting(models, aim_lab, policies).within(limit)


def trade_curve(
    models: Sequence[Predictor],
    aim_lab: ArrayLike,
    policies: Sequence[InkPolicy],
    limits: Sequence[float] | None = None,
) -> tuple[CommonAim, ...]:
    """Return common aims for a range of limits, from the tightest to each piece's own match.

    ``limits`` defaults to six, from a half ΔE00 to nearly as far apart as the plain matches are.
    """
    meeting = _Meeting(models, aim_lab, policies)
    loose = meeting.plain_aim
    if limits is None:
        limits = np.linspace(0.5, loose.apart, 7)[:-1].tolist() if loose.apart > 0.6 else []
    # From the loosest to the tightest, each search starting where the last one ended.
    found = [meeting.within(t) for t in sorted(limits, reverse=True) if 0 < t < loose.apart]
    return (*reversed(found), loose)


class _Meeting:
    """The pieces of one colour, their plain matches, and where the last search ended."""

    def __init__(
        self, models: Sequence[Predictor], aim_lab: ArrayLike, policies: Sequence[InkPolicy]
    ) -> None:
        if not models or len(models) != len(policies):
            raise OrderError.of("no-pieces", "each piece needs a model and a policy")
        self.aim = np.asarray(aim_lab, dtype=np.float64)
        self.pairs = list(zip(models, policies, strict=True))
        self.first = [self._first_like(pair) for pair in self.pairs]
        """By piece, the first piece of its pair: for what both have in common."""
        self.matched: dict[tuple[int, bytes, bool], Matches] = {}
        self.plain = [self._match(i, self.aim) for i in range(len(self.pairs))]
        self.plain_aim = self._summary(np.inf, self.plain)
        worst = int(self.plain_aim.to_aim.argmax())
        self.worst_lab = self.plain_aim.labs[worst]
        self.free = {
            i
            for i in range(len(self.pairs))
            if self.plain[i].in_reach[0] and self._reaches(i, self.worst_lab)
        }
        self.warm: Array | None = None

    def within(self, limit: float) -> CommonAim:
        """Return the best that keeps a limit."""
        best = replace(self.plain_aim, limit=limit)
        if best.apart <= limit:
            return best
        inner = limit
        for attempt in range(5):
            labs = self._search(inner)
            found = self._summary(limit, [self._match(i, lab) for i, lab in enumerate(labs)])
            if found.keeps or found.apart < best.apart:
                best = found
            if found.keeps:
                break
            # Whole builds broke the limit: aim for a little less.
            inner = max(inner - (found.apart - limit) - 0.05 * (attempt + 1), 0.25 * inner)
        return best

    def _first_like(self, pair: tuple[Predictor, InkPolicy]) -> int:
        alike = (it[0] is pair[0] and it[1] == pair[1] for it in self.pairs)
        return next(i for i, same in enumerate(alike) if same)

    def _match(self, i: int, lab: Array, *, whole: bool = True) -> Matches:
        """Return the build of a piece for a colour, found once for all pieces of its pair."""
        i = self.first[i]
        key = i, lab.tobytes(), whole
        if key not in self.matched:
            model, policy = self.pairs[i]
            if not whole:
                policy = policy.model_copy(update={"whole": False})
            self.matched[key] = match(model, lab, policy)
        return self.matched[key]

    def _reaches(self, i: int, lab: Array) -> bool:
        return bool(self._match(i, lab, whole=False).delta_e_00[0] <= 1.5 * IN_REACH)

    def _summary(self, limit: float, matches: list[Matches]) -> CommonAim:
        labs = np.concatenate([one.predicted_lab for one in matches])
        apart = float(delta_e_2000(labs[:, None], labs[None]).max())
        return CommonAim(limit, tuple(matches), labs, delta_e_2000(labs, self.aim), apart)

    def _search(self, limit: float) -> Array:
        """Return (n, 3) the colour that each piece should print."""
        while True:
            acting, stands = self._acting()
            weights = np.bincount(stands) / len(stands)
            problem = _Problem([self.pairs[i] for i in acting], weights, self.aim, limit)
            starts = [self.warm] if self.warm is not None else self._cold(acting)
            labs, self.warm = problem.solve(starts)
            failing = {i for i in self.free if not self._reaches(i, labs[stands[i]])}
            if not failing or len(self.free) == 1:
                return np.asarray(labs[stands])
            self.free -= failing
            self.warm = None

    def _acting(self) -> tuple[list[int], NDArray[np.int_]]:
        """Return the pieces that enter the search, and for each piece which of them it follows.

        One of the free stands for all of them; pieces of one pair are one.
        """
        acting: list[int] = []
        stands: list[int] = []
        for i, first in enumerate(self.first):
            for place, j in enumerate(acting):
                if first == self.first[j] or {i, j} <= self.free:
                    stands.append(place)
                    break
            else:
                stands.append(len(acting))
                acting.append(i)
        return acting, np.array(stands, dtype=np.int_)

    def _cold(self, acting: list[int]) -> list[Array]:
        """Return two starts: every piece as near to the aim as it can, and all like the worst."""
        plain, worst = [], []
        for i in acting:
            top = FULL_SCALE[self.pairs[i][0].drive]
            plain.append(self.plain[i].unrounded[0] / top)
            worst.append(self._match(i, self.worst_lab, whole=False).unrounded[0] / top)
        return [np.concatenate(plain), np.concatenate(worst)]


class _Problem:
    """Smallest weighted mean distance to the aim, limited distances between pieces."""

    def __init__(
        self, pairs: list[tuple[Predictor, InkPolicy]], weights: Array, aim: Array, limit: float
    ) -> None:
        self.pairs, self.weights, self.aim, self.limit = pairs, weights, aim, limit
        sizes = [len(policy.upper(model.drive)) for model, policy in pairs]
        ends = np.cumsum(sizes).tolist()
        self.places = [slice(end - size, end) for end, size in zip(ends, sizes, strict=True)]
        self.first, self.second = np.triu_indices(len(pairs), 1)
        self._last: tuple[bytes, tuple[Array, list[Array]]] | None = None

    def solve(self, starts: list[Array]) -> tuple[Array, Array]:
        """Return the best colours (a, 3) and builds (v,) that the starts lead to."""
        from scipy.optimize import minimize  # noqa: PLC0415  (slow to load)

        tops = self._upper()
        ends = []
        for start in starts:
            found = minimize(
                self._cost,
                np.minimum(start, tops),
                jac=True,
                bounds=[(0.0, top) for top in tops],
                constraints=self._constraints(),
                method="SLSQP",
                options={"maxiter": 60, "ftol": 1e-3},
            )
            ends.append(np.clip(found.x, 0.0, tops))
        best = min(ends, key=self._merit)
        return self._labs(best)[0], best

    def _merit(self, x: Array) -> float:
        return self._cost(x)[0] + 10.0 * max(-float(self._room(x)[0].min(initial=0.0)), 0.0)

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
