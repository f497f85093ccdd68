"""Picks by eye as weak evidence: what a person saw, with how far the eye may be off.

A pick says that a printed swatch looks like the aim. A model of the pair turns it into CIELAB;
picks that are weighed together, nudged, or lie between two swatches meet there; and the same model
turns the result back into a build. What is wrong with the model on the way out is wrong alike on
the way back, so that even a press that was never read
(:class:`~inkaccord.colour.sampling.design.GenericPress`) gives the picked swatch itself for a plain
pick, and a sensible neighbour for a nudge.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike

from inkaccord.colour.arrays import Array
from inkaccord.colour.delta_e import delta_e_2000, delta_e_2000_metric
from inkaccord.colour.ink_policy import Black, InkPolicy
from inkaccord.colour.matching.match import match
from inkaccord.colour.predictor import Predictor
from inkaccord.diagnostics import Diagnostic, warning
from inkaccord.errors import OrderError

SUREST, LEAST_SURE = 1.5, 3.0
"""Root mean square error of a pick, ΔE00: of a person who is sure, and of one who guesses (common
practice, no source)."""

NUDGE = 1.5
"""ΔE00 of 'a touch darker', and as much uncertainty again."""

_SHARED = 0.8
"""What the picks of one colour have in common (the light, the eyes, the reference itself): no
number of picks brings the error below it."""
_LEAST = 0.1
"""ΔE00: no opinion is taken to be surer than this."""
_BOUND = np.sqrt(7.814728 / 3.0)
"""From a root mean square error to its 95 % bound: χ² with three degrees of freedom."""
_CONTRADICTS = np.sqrt(11.344867 / 3.0)
"""The same at 99 %: a pick farther from the others than this contradicts them."""


class Direction(StrEnum):
    """How the wanted colour lies from a swatch."""

    DARKER = "darker"
    LIGHTER = "lighter"
    STRONGER = "stronger"
    """More colour: away from the paper's own."""
    WEAKER = "weaker"


@dataclass(frozen=True)
class Look:
    """One pick: the swatch's build, or two that the colour lies between, and how sure it is."""

    build: tuple[float, ...]
    between: tuple[float, ...] | None = None
    direction: Direction | None = None
    sure: float = 0.5
    """0 is a guess, 1 is certain."""
    doubt: float = 0.0
    """95 % bound, ΔE00, on how far the colour may lie from the swatch, were the eye perfect
    (:class:`~inkaccord.colour.offers.Offer`)."""

    @property
    def error(self) -> float:
        """Root mean square error, ΔE00, of the eye and of what it had to choose from."""
        return float(np.hypot(pick_error(self.sure), self.doubt / _BOUND))


@dataclass(frozen=True, eq=False)
class Fused:
    """Several colours taken together.

    Attributes
    ----------
    lab
        (3,) CIELAB.
    bound
        The aim lies within this ΔE00 of ``lab`` with 95 % probability.
    contradicting
        Which of them lie too far from the others, by their place.
    """

    lab: Array
    bound: float
    contradicting: tuple[int, ...]


@dataclass(frozen=True, eq=False)
class PickedBuild:
    """The build that picks ask for on one pair.

    Attributes
    ----------
    build
        (k,) whole numbers.
    lab
        (3,) what the model says it looks like: true only as far as the model is.
    bound
        The print lies within this ΔE00 of the aim with 95 % probability, by eye.
    findings
        Picks that contradict the others.
    """

    build: Array
    lab: Array
    bound: float
    findings: tuple[Diagnostic, ...]


def pick_error(sure: float) -> float:
    """Return the root mean square error of a pick, ΔE00, for how sure the person was (0 to 1)."""
    return LEAST_SURE + (SUREST - LEAST_SURE) * float(np.clip(sure, 0.0, 1.0))


def look_lab(model: Predictor, look: Look) -> tuple[Array, float]:
    """Return the CIELAB (3,) that a look asks for on a pair, and its root mean square error."""
    lab = model.predict_lab(np.array([look.build], dtype=np.float64))[0]
    error = look.error
    if look.between is not None:
        other = model.predict_lab(np.array([look.between], dtype=np.float64))[0]
        # Anywhere between the two: spread evenly, its deviation is the width by the root of 12.
        error = float(np.hypot(error, float(delta_e_2000(lab, other)) / np.sqrt(12.0)))
        lab = 0.5 * (lab + other)
    if look.direction is not None:
        lab = lab + _step(model, lab, look.direction)
        error = float(np.hypot(error, NUDGE))
    return lab, error


def fuse(labs: ArrayLike, errors: ArrayLike) -> Fused:
    """Weigh colours that should be one.

    Parameters
    ----------
    labs
        (n, 3) CIELAB, n ≥ 1.
    errors
        (n,) root mean square error of each, ΔE00.

    Notes
    -----
    Weights are one by the squared error; what lies too far off is weighed less, and where all of
    them scatter more than their errors say, the bound grows by as much (the Birge ratio).
    """
    colours = np.atleast_2d(np.asarray(labs, dtype=np.float64))
    spread = np.atleast_1d(np.asarray(errors, dtype=np.float64))
    if not len(colours):
        raise OrderError.of("no-picks", "no pick to weigh", hint="pick a swatch first")
    count = len(colours)
    weight = spread**-2.0
    contradicting = _contradicting(colours, spread)
    if len(contradicting) < count:
        # With more than two, one that stands alone is heard, but counts little.
        weight[list(contradicting)] *= 0.1
    lab = np.average(colours, axis=0, weights=weight)
    error = float(weight.sum() ** -0.5)
    if count > 1:
        scatter = float(np.sum(weight * delta_e_2000(colours, lab) ** 2) / (count - 1))
        error *= max(1.0, np.sqrt(scatter))
    return Fused(lab, float(_BOUND * np.hypot(error, _SHARED)), contradicting)


def fuse_picked(labs: ArrayLike, bounds: ArrayLike) -> Fused:
    """Weigh what was picked for one colour on several pairs.

    Parameters
    ----------
    labs
        (n, 3) CIELAB, n ≥ 1.
    bounds
        (n,) 95 % bound of each, ΔE00, as a :class:`PickedBuild` has it. What all picks share is in
        each of them, and is counted once.
    """
    errors = np.asarray(bounds, dtype=np.float64) / _BOUND
    return fuse(labs, np.sqrt(np.maximum(errors**2 - _SHARED**2, _LEAST**2)))


def _contradicting(colours: Array, spread: Array) -> tuple[int, ...]:
    """Return which lie farther from all others than the eye errs, the farthest taken out first."""
    left = list(range(len(colours)))
    out: list[int] = []
    while len(left) > 1:
        excess = np.empty(len(left))
        for place, i in enumerate(left):
            rest = [j for j in left if j != i]
            weight = spread[rest] ** -2.0
            others = np.average(colours[rest], axis=0, weights=weight)
            reach = _CONTRADICTS * np.hypot(spread[i], weight.sum() ** -0.5)
            excess[place] = float(delta_e_2000(colours[i], others)) / reach
        if excess.max() <= 1.0:
            break
        # Of the last two that disagree, nobody can say which is wrong.
        worst = left if len(left) == 2 else [left[int(excess.argmax())]]
        out.extend(worst)
        left = [i for i in left if i not in worst]
    return tuple(sorted(out))


def picked_build(
    model: Predictor,
    looks: Sequence[Look],
    policy: InkPolicy,
) -> PickedBuild:
    """Return the build that picks ask for.

    Parameters
    ----------
    model
        The pair's fitted model; where nothing was read, a generic press on its paper.
    looks
        The picks for one colour on this pair, one or more.
    policy
        The pair's limits. Black stays near what was picked.

    Raises
    ------
    OrderError
        ``no-picks``.
    """
    if not looks:
        raise OrderError.of("no-picks", "no pick to weigh", hint="pick a swatch first")
    seen = [look_lab(model, look) for look in looks]
    labs, errors = [lab for lab, _ in seen], [error for _, error in seen]
    fused = fuse(labs, errors)
    near = policy.model_copy(
        update={"black": Black.NEAR, "black_free_above": None, "spare_ink_within": 0.0}
    )
    found = match(model, fused.lab, near, near=_middle(looks))
    return PickedBuild(
        build=found.builds[0],
        lab=found.predicted_lab[0],
        bound=float(np.hypot(fused.bound, found.delta_e_00[0])),
        findings=tuple(_contradiction(i, len(looks), labs, fused) for i in fused.contradicting),
    )


def _middle(looks: Sequence[Look]) -> Array:
    """Return the mean of what was picked, (k,)."""
    builds = [
        np.mean([look.build] if look.between is None else [look.build, look.between], axis=0)
        for look in looks
    ]
    weights = [look.error**-2.0 for look in looks]
    return np.asarray(np.average(builds, axis=0, weights=weights))


def _step(model: Predictor, lab: Array, direction: Direction) -> Array:
    """Return a step of :data:`NUDGE` ΔE00 in CIELAB."""
    if direction in (Direction.DARKER, Direction.LIGHTER):
        way = np.array([1.0, 0.0, 0.0]) * (1 if direction is Direction.LIGHTER else -1)
    else:
        from_paper = lab - model.paper_lab
        flat = from_paper * [0.0, 1.0, 1.0]
        # A grey has no colour to be stronger in: it goes straight away from the paper.
        way = flat if np.linalg.norm(flat) > 5.0 else from_paper
        way = way * (1 if direction is Direction.STRONGER else -1)
    length = float(np.sqrt(way @ delta_e_2000_metric(lab) @ way))
    return np.asarray(way * (NUDGE / length)) if length > 0 else np.zeros(3)


def _contradiction(i: int, picks: int, labs: list[Array], fused: Fused) -> Diagnostic:
    far = float(delta_e_2000(labs[i], fused.lab))
    what = f"pick {i + 1} of {picks}" if i < picks else "what the readings say"
    return warning(
        "picks-disagree",
        f"{what} lies {far:.1f} ΔE00 from all opinions taken together, farther than the eye errs",
        hint="look again under a good, even light, and record the pick once more",
    )
