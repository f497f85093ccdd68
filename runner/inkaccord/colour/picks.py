"""What was picked by eye on a pair, as a build: all looks taken together.

A pick says that a printed swatch looks like the aim. A model of the pair turns swatches into
CIELAB; what was said of them is weighed there (:mod:`~inkaccord.colour.belief`); and the same model
turns the result back into a build. What is wrong with the model on the way out is wrong alike on
the way back, so that even a press that was never read
(:class:`~inkaccord.colour.sampling.design.GenericPress`) gives a picked swatch itself where nothing
speaks against it, and a sensible neighbour where something does.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TypeGuard

import numpy as np
from numpy.typing import ArrayLike

from inkaccord.colour.arrays import Array
from inkaccord.colour.belief import (
    BETWEEN_PEOPLE,
    Told,
    Whereabouts,
    judge,
    judge_alone,
    judge_together,
)
from inkaccord.colour.builds import Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.ink_policy import Black, InkPolicy
from inkaccord.colour.looks import Look, Offered
from inkaccord.colour.matching.match import match
from inkaccord.colour.predictor import Predictor
from inkaccord.colour.uncertainty import BEYOND_ERROR, BOUND
from inkaccord.diagnostics import Diagnostic, warning
from inkaccord.errors import OrderError

ANYWHERE = 9.0
"""Root mean square ΔE00 by which a thing may lie from the swatches first offered for it."""
SETTLED = 6.0
"""Bound, ΔE00, beyond which a colour was only seen from afar: it lies at the rim of what was
offered, or past it, and the next swatches go on from there."""
LOOKS_A_SHEET = 3
"""Looks that are asked for at each sheet: some time between them, or another person."""
STEPS_OFF = {Drive.CMYK: 0.01, Drive.RGB: 0.03}
"""How wrong the steps between swatches may be, as a share of them, for each ΔE00 of the 95 % bound
on what they look like: swatches that nobody has read stand in other places than the model has them
(0.010 to 0.025 on Debian's three profiles; more is taken behind drivers, which differ most)."""

_UNLIKELY = 5.0
"""By how much less likely, as a logarithm, a model makes what was said that is heard no further (no
source: one in 150)."""
_LEAST = 0.1
"""ΔE00: no opinion is taken to be surer than this."""


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
    model
        The model that fits what was said, of those that the pair may have.
    lab
        (3,) what the model says it looks like: true only as far as the model is.
    bound
        The print lies within this ΔE00 of the thing with 95 % probability, by eye.
    belief
        Where the thing lies, as the model has it.
    apart
        (n, n) ΔE00 between what each look says alone.
    findings
        Picks that contradict the others.
    """

    build: Array
    model: Predictor
    lab: Array
    bound: float
    belief: Whereabouts
    apart: Array = field(repr=False)
    findings: tuple[Diagnostic, ...]


def offered_on(model: Predictor, builds: ArrayLike, own: int | None = None) -> Offered:
    """Return swatches (n, k) as something to choose from; the first ``own`` are the thing's."""
    builds = np.asarray(builds, dtype=np.float64)
    labs = model.predict_lab(builds)
    return Offered(
        builds=builds,
        labs=labs,
        paper=model.paper_lab,
        steps_off=STEPS_OFF[model.drive] * float(np.median(model.bound(builds))),
        own=own,
    )


def guides(told: Told | None) -> TypeGuard[Told]:
    """Tell whether what others tell says more than that the thing lies somewhere about."""
    return told is not None and told.error < ANYWHERE


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
    return Fused(lab, float(BOUND * np.hypot(error, BETWEEN_PEOPLE)), contradicting)


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
    errors = np.asarray(bounds, dtype=np.float64) / BOUND
    return fuse(labs, np.sqrt(np.maximum(errors**2 - BETWEEN_PEOPLE**2, _LEAST**2)))


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
            reach = BEYOND_ERROR * np.hypot(spread[i], weight.sum() ** -0.5)
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
    others: Sequence[Predictor] = (),
    told: Told | None = None,
) -> PickedBuild:
    """Return the build that picks ask for.

    Parameters
    ----------
    model
        The pair's fitted model; where nothing was read, a generic press on its paper.
    looks
        The picks for one colour on this pair, one or more, the oldest first.
    policy
        The pair's limits. Black stays near what was picked.
    others
        What the pair may be as well, as likely before anything was said. Each has the swatches
        elsewhere, and the thing is thought to lie where ``model`` had the first of them: so what
        was said of them tells which it is.
    told
        Where the thing lies on this pair by what was found out on others: what :func:`guides`.

    Raises
    ------
    OrderError
        ``no-picks``.
    """
    if not looks:
        raise OrderError.of("no-picks", "no pick to weigh", hint="pick a swatch first")
    kinds = _likely_kinds(model, looks, others, told)
    near = policy.model_copy(
        update={"black": Black.NEAR, "black_free_above": None, "spare_ink_within": 0.0}
    )
    found = min((_asked_for(at, kinds, near) for at in range(len(kinds))), key=lambda it: it.error)
    alone = judge_alone(found.kind.looks, ANYWHERE)
    labs = np.array([it.lab for it in alone])
    # What the model has wrong of the way from a sheet to the thing is no contradiction either.
    steps = [look.offered.steps_off for look in looks] * delta_e_2000(labs, found.kind.belief.lab)
    errors = np.hypot([it.error for it in alone], steps)
    return PickedBuild(
        build=found.build,
        model=found.kind.model,
        lab=found.lab,
        bound=found.belief.bound_round(found.lab),
        belief=found.belief,
        apart=delta_e_2000(labs[:, None], labs[None]),
        findings=tuple(
            _contradiction(i, labs, found.kind.belief.lab) for i in _contradicting(labs, errors)
        ),
    )


@dataclass(frozen=True, eq=False)
class _Kind:
    """What a pair may be: its model, what was said of swatches as that has them, and the thing."""

    model: Predictor
    looks: tuple[Look, ...]
    belief: Whereabouts


@dataclass(frozen=True, eq=False)
class _Asked:
    """The build that one kind of pair asks for, and how all kinds have the thing beside it."""

    kind: _Kind
    build: Array
    lab: Array
    belief: Whereabouts

    @property
    def error(self) -> float:
        return self.belief.error_round(self.lab)


def _likely_kinds(
    model: Predictor, looks: Sequence[Look], others: Sequence[Predictor], told: Told | None
) -> list[_Kind]:
    """Return what a pair may be by what was said, without what is hardly likely."""
    # Who leaves the swatches laid for the thing says that it lies anywhere on the sheet.
    middle = looks[0].offered.labs.mean(axis=0)
    kinds: list[_Kind] = []
    least = -np.inf
    for one in (model, *others):
        own = tuple(looks) if one is model else _seen_by(one, looks)
        offered = np.concatenate([look.offered.labs for look in own])
        reach = float(np.sqrt(np.mean(delta_e_2000(offered, middle) ** 2)))
        belief = judge(own, middle, float(np.hypot(ANYWHERE, reach)), least, told)
        kinds.append(_Kind(one, own, belief))
        least = max(least, belief.evidence - _UNLIKELY)
    return [it for it in kinds if it.belief.evidence >= least]


def _seen_by(model: Predictor, looks: Sequence[Look]) -> tuple[Look, ...]:
    """Return looks at the same swatches, as another model has them."""
    offers = {id(it.offered): it.offered for it in looks}
    seen = {key: replace(it, labs=model.predict_lab(it.builds)) for key, it in offers.items()}
    return tuple(replace(look, offered=seen[id(look.offered)]) for look in looks)


def _asked_for(at: int, kinds: Sequence[_Kind], near: InkPolicy) -> _Asked:
    """Return the build that the kind in one place asks for."""
    ordered = [kinds[at], *kinds[:at], *kinds[at + 1 :]]
    kind = ordered[0]
    nearest = _nearest(kind.looks, kind.belief.lab)
    found = match(kind.model, kind.belief.lab, near, near=nearest)
    prints = np.concatenate([it.model.predict_lab(found.builds) for it in ordered])
    evidence = np.array([it.belief.evidence for it in ordered])
    odds = np.exp(evidence - evidence.max())
    belief = judge_together([it.belief for it in ordered], prints, odds / odds.sum())
    return _Asked(kind, found.builds[0], found.predicted_lab[0], belief)


def _nearest(looks: Sequence[Look], lab: Array) -> Array:
    """Return the build of the swatch that lies nearest to a colour, of all that were offered."""
    builds = np.concatenate([look.offered.builds for look in looks])
    labs = np.concatenate([look.offered.labs for look in looks])
    return np.asarray(builds[int(delta_e_2000(labs, lab).argmin())])


def _contradiction(i: int, labs: Array, lab: Array) -> Diagnostic:
    far = float(delta_e_2000(labs[i], lab))
    return warning(
        "picks-disagree",
        f"pick {i + 1} of {len(labs)} lies {far:.1f} ΔE00 from all opinions taken together, "
        "farther than the eye errs",
        hint="look again under a good, even light, and record the pick once more",
    )
