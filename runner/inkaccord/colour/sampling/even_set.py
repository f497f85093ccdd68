"""Swatches spaced evenly in what the eye sees, over all that a pair can print.

Farthest-point sampling (T. F. Gonzalez, 'Clustering to minimize the maximum intercluster
distance', Theoretical Computer Science 38, 1985; from memory): each new swatch is the printable
colour farthest in ΔE00 from all that stand already. Any first part of the result is itself an even
set, so that a swatch set can grow.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

import numpy as np
from numpy.typing import ArrayLike, NDArray
from pydantic import Field

from inkaccord.colour.arrays import Array
from inkaccord.colour.builds import FULL_SCALE, Drive
from inkaccord.colour.delta_e import delta_e_2000, delta_e_2000_metric
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.lab import Lab
from inkaccord.colour.perceptual import even_jacobian, lab_to_even
from inkaccord.colour.predictor import Predictor
from inkaccord.colour.sampling.ranges import Region
from inkaccord.errors import OrderError
from inkaccord.models import Frozen

if TYPE_CHECKING:
    from scipy.spatial import cKDTree

MOST = 5000
"""So many swatches at most: the work grows with their number, not with its square."""

_POOL_PER_SWATCH = 30
_POOL_LEAST, _POOL_MOST = 6000, 70000
_GLOBAL_STEPS = 24
"""While few swatches stand, each new one is near to most of the pool."""
_NEIGHBOURS = 16
_SAME = 0.75
"""ΔE00 below which another way of printing a colour is not worth a swatch."""
_NEAREST, _ROOM = 40, 0.05
"""Round an aim more is drawn between its nearest builds, and this share of the scale about them."""


class Spacing(Frozen):
    """How many swatches, how close, or both: whichever is reached first ends the set."""

    count: Annotated[int, Field(ge=1, le=MOST)] | None = None
    min_delta_e: Annotated[float, Field(gt=0)] | None = None


@dataclass(frozen=True, eq=False)
class EvenSet:
    """An even set of builds.

    Attributes
    ----------
    builds
        (n, k) whole numbers, in the order in which they were found: coarse to fine.
    lab
        (n, 3) predicted CIELAB.
    min_delta_e
        No two of them, and none of them and a known colour, are closer than this ΔE00.
    """

    builds: Array
    lab: Array
    min_delta_e: float

    def __len__(self) -> int:
        return len(self.builds)


def even_set(
    model: Predictor,
    spacing: Spacing,
    policy: InkPolicy,
    *,
    region: Region | None = None,
    known_lab: ArrayLike | None = None,
) -> EvenSet:
    """Return builds whose colours are spaced evenly over what the pair can print.

    Parameters
    ----------
    model
        What the pair prints.
    spacing
        A number of swatches, a least ΔE00 between them, or both.
    policy
        The pair's limits. Black comes in where cyan, magenta and yellow can't make a colour.
    region
        Only colours in here.
    known_lab
        (m, 3) colours that need no swatch: those of the set that this one adds to.

    Raises
    ------
    OrderError
        ``no-spacing``, ``nothing-in-region``.

    Notes
    -----
    Distances are found in DIN99o with a spatial index and judged in ΔE00; the time grows with
    n log n. Deterministic.
    """
    if spacing.count is None and spacing.min_delta_e is None:
        raise OrderError.of(
            "no-spacing", "neither a count nor a least distance is given", hint="give one of them"
        )
    region = region or Region()
    known = np.empty((0, 3)) if known_lab is None else np.atleast_2d(np.asarray(known_lab, float))
    count, least = spacing.count or MOST, spacing.min_delta_e or 0.0
    size = _POOL_LEAST if spacing.count is None else _pool_size(count)
    while True:
        builds, lab = _pool(model, policy, region, size)
        if not len(builds):
            raise OrderError.of(
                "nothing-in-region",
                "the pair prints no colour in this region",
                hint="ask for a wider range, or a longer reach",
            )
        chosen = _farthest(lab, known, count, least, region.near)
        wanted = _pool_size(len(chosen))
        if size >= wanted:
            break
        size = wanted
    chosen, closest = _proved(lab, known, chosen, least)
    return EvenSet(builds[chosen], lab[chosen], closest)


def _pool_size(count: int) -> int:
    return int(np.clip(_POOL_PER_SWATCH * count, _POOL_LEAST, _POOL_MOST))


def printable(model: Predictor, policy: InkPolicy) -> Array:
    """Return (n, 3) CIELAB spread over all that a pair prints within its limits."""
    return _draw(model, policy, _POOL_LEAST, 0)[1]


def _farthest(
    lab: Array, known: Array, count: int, least: float, aim: Lab | None
) -> NDArray[np.int_]:
    """Return the chosen of the pool, each the farthest from all before it."""
    even = lab_to_even(lab)
    tree = _tree(even)
    stretch = _stretch(lab)
    distance = _nearest(lab, even, known)
    if aim is not None:
        pick = int(np.where(distance >= max(least, _SAME), delta_e_2000(lab, aim), np.inf).argmin())
    else:
        # The first swatch of a new set is the lightest: bare paper, where the region has it.
        pick = int(distance.argmax()) if len(known) else int(lab[:, 0].argmax())
    gap = float(distance[pick])
    chosen: list[int] = []
    while len(chosen) < count and gap >= max(least, 1e-9):
        chosen.append(pick)
        near = None
        if len(chosen) > _GLOBAL_STEPS:
            # No distance is larger than the last gap, so nothing farther away can change.
            near = np.array(tree.query_ball_point(even[pick], gap * stretch[pick]), dtype=np.int_)
            # Nor can what is nearer to another already than it lies from here.
            away = np.linalg.norm(even[near] - even[pick], axis=1)
            near = near[away < distance[near] * stretch[pick]]
        _update(distance, lab, lab[pick], near)
        pick = int(distance.argmax())
        gap = float(distance[pick])
    return np.array(chosen, dtype=np.int_)


def _nearest(lab: Array, even: Array, known: Array) -> Array:
    """Return the ΔE00 to the nearest known colour, infinite where none is known."""
    if not len(known):
        return np.full(len(lab), np.inf)
    neighbours = min(_NEIGHBOURS, len(known))
    _, rows = _tree(lab_to_even(known)).query(even, k=list(range(1, neighbours + 1)))
    return np.asarray(delta_e_2000(lab[:, None, :], known[rows]).min(axis=1))


def _proved(
    lab: Array, known: Array, chosen: NDArray[np.int_], least: float
) -> tuple[NDArray[np.int_], float]:
    """Leave out what stands too close after all, and return the least distance that is left.

    The index looks for neighbours in DIN99o; here each swatch is checked against many more of
    them than can be nearest in ΔE00.
    """
    labs = np.concatenate([known, lab[chosen]])
    if len(labs) < 2:
        return chosen, float("inf")
    even = lab_to_even(labs)
    neighbours = min(2 * _NEIGHBOURS, len(labs))
    _, rows = _tree(even).query(even, k=list(range(1, neighbours + 1)))
    distance = delta_e_2000(labs[:, None, :], labs[rows])
    own = np.arange(len(labs))[:, None]
    # Each is judged against those that stood before it; the known ones stood first.
    before = np.where(rows < own, distance, np.inf).min(axis=1)[len(known) :]
    keep = before >= least
    return chosen[keep], float(before[keep].min(initial=np.inf))


def _update(distance: Array, lab: Array, one: Array, near: NDArray[np.int_] | None) -> None:
    """Lower the pool's distances to the nearest chosen colour by a new one."""
    if near is None:
        np.minimum(distance, delta_e_2000(lab, one), out=distance)
    else:
        distance[near] = np.minimum(distance[near], delta_e_2000(lab[near], one))


def _stretch(lab: Array) -> Array:
    """Return (n,) the most even coordinates that one ΔE00 takes at a colour, with a margin."""
    jacobian = even_jacobian(lab)
    back = np.linalg.inv(delta_e_2000_metric(lab))
    largest = np.linalg.eigvalsh(jacobian @ back @ jacobian.swapaxes(-1, -2))[:, -1]
    return np.asarray(1.5 * np.sqrt(largest) + 0.2)


def _pool(model: Predictor, policy: InkPolicy, region: Region, size: int) -> tuple[Array, Array]:
    """Return whole-number builds (n, k) that keep to the policy, with their CIELAB."""
    found: list[tuple[Array, Array]] = []
    total, between = 0, None
    # A small region is filled by drawing more.
    for round_ in range(8):
        builds, lab = _draw(model, policy, size, round_, between)
        inside = region.contains(lab)
        found.append((builds[inside], lab[inside]))
        total += int(inside.sum())
        if total >= size or (round_ > 1 and total == 0):
            break
        if region.near is not None:
            nearest = builds[np.argsort(delta_e_2000(lab, region.near))[:_NEAREST]]
            between = _about(nearest / np.maximum(policy.upper(model.drive), 1.0))
    every = np.concatenate([part[0] for part in found])
    labs = np.concatenate([part[1] for part in found])
    every, first = np.unique(every, axis=0, return_index=True)
    return every, labs[first]


def _about(shares: Array) -> tuple[Array, Array]:
    """Return the lower and the upper ends (k,) of a box round builds, in shares of the scale."""
    low, high = shares.min(axis=0) - _ROOM, shares.max(axis=0) + _ROOM
    return np.clip(low, 0.0, 1.0), np.clip(high, 0.0, 1.0)


def _draw(
    model: Predictor,
    policy: InkPolicy,
    size: int,
    number: int,
    between: tuple[Array, Array] | None = None,
) -> tuple[Array, Array]:
    """Return a draw of the pool, the policy's way of printing each colour, perhaps from a box."""
    rng = np.random.default_rng(number)
    upper, cap = policy.upper(model.drive), policy.total(model.drive)

    def shares(count: int, channels: int) -> Array:
        # Some of each channel at its ends, where the strongest colours are.
        drawn = np.clip(rng.uniform(-0.12, 1.12, (count, channels)), 0.0, 1.0)
        if between is None:
            return np.asarray(drawn)
        low, high = (end[:channels] for end in between)
        return np.asarray(low + drawn * (high - low))

    def whole(part: Array) -> tuple[Array, Array]:
        builds = part * FULL_SCALE[model.drive]
        # What is over the ink limit goes to it, so that a low limit leaves as full a pool.
        over = np.maximum(builds.sum(axis=1) / cap, 1.0)
        rounded = np.where(over[:, None] > 1.0, np.floor(builds / over[:, None]), np.rint(builds))
        rounded = rounded[policy.allows(rounded, model.drive)]
        return rounded, model.predict_lab(rounded)

    if model.drive is Drive.RGB:
        return whole(np.concatenate([_ends(3), shares(size, 3)]))
    clean = np.concatenate([_ends(3), shares(size, 3)]) * (upper[:3] / 100.0)
    clean = np.column_stack([clean, np.zeros(len(clean))])
    black = shares(size, 4) * (upper / 100.0)
    # With black, two other inks make every hue; a third only deepens the darkest.
    spare = rng.integers(0, 3, len(black))
    deep = rng.random(len(black)) < 0.15
    black[~deep, spare[~deep]] = 0.0
    clean_builds, clean_lab = whole(clean)
    black_builds, black_lab = whole(black)
    if policy.black_free_above is not None:
        dark = black_lab[:, 0] <= policy.black_free_above
        black_builds, black_lab = black_builds[dark], black_lab[dark]
    if len(clean_builds) and len(black_builds):
        new = _not_near(black_lab, clean_lab)
        black_builds, black_lab = black_builds[new], black_lab[new]
    return np.concatenate([clean_builds, black_builds]), np.concatenate([clean_lab, black_lab])


def _tree(places: Array) -> "cKDTree":
    from scipy.spatial import cKDTree  # noqa: PLC0415 - slow to load, seldom needed

    return cKDTree(places)


def _not_near(lab: Array, others: Array) -> NDArray[np.bool_]:
    """Return which colours no other prints already, by the nearest of them in DIN99o."""
    nearest = _tree(lab_to_even(others)).query(lab_to_even(lab))[1]
    return np.asarray(delta_e_2000(lab, others[nearest]) > _SAME)


def _ends(channels: int) -> Array:
    bits = (np.arange(2**channels)[:, None] >> np.arange(channels)) & 1
    return np.asarray(bits, dtype=np.float64)
