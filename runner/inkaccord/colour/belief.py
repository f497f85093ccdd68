"""Where the colour of a thing lies, by everything that people said who held it beside swatches.

What an eye perceives is the thing with an error round it, and what a person says is a region of
that (:mod:`~inkaccord.colour.looks`). So the likelihood of a look is its region, blurred by the
eye's error; what one person's looks have wrong in common blurs them once, after they were taken
together. That is summed on a grid that closes in on what is likely, in each of many worlds: ways
in which the swatches may truly lie (:mod:`~inkaccord.colour.worlds`), and people may err. What was
said makes some of them likelier than others: who sees nothing near among coarse steps tells that
they are coarser still.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from inkaccord.colour.arrays import Array, Array32
from inkaccord.colour.chart import EvenChart
from inkaccord.colour.looks import Look, Offered, perceived
from inkaccord.colour.worlds import WORLDS, World, draw_eyes, world_near

BETWEEN_PEOPLE = 0.8
"""Root mean square ΔE00 by which one person's eyes (and lamp, and the reference itself) depart from
those of all: no number of that person's looks brings the error below it. Matches of twenty
observers across media differed by 2.5 CIELAB units on average between two of them (R. H. Alfvin,
M. D. Fairchild, Color Research & Application 22(3), 164–188, 1997, abstract): 1.9 for one, root
mean square, of which one person's own repetition is a part, and ΔE00 has about half of it."""

_EYES_APART = 0.35
"""Standard deviation of the logarithm of what a person errs by, as a multiple of what their word
lets expect, before anything was seen (no source)."""
_LAPSE = 0.003
"""Chance that an answer has nothing to do with the thing: misread, miswritten (no source)."""
_SEEN, _THINGS = 27, 17
"""Nodes along each axis: of what may be perceived, and of where the thing may lie."""
_NARROWEST = 0.4
"""Standard deviation that a grid can hold, in steps from node to node."""
_REACH = 4.0
"""Half a grid's width, in standard deviations of what lies on it."""
_HEARD = 8.0
"""As many worlds have a say at least: one over the sum of their squared shares (no source)."""
_KEPT = 0.995, 0.98
"""Share of what is likely that the second and the third pass go on with, the likeliest worlds
first."""


@dataclass(frozen=True, eq=False)
class Whereabouts:
    """Where the thing lies.

    Attributes
    ----------
    lab
        (3,) CIELAB as the model has it, of what prints nearest to the thing in all worlds.
    eye
        Root mean square error of a look, ΔE00, as the looks themselves let it seem.
    """

    lab: Array
    eye: float
    _chart: EvenChart = field(repr=False)
    _worlds: tuple[World, ...] = field(repr=False)
    _places: tuple[Array, ...] = field(repr=False)
    _weights: tuple[Array, ...] = field(repr=False)

    @property
    def error(self) -> float:
        """Root mean square ΔE00 between the print of ``lab`` and the thing."""
        squares = np.sum(self._off(self.lab) ** 2, axis=1)
        return float(np.sqrt(np.concatenate(self._weights) @ squares))

    def bound_round(self, lab: Array, sure: float = 0.95) -> float:
        """Return the ΔE00 of a colour's print within which the thing lies, with a probability."""
        far = np.linalg.norm(self._off(lab), axis=1)
        order = np.argsort(far, kind="stable")
        weights = np.concatenate(self._weights)[order]
        # Half of a node's own weight lies on its near side.
        return float(np.interp(sure, np.cumsum(weights) - 0.5 * weights, far[order]))

    def spread(self, ways: Array) -> tuple[Array, Array]:
        """Return the standard deviations (m,), ΔE00, along (m, 3) directions of CIELAB.

        The second (m,) are how many true ΔE00 one of the model's comes to, along them.
        """
        along = ways @ self._chart.slopes(self.lab).T
        along = along / np.linalg.norm(along, axis=1, keepdims=True)
        turned = along @ np.stack([world.turn.T for world in self._worlds])
        sizes = np.linalg.norm(turned, axis=2)
        mean = np.einsum("w,wmi->mi", self._shares, turned / sizes[..., None])
        mean /= np.linalg.norm(mean, axis=1, keepdims=True)
        off, weights = self._off(self.lab), np.concatenate(self._weights)
        off = off - weights @ off
        return np.sqrt(weights @ (off @ mean.T) ** 2), np.asarray(self._shares @ sizes)

    def change_by(self, looks: int) -> float:
        """Return the root mean square ΔE00 by which so many more looks would change the mean.

        What eyes have in common with themselves no further look of theirs changes.
        """
        unknown = max(self.error**2 - BETWEEN_PEOPLE**2, 0.0)
        return float(unknown / np.sqrt(unknown + self.eye**2 / looks)) if unknown else 0.0

    def alone(self, looks: Sequence[Look], error: float) -> tuple[Array, Array, Array]:
        """Return where a thing would lie by each look alone, to tell which contradict.

        That is in the likeliest of all worlds, if the thing was thought to lie where its swatches
        were offered, give or take ``error`` ΔE00.

        Returns
        -------
        tuple
            (n, 3) CIELAB, (n,) root mean square errors, ΔE00, and (3,) CIELAB of ``lab`` there.
        """
        likeliest = self._worlds[int(self._shares.argmax())]
        own = self._chart.place(self.lab[None])[0]
        found = []
        for look in looks:
            middle = self._chart.place(look.offered.labs).mean(axis=0)
            # What is doubtful of the way from a sheet to the thing is no contradiction.
            ways = np.stack([world.turn @ (middle - own) for world in self._worlds])
            doubt = self._shares @ np.sum((ways - likeliest.turn @ (middle - own)) ** 2, axis=1)
            start = likeliest.place(middle)
            grid = _Grid(start, np.full(3, np.sqrt(3.0) * error), [look], likeliest, self._chart)
            weights = _odds(grid.gaussian(start, error) + grid.told({look.by: 1.0}))
            place = weights @ grid.places
            spread = weights @ np.sum((grid.places - place) ** 2, axis=1)
            found.append((self._chart.lab(place[None])[0], np.sqrt(spread + doubt)))
        labs, errors = (np.array(it) for it in zip(*found, strict=True))
        return labs, errors, self._chart.lab(likeliest.place(own)[None])[0]

    @property
    def _shares(self) -> Array:
        """How likely each world is, (w,)."""
        return np.array([it.sum() for it in self._weights])

    def _off(self, lab: Array) -> Array:
        """Return how the thing may lie from the print of a colour (3,), in all worlds."""
        place = self._chart.place(lab[None])[0]
        return np.concatenate(
            [it - world.place(place) for it, world in zip(self._places, self._worlds, strict=True)]
        )


def judge(
    looks: Sequence[Look],
    lab: Array,
    error: float,
    printed: Mapping[Offered, Array] | None = None,
) -> Whereabouts:
    """Return where a thing lies.

    Parameters
    ----------
    looks
        Everything that was said of it, one look or more.
    lab, error
        (3,) CIELAB about which it was thought to lie before, and the root mean square ΔE00 by which
        it may lie elsewhere.
    printed
        (w, n, 3) CIELAB of what was offered, in every world; without, it is what the model has it
        for in all of them.
    """
    offers = dict.fromkeys(it.offered for it in looks)
    labs = printed or {it: np.repeat(it.labs[None], WORLDS, axis=0) for it in offers}
    chart, people = EvenChart.round(lab), dict.fromkeys(it.by for it in looks)
    eyes = {by: draw_eyes(_EYES_APART, at) for at, by in enumerate(people)}
    start, half = chart.place(lab[None])[0], np.full(3, np.sqrt(3.0) * error)
    grown: dict[int, tuple[Array, Array]] = {}
    kept, at = list(range(WORLDS)), lab
    for share in (*_KEPT, None):
        worlds = [world_near(at, chart, {it: labs[it][row] for it in offers}) for row in kept]
        grids, told = [], []
        for row, world in zip(kept, worlds, strict=True):
            about, reach = grown.get(row, (world.place(start), half))
            grid = _Grid(about, reach, looks, world, chart)
            own = {by: float(eyes[by][row]) for by in people}
            likely = grid.gaussian(world.place(start), error) + grid.told(own)
            grids.append(grid)
            told.append(likely + np.log(np.prod(grid.half)))
        weights = _weigh(told)
        erring = [_erring(looks, {by: float(eyes[by][row]) for by in people}) for row in kept]
        found = _nearest(chart, worlds, [it.places for it in grids], weights, erring)
        if share is None:
            break
        at, likeliest = found.lab, _likeliest([it.sum() for it in weights], share)
        for place in likeliest:
            grown[kept[place]] = grids[place].closing_in(weights[place])
        kept = [kept[place] for place in likeliest]
    return found


def _weigh(told: Sequence[Array]) -> list[Array]:
    """Return the weights of each world's nodes, by their logarithms; all add up to one.

    Of so few worlds none is quite the true one: however well one fits, :data:`_HEARD` of them are.
    """
    most = np.array([it.max() for it in told])
    own = [np.exp(it - it.max()) for it in told]
    evidence = most + np.log([it.sum() for it in own])
    for power in np.linspace(1.0, 0.0, 26):
        shares = _odds(power * evidence)
        if np.sum(shares**2) * min(_HEARD, len(told)) <= 1.0:
            break
    return [share * it / it.sum() for share, it in zip(shares, own, strict=True)]


def _likeliest(shares: Sequence[float], enough: float) -> list[int]:
    """Return the places of the largest shares that make up enough of all."""
    order = np.argsort(-np.array(shares), kind="stable")
    count = int(np.searchsorted(np.cumsum(np.array(shares)[order]), enough)) + 1
    return sorted(order[:count].tolist())


def _erring(looks: Sequence[Look], eyes: Mapping[str, float]) -> float:
    """Return the mean square error of looks by such eyes."""
    return float(np.mean([(it.error * (1.0 if it.compared else eyes[it.by])) ** 2 for it in looks]))


def _nearest(
    chart: EvenChart,
    worlds: Sequence[World],
    places: Sequence[Array],
    weights: Sequence[Array],
    erring: Sequence[float],
) -> Whereabouts:
    """Return the colour whose print lies nearest to the thing in all worlds: least squares."""
    shares = np.array([it.sum() for it in weights])
    left, right = np.zeros((3, 3)), np.zeros(3)
    for world, here, weight in zip(worlds, places, weights, strict=True):
        left += weight.sum() * world.turn.T @ world.turn
        right += world.turn.T @ (weight @ (here - world.shift))
    place = np.asarray(np.linalg.solve(left, right), dtype=np.float64)
    eye = float(np.sqrt(shares @ erring))
    lab = chart.lab(place[None])[0]
    return Whereabouts(lab, eye, chart, tuple(worlds), tuple(places), tuple(weights))


class _Grid:
    """Nodes in a world: of where the thing may lie, and of what an eye may take it for."""

    def __init__(
        self, about: Array, half: Array, looks: Sequence[Look], world: World, chart: EvenChart
    ) -> None:
        self.looks, self.world, self.chart = looks, world, chart
        margin = 2.5 * max(it.error for it in looks) / np.sqrt(3.0)
        self.things = _axes(about, half, _THINGS)
        self.seen = _axes(about, half + margin, _SEEN)
        self.places = _nodes(self.things)
        self.half = half

    def gaussian(self, place: Array, error: float) -> Array:
        """Return the log density at each node of a place that is known with an error.

        As all else, it is never narrower than the nodes let it be.
        """
        step = np.array([axis[1] - axis[0] for axis in self.things])
        off = (self.places - place) / np.hypot(error / np.sqrt(3.0), _NARROWEST * step)
        return np.asarray(-0.5 * np.sum(off**2, axis=1))

    def closing_in(self, weights: Array) -> tuple[Array, Array]:
        """Return the middle (3,) of what is likely here, and how far a grid must reach (3,)."""
        weights = weights / weights.sum()
        mean = weights @ self.places
        reach = _REACH * np.sqrt(weights @ (self.places - mean) ** 2)
        return mean, np.minimum(reach, self.half)

    def told(self, eyes: Mapping[str, float]) -> Array:
        """Return the log likelihood of all looks by people who err by so much of their word."""
        total = np.zeros(len(self.places))
        for lab, error in (it.compared for it in self.looks if it.compared is not None):
            total += self.gaussian(self.world.place(self.chart.place(lab[None])[0]), error)
        people = [it for it in self.looks if it.compared is None]
        for by in dict.fromkeys(it.by for it in people):
            told = np.zeros(len(self.places))
            for offered in dict.fromkeys(it.offered for it in people if it.by == by):
                own = [it for it in people if it.by == by and it.offered is offered]
                told += self._of_sheet(own, eyes[by])
            total += self._shared(told, BETWEEN_PEOPLE)
        return total

    def _of_sheet(self, looks: Sequence[Look], eye: float) -> Array:
        """Return the log likelihood of a person's looks at one sheet."""
        offered = looks[0].offered
        inside = perceived(looks, _nodes(self.seen), self.world.swatches[offered], self.chart)
        told = np.zeros(len(self.places))
        for error in dict.fromkeys(it.error for it in looks):
            same = [it for it, look in zip(inside, looks, strict=True) if look.error == error]
            regions = np.stack(same).reshape(-1, *(_SEEN,) * 3)
            likely = _blurred(regions, self.seen, self.things, eye * error / np.sqrt(3.0))
            chance = _LAPSE / len(offered.labs)
            told += np.log((1.0 - _LAPSE) * likely.reshape(len(same), -1) + chance).sum(axis=0)
        return told

    def _shared(self, told: Array, error: float) -> Array:
        """Return a log likelihood blurred by what its looks have wrong in common."""
        most = told.max()
        likely = np.exp(told - most).astype(np.float32).reshape(1, *(_THINGS,) * 3)
        blurred = _blurred(likely, self.things, self.things, error / np.sqrt(3.0))
        return np.asarray(np.log(np.maximum(blurred.ravel(), 1e-30)) + most)


def _odds(told: Array) -> Array:
    """Return weights that add up to one, by their logarithms."""
    odds = np.exp(told - told.max())
    return np.asarray(odds / odds.sum())


def _axes(about: Array, half: Array, count: int) -> list[Array]:
    return [at + np.linspace(-it, it, count) for at, it in zip(about, half, strict=True)]


def _nodes(axes: Sequence[Array]) -> Array:
    return np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)


def _blurred(values: Array32, seen: Sequence[Array], things: Sequence[Array], sd: float) -> Array32:
    """Return (n, t, t, t) means of (n, s, s, s) values by a Gaussian round nodes of other axes.

    It is never narrower than the nodes let it be.
    """
    first, second, third = (_kernel(*axes, sd) for axes in zip(seen, things, strict=True))
    count, size = len(values), len(seen[0])
    values = first @ values.reshape(count, size, -1)
    values = second @ values.reshape(count, -1, size, size)
    return np.asarray(values @ third.T)


def _kernel(have: Array, want: Array, sd: float) -> Array32:
    step = max(have[1] - have[0], want[1] - want[0])
    weights = np.exp(-0.5 * ((want[:, None] - have) / np.hypot(sd, _NARROWEST * step)) ** 2)
    return np.asarray(weights / weights.sum(axis=1, keepdims=True), dtype=np.float32)
