"""Where the colour of a thing lies, by everything that people said who held it beside swatches.

What an eye perceives is the thing with an error round it, and what a person says is a region of
that (:mod:`~inkaccord.colour.looks`). So the likelihood of a look is its region, blurred by the
eye's error. What several looks have wrong in common blurs them once, after they were taken
together: the steps of one sheet, as the model has them; one person's eyes. All of it is summed on a
grid that closes in on what is likely: nothing is drawn by chance.
"""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass, field

import numpy as np

from inkaccord.colour.arrays import Array
from inkaccord.colour.chart import EvenChart
from inkaccord.colour.looks import Look, Offered, perceived

BETWEEN_PEOPLE = 0.8
"""Root mean square ΔE00 by which one person's eyes (and lamp, and the reference itself) depart from
those of all: no number of that person's looks brings the error below it. Matches of twenty
observers across media differed by 2.5 CIELAB units on average between two of them (R. H. Alfvin,
M. D. Fairchild, Color Research & Application 22(3), 174–188, 1997, abstract): 1.9 for one, root
mean square, of which one person's own repetition is a part, and ΔE00 has about half of it."""

HEARSAY = 0.1
"""Chance that what is told of a thing from elsewhere is no guide to where it lies here: a device
that prints as no other does (no source)."""

_EYES = np.array([0.5, 0.7, 1.0, 1.4, 2.0])
"""What a person may err by, as multiples of what their word lets expect …"""
_EYES_APART = 0.35
"""… and the standard deviation of its logarithm, before anything was seen (no source)."""
_SCANNERS = np.array([0.21, 0.35, 0.6, 1.0, 1.7])
"""What a scanner or a telephone may err by, as multiples of what it states: that has to hold for
nearly all of them, and so is too much for most …"""
_SCANNERS_APART = 0.6
"""… and the standard deviation of its logarithm (0.5 round 0.55 among drawn scanners,
``tests/benchmarks/seeing.py``; with this, 95 of 100 lie within the bound that is stated)."""
_ALIKE = 0.3
"""Correlation of what a scanner and a telephone err by: none between drawn ones on the whole, up to
0.4 between two single ones whose sensors are published."""
_LAPSE = 0.003
"""Chance that an answer has nothing to do with the thing: misread, miswritten (no source)."""
_SEEN, _THINGS = 31, 21
"""Nodes along each axis: of what may be perceived, and of where the thing may lie."""
_PASSES = 3
_NARROWEST = 0.4
"""Standard deviation that a grid can hold, in steps from node to node."""
_REACH = 4.0
"""Half a grid's width, in standard deviations of what lies on it."""


@dataclass(frozen=True, eq=False)
class Told:
    """Where a thing is thought to lie before anyone has looked.

    Attributes
    ----------
    lab
        (3,) CIELAB.
    error
        Root mean square ΔE00 by which it may lie elsewhere.
    """

    lab: Array
    error: float

    @property
    def spread(self) -> Array:
        """The standard deviation, ΔE00, along each of three directions: (3,), all alike."""
        return np.full(3, self.error / np.sqrt(3.0))


@dataclass(frozen=True, eq=False)
class Whereabouts:
    """Where the thing lies.

    Attributes
    ----------
    lab
        (3,) CIELAB: the mean.
    error
        Root mean square distance from the mean, ΔE00.
    eye
        Root mean square error of a look, ΔE00, as the looks themselves let it seem.
    evidence
        Logarithm of how likely all was said that was said, but for what is the same for all models.
    chart, places, weights
        (n, 3) places on a chart where the thing may lie, and how likely each is.
    """

    lab: Array
    error: float
    eye: float
    evidence: float
    chart: EvenChart = field(repr=False)
    places: Array = field(repr=False)
    weights: Array = field(repr=False)

    def bound_round(self, lab: Array) -> float:
        """Return the ΔE00 of a colour (3,) within which the thing lies, 95 times in 100."""
        far = self._far(lab)
        order = np.argsort(far, kind="stable")
        weights = self.weights[order]
        # Half of a node's own weight lies on its near side.
        return float(np.interp(0.95, np.cumsum(weights) - 0.5 * weights, far[order]))

    def error_round(self, lab: Array) -> float:
        """Return the root mean square ΔE00 by which the thing lies from a colour (3,)."""
        return float(np.sqrt(self.weights @ self._far(lab) ** 2))

    def _far(self, lab: Array) -> Array:
        return np.asarray(np.linalg.norm(self.places - self.chart.place(lab[None])[0], axis=1))

    def spread(self, ways: Array) -> Array:
        """Return the standard deviations (m,), ΔE00, along (m, 3) directions of CIELAB."""
        along = ways @ self.chart.slopes(self.lab).T
        along = along / np.linalg.norm(along, axis=1, keepdims=True)
        off = self.places - self.weights @ self.places
        return np.asarray(np.sqrt(self.weights @ (off @ along.T) ** 2))

    def change_by(self, looks: int) -> float:
        """Return the root mean square ΔE00 by which so many more looks would change the mean.

        What eyes have in common with themselves no further look of theirs changes.
        """
        unknown = max(self.error**2 - BETWEEN_PEOPLE**2, 0.0)
        return float(unknown / np.sqrt(unknown + self.eye**2 / looks)) if unknown else 0.0

    @property
    def half(self) -> Array:
        """How far a grid must reach that holds it, (3,) ΔE00."""
        off = self.places - self.weights @ self.places
        return np.asarray(_REACH * np.sqrt(self.weights @ off**2))


def judge(
    looks: Sequence[Look],
    lab: Array,
    error: float,
    least: float = -np.inf,
    told: Told | None = None,
) -> Whereabouts:
    """Return where a thing lies.

    Parameters
    ----------
    looks
        Everything that was said of it, one look or more.
    lab, error
        (3,) CIELAB about which it was thought to lie before, and the root mean square ΔE00 by which
        it may lie elsewhere.
    least
        Evidence below which a rough answer is enough.
    told
        What was found out elsewhere, which is right but for :data:`HEARSAY`.
    """
    about, half = lab, np.full(3, 3.0 * error / np.sqrt(3.0))
    for _ in range(_PASSES):
        grid = _Grid(about, half, looks)
        before = grid.gaussian(lab, error)
        if told is not None:
            guided = np.log1p(-HEARSAY) + 3.0 * np.log(error / told.error)
            guided = guided + grid.gaussian(told.lab, told.error)
            before = np.logaddexp(guided, np.log(HEARSAY) + before)
        said, eye = grid.told(about)
        found = grid.belief(before + said, eye)
        if found.evidence < least:
            break
        about, half = found.lab, np.minimum(half, found.half)
    return found


def judge_together(beliefs: Sequence[Whereabouts], prints: Array, odds: Array) -> Whereabouts:
    """Return how a thing lies from a print, by several models that each have both elsewhere.

    Parameters
    ----------
    beliefs
        Where the thing lies as each model has it, one or more.
    prints
        (n, 3) CIELAB of the print as each has it. The first model's is the one that is kept.
    odds
        (n,) how likely each model is; they add up to one.
    """
    first = beliefs[0]
    here = first.chart.place(prints[:1])
    places = [
        belief.places - belief.chart.place(lab[None]) + here
        for belief, lab in zip(beliefs, prints, strict=True)
    ]
    weights = [it.weights * share for it, share in zip(beliefs, odds, strict=True)]
    return _summed(
        first.chart, np.concatenate(places), np.concatenate(weights), first.eye, first.evidence
    )


def _summed(
    chart: EvenChart, places: Array, weights: Array, eye: float, evidence: float
) -> Whereabouts:
    mean = weights @ places
    error = float(np.sqrt(weights @ np.sum((places - mean) ** 2, axis=1)))
    return Whereabouts(chart.lab(mean[None])[0], error, eye, evidence, chart, places, weights)


def judge_alone(looks: Sequence[Look], error: float) -> list[Whereabouts]:
    """Return where a thing would lie by each look alone; roughly, to tell which contradict.

    It was thought to lie where its swatches were offered, or where one beyond them was named, give
    or take ``error`` ΔE00.
    """
    grids: dict[tuple[int, int | None], _Grid] = {}
    found = []
    for look in looks:
        labs, beyond = look.offered.labs, look.swatch if look.beyond_own else None
        middle = labs.mean(axis=0) if beyond is None else labs[beyond]
        if (place := (id(look.offered), beyond)) not in grids:
            grids[place] = _Grid(middle, np.full(3, 3.0 * error / np.sqrt(3.0)), looks)
        grid = grids[place]
        told = grid.gaussian(middle, error) + grid.look(look, np.ones(1))[0]
        found.append(grid.belief(told, look.error))
    return found


class _Grid:
    """Nodes round a colour: of where the thing may lie, and of what an eye may take it for."""

    def __init__(self, about: Array, half: Array, looks: Sequence[Look]) -> None:
        self.chart, self.looks = EvenChart.round(about), looks
        margin = 2.5 * max(it.error for it in looks) / np.sqrt(3.0)
        self.things = [np.linspace(-it, it, _THINGS) for it in half]
        self.seen = [np.linspace(-it - margin, it + margin, _SEEN) for it in half]
        self.places = _nodes(self.things)
        self._perceived = _nodes(self.seen)
        self._told: dict[tuple[Hashable, ...], Array] = {}

    def belief(self, log_weights: Array, eye: float) -> Whereabouts:
        most = log_weights.max()
        weights = np.exp(log_weights - most)
        total = weights.sum()
        node = np.prod([axis[1] - axis[0] for axis in self.things])
        evidence = float(most + np.log(total * node))
        return _summed(self.chart, self.places, weights / total, eye, evidence)

    def gaussian(self, lab: Array, error: float) -> Array:
        """Return the log density at each node of a colour that is known with an error.

        As all else, it is never narrower than the nodes let it be.
        """
        step = np.array([axis[1] - axis[0] for axis in self.things])
        off = (self.places - self.chart.place(lab[None])[0]) / np.hypot(
            error / np.sqrt(3.0), _NARROWEST * step
        )
        return np.asarray(-0.5 * np.sum(off**2, axis=1))

    def told(self, about: Array) -> tuple[Array, float]:
        """Return the log likelihood of all looks, and the root mean square error of the eyes."""
        total, eyes = np.zeros(len(self.places)), []
        people = [it for it in self.looks if it.compared is None]
        scans: dict[str, list[tuple[Array, float]]] = {}
        for look in self.looks:
            if look.compared is not None:
                scans.setdefault(look.by, []).append(look.compared)
        for own in scans.values():
            # One scanner sees a thing as wrongly the second time: more scans are no more opinions.
            sure = [error**-2.0 for _, error in own]
            opinion = np.average([self._scan(*it) for it in own], axis=0, weights=sure)
            total += opinion / (1.0 + _ALIKE * (len(scans) - 1))
        for person in dict.fromkeys(it.by for it in people):
            told, eye = self._of_person([it for it in people if it.by == person], about)
            total += self._shared(told, BETWEEN_PEOPLE)
            eyes.append(eye)
        return total, float(np.sqrt(np.mean(np.square(eyes)))) if eyes else self.looks[0].error

    def look(self, look: Look, eyes: Array) -> Array:
        """Return the log likelihood of one look, (e, n), by eyes that err so much of its word."""
        if look.compared is not None:
            return np.tile(self._scan(*look.compared), (len(eyes), 1))
        asked = (*look.answer, look.error)
        if asked not in self._told:
            self._told[asked] = self._of_eyes(look, eyes * look.error)
        return self._told[asked]

    def _scan(self, lab: Array, error: float) -> Array:
        """Return the log likelihood of what a scanner found, whatever that scanner errs by."""
        off = np.log(_SCANNERS / np.median(_SCANNERS)) / _SCANNERS_APART
        odds = np.exp(-0.5 * off**2)
        each = [
            np.log(share) - 3.0 * np.log(times) + self.gaussian(lab, times * error)
            for times, share in zip(_SCANNERS, odds / odds.sum(), strict=True)
        ]
        return np.asarray(np.logaddexp.reduce(each, axis=0))

    def _of_eyes(self, look: Look, errors: Array) -> Array:
        """Return the log likelihood of what eyes say that err by so many ΔE00, (e,)."""
        region = perceived(look, self._perceived, self.chart).reshape((_SEEN,) * 3)
        inside = _blurred(region, self.seen, self.things, errors / np.sqrt(3.0))
        chance = 1.0 / len(look.offered.labs)
        told = np.log((1.0 - _LAPSE) * inside + _LAPSE * chance)
        return np.asarray(told.reshape(len(errors), -1))

    def _of_person(self, own: Sequence[Look], about: Array) -> tuple[Array, float]:
        """Return the log likelihood of a person's looks, whatever the person errs by."""
        told = self._of_sheets(own, about)
        told -= 0.5 * (np.log(_EYES)[:, None] / _EYES_APART) ** 2
        most = told.max()
        odds = np.exp(told - most)
        eyes = odds.sum(axis=1) / odds.sum()
        error = np.mean([it.error**2 for it in own]) * (eyes @ _EYES**2)
        return _log(odds.sum(axis=0)) + most, float(np.sqrt(error))

    def _of_sheets(self, own: Sequence[Look], about: Array) -> Array:
        """Return the log likelihood of looks, (e, n), by each of the eyes that a person may have.

        Those at one sheet share how its steps are off.
        """
        total = np.zeros((len(_EYES), len(self.places)))
        for offered in {id(it.offered): it.offered for it in own}.values():
            told = np.zeros_like(total)
            for look in own:
                if look.offered is offered:
                    told += self.look(look, _EYES)
            total += self._shared(told, offered.steps_off * self._from_swatches(offered, about))
        return total

    def _from_swatches(self, offered: Offered, about: Array) -> float:
        """Return how far a colour lies from the three swatches next to it, on average.

        Of those that were laid for the thing: others stand in other places than a model has them.
        """
        own = self.chart.place(offered.labs[: offered.own])
        far = np.linalg.norm(own - self.chart.place(about[None])[0], axis=1)
        return float(np.sort(far)[:3].mean())

    def _shared(self, told: Array, error: float) -> Array:
        """Return log likelihoods (..., n) blurred by what their looks have wrong in common."""
        if error <= 0.0:
            return told
        most = told.max(axis=-1, keepdims=True)
        likely = np.exp(told - most).reshape(*told.shape[:-1], *(_THINGS,) * 3)
        blurred = _blurred(likely, self.things, self.things, np.array(error / np.sqrt(3.0)))
        return np.asarray(_log(blurred.reshape(told.shape)) + most)


def _log(values: Array) -> Array:
    return np.asarray(np.log(np.maximum(values, 1e-300)))


def _nodes(axes: Sequence[Array]) -> Array:
    # Each axis lies in a row of its own, so that sums over the three are quick.
    return np.stack(np.meshgrid(*axes, indexing="ij")).reshape(3, -1).T


def _blurred(values: Array, seen: Sequence[Array], things: Sequence[Array], sd: Array) -> Array:
    """Return (..., t, t, t) means of (..., s, s, s) values round each node of other axes.

    They are by Gaussians of the standard deviations (...), which are never narrower than the nodes
    let them be.
    """
    along, down, across = (_means(*axes, sd) for axes in zip(seen, things, strict=True))
    size = values.shape[-1]
    values = along @ values.reshape(*values.shape[:-2], -1)
    values = values.reshape(*values.shape[:-2], -1, size) @ np.swapaxes(across, -1, -2)
    values = values.reshape(*values.shape[:-2], -1, size, values.shape[-1])
    return np.asarray(down[..., None, :, :] @ values)


def _means(have: Array, want: Array, sd: Array) -> Array:
    """Return the weights (..., t, s) of nodes of an axis in the means round those of another."""
    step = max(have[1] - have[0], want[1] - want[0])
    width = np.hypot(sd, _NARROWEST * step)[..., None, None]
    weights = np.exp(-0.5 * ((want[:, None] - have) / width) ** 2)
    return np.asarray(weights / weights.sum(axis=-1, keepdims=True))
