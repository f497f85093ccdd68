"""The ways in which swatches may truly lie beside each other, as far as a press model knows.

A model errs for neighbours alike: in where they all lie, in how far each ink leads and which way.
So its swatches are drawn together, from what it says of how its errors go together.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from scipy.special import ndtri

from inkaccord.colour.arrays import Array
from inkaccord.colour.chart import EvenChart
from inkaccord.colour.looks import Offered
from inkaccord.colour.perceptual import even_to_lab, lab_to_even
from inkaccord.colour.predictor import Predictor
from inkaccord.colour.press.together import LowRank

WORLDS = 48
"""How many are drawn. Twice as many brought nothing (docs/colour-decisions.md)."""

_LEAST = 1e-6
"""Variance, as a share of the largest, that keeps builds apart which a model has for one."""
_NEAR = 6.0
"""ΔE00 over which swatches tell how steps lead near a colour (no source)."""
_STIFF = 0.05
"""How strongly steps are taken to be the model's own where too few swatches tell."""


class Doubted(Predictor, Protocol):
    """A predictor that knows how its errors go together."""

    def belief(self, builds: Array) -> LowRank:
        """Return how the errors at (n, k) builds go together, in even coordinates."""
        ...


@dataclass(frozen=True, eq=False)
class World:
    """One way in which swatches may lie: on a chart, apart from where all of them lie together.

    Attributes
    ----------
    swatches
        (n, 3) places of all that was offered.
    turn, shift
        (3, 3) and (3,): from the model's place of a colour to its place here, near a colour.
    """

    swatches: Mapping[Offered, Array]
    turn: Array
    shift: Array

    def place(self, places: Array) -> Array:
        """Return where colours lie that the model has at (..., 3) places."""
        return np.asarray(places @ self.turn.T + self.shift)


def draw_printed(model: Doubted, offers: Sequence[Offered]) -> dict[Offered, Array]:
    """Return (w, n, 3) CIELAB: what swatches look like in each of many worlds.

    The draws are fixed, and come in pairs of opposites: their mean is what the model predicts.
    Raises nothing; one offer or more.
    """
    every = np.concatenate([it.builds for it in offers])
    builds, which = np.unique(every, axis=0, return_inverse=True)
    even, belief = lab_to_even(model.predict_lab(builds)), model.belief(builds)
    covariance = np.stack([belief.covariance_with(at) for at in range(len(builds))], axis=1)
    room = _LEAST * covariance.max(axis=(1, 2)) + _LEAST
    roots = np.linalg.cholesky(covariance + room[:, None, None] * np.eye(len(builds)))
    draws = np.random.default_rng(0).normal(size=(WORLDS // 2, 3, len(builds), 1))
    off = (roots @ np.concatenate([draws, -draws]))[..., 0].transpose(0, 2, 1)
    printed = even_to_lab(even + off)[:, which.ravel()]
    ends = np.cumsum([len(it.builds) for it in offers])[:-1]
    return dict(zip(offers, np.split(printed, ends, axis=1), strict=True))


def draw_eyes(apart: float, person: int) -> Array:
    """Return (w,) by how much of its word a person errs in each world: log-normal, evenly drawn.

    ``apart`` is the standard deviation of the logarithm; each ``person`` has an order of their own.
    """
    order = np.random.default_rng([1, person]).permutation(WORLDS)
    return np.exp(apart * ndtri((order + 0.5) / WORLDS))


def world_near(lab: Array, chart: EvenChart, printed: Mapping[Offered, Array]) -> World:
    """Return a world by what swatches (n, 3) look like there, to be used near a colour (3,)."""
    model = {offered: chart.place(offered.labs) for offered in printed}
    there = {offered: chart.place(labs) for offered, labs in printed.items()}
    first = next(iter(printed))
    # Where all of them lie together has no say: things are known by the swatches alone.
    moved = (there[first] - model[first]).mean(axis=0)
    there = {offered: places - moved for offered, places in there.items()}
    before, after = (np.concatenate(list(it.values())) for it in (model, there))
    far = np.linalg.norm(before - chart.place(lab[None])[0], axis=1)
    weight = np.exp(-0.5 * (far / max(_NEAR, float(np.sort(far)[:4].mean()))) ** 2)
    weight /= weight.sum()
    x, y = before - weight @ before, after - weight @ after
    spread = (x * weight[:, None]).T @ x
    stiff = (_STIFF * np.trace(spread) / 3.0 + _LEAST) * np.eye(3)
    turn = np.linalg.solve(spread + stiff, (x * weight[:, None]).T @ y + stiff).T
    return World(there, turn, weight @ after - turn @ (weight @ before))
