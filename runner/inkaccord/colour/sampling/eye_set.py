"""Swatches to pick from by eye: ladders through a build, in steps that the eye can tell apart."""

from collections.abc import Sequence
from itertools import product

import numpy as np
from numpy.typing import ArrayLike

from inkaccord.colour.arrays import Array
from inkaccord.colour.delta_e import delta_e_2000, delta_e_2000_metric
from inkaccord.colour.ink_policy import Black, InkPolicy
from inkaccord.colour.matching.match import match
from inkaccord.colour.predictor import Predictor

COARSE = 4.0
"""First rung of a first ladder, ΔE00 from the middle: a step that anyone sees. The second is twice
as far."""
FINEST, WIDEST = 1.2, 8.0
"""Rungs that are never finer, as the eye then tells nothing apart, and never wider."""
APART = 1.0
"""ΔE00 that any two swatches lie apart at least, as the model has them: less is not seen when they
do not touch (common practice, no source)."""
_OWN_SAY = 1.5
"""First rungs that a swatch for another driver lies from all others at least. At one rung the sheet
has a swatch or two more, and is a page longer for two colours; nothing comes nearer."""
_OF_SPREAD = 1.1
"""The rung that decides most, in standard deviations of where the thing may lie along its ladder
(0.9, 1.3, 1.4 and 2.0 were tried beside it)."""

_CORNERS = np.array(list(product((-1.0, 1.0), repeat=3))) / np.sqrt(3.0)
_GREY = 3.0
"""Chroma below which a colour has no hue: its ladders run from blue to yellow and green to red."""


def eye_set(
    model: Predictor,
    build: ArrayLike,
    policy: InkPolicy,
    steps: Sequence[float] = (COARSE,) * 3,
    others: Sequence[Predictor] = (),
) -> Array:
    """Return builds that an eye can tell apart, in ladders that cross at a build.

    The first ladder runs from dark to light, the second from weak to strong; the build stands in
    the middle of both, so that it is printed twice, and picking it twice tells how well a person
    repeats. The third turns the hue, without the middle. Then come mixtures of the three, and last
    what the middle's colour asks for where the pair prints otherwise than the model has it.

    Parameters
    ----------
    model
        What the pair is thought to print; a rough one will do, for only differences count.
    build
        (k,) the middle; what is beyond the pair's limits is brought within them first.
    policy
        The pair's limits; black stays near that of the middle.
    steps
        The first rung in lightness, chroma and hue, ΔE00. Where the pair's reach ends before the
        second, that is its end, if an eye can tell it from the others.
    others
        What the pair may be as well, while nothing has been said: there the middle is another
        colour, and all that lies round it may be far from the thing. What lies within a rung and
        a half of another swatch has its say there.

    Returns
    -------
    Array
        (n, k) whole-number builds. All but the middle stand once, any two :data:`APART` at least.
    """
    centre = np.rint(np.asarray(build, dtype=np.float64))
    if not policy.allows(centre, model.drive):
        centre = match(model, model.predict_lab(centre[None]), policy).builds[0]
    middle = model.predict_lab(centre[None])[0]
    rungs = np.array([-2.0, -1.0, 1.0, 2.0])
    places = np.concatenate([np.kron(np.eye(3), rungs[:, None]), 2.0 * _CORNERS]) * steps
    aims = middle + places @ ladder_ways(middle)
    aims[:, 0] = np.clip(aims[:, 0], 0.0, 100.0)
    near = policy.model_copy(
        update={"black": Black.NEAR, "black_free_above": None, "spare_ink_within": 0.0}
    )
    found = match(model, aims, near, near=centre)
    elsewhere = [match(other, middle[None], policy).builds for other in others]
    own, ladders = len(places), 3 * len(rungs)
    builds = np.concatenate([found.builds, *elsewhere])
    # Inner rungs first, mixtures last: what stands too near to an earlier one is left out.
    inner = np.argsort(np.tile(np.abs(rungs), 3), kind="stable")
    labs, last = model.predict_lab(builds), len(builds)
    kept = _apart(middle, labs, [*inner.tolist(), *range(ladders, own)])
    kept = _apart(middle, labs, range(own, last), kept, _OWN_SAY * min(steps))
    order = np.insert(np.arange(last), [2, len(rungs) + 2], last)
    rows = np.concatenate([builds, centre[None]])
    return np.asarray(rows[order[np.isin(order, [*kept, last])]])


def steps_of(spread: ArrayLike) -> tuple[float, float, float]:
    """Return the first rungs that decide most where a thing may lie so far off, (3,) ΔE00."""
    fine, chroma, hue = np.clip(_OF_SPREAD * np.asarray(spread), FINEST, WIDEST).tolist()
    return fine, chroma, hue


def ladder_ways(middle: Array) -> Array:
    """Return the steps in CIELAB (3, 3) of one ΔE00 in lightness, chroma and hue."""
    a, b = middle[1:]
    size = float(np.hypot(a, b))
    along = np.array([a, b]) / size if size >= _GREY else np.array([0.0, 1.0])
    ways = np.array([[1.0, 0.0, 0.0], [0.0, *along], [0.0, -along[1], along[0]]])
    metric = delta_e_2000_metric(middle)
    return np.asarray(ways / np.sqrt(np.einsum("ij,jk,ik->i", ways, metric, ways))[:, None])


def _apart(
    middle: Array,
    labs: Array,
    order: Sequence[int],
    before: Sequence[int] = (),
    apart: float = APART,
) -> list[int]:
    """Return which of (n, 3) colours lie apart from the middle and from all before them."""
    kept = list(before)
    for at in order:
        others = np.concatenate([middle[None], labs[kept]])
        if delta_e_2000(others, labs[at]).min() >= apart:
            kept.append(at)
    return kept
