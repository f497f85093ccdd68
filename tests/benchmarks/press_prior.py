"""Learn what presses have in common, from open characterisation data: means and spreads.

``python tests/benchmarks/press_prior.py [--without NAME] [FILE…]``

prints each mean and spread of ``runner/inkaccord/colour/press/priors.py`` as the data have it
beside the one that is kept there, which is rounded, and wider for devices unlike these.

FILE is as in ``usual_residual.py``. Each set is fitted by itself with a prior so wide that its
readings alone count. What they say of the parameters is a Gaussian; the population that these are
likeliest under is sought, means and spreads by turns; what each set leaves open is counted.
``--without NAME`` leaves a set and its relations out, to see how much hangs on them.
"""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("OMP_NUM_THREADS", "1")

from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass, fields, replace
from pathlib import Path

import numpy as np
from scipy.optimize import minimize
from usual_residual import MOST, alike, asked_sets, fitted
from virtual_pairs import RawSet

from inkaccord.colour.press.priors import MEANS, SPREADS, Means, Prior, Spreads, ink_prior

LOOSE = 4.0
"""How much wider than the kept spreads the prior is under which each set is fitted."""
SMALL, REACH, END = 1e-4, 0.5, 0.01
"""A step to tell slopes by; how far means (in steps) and logarithms of spreads go in a round; the
gain in -2 ln of the likelihood with which it ends."""
LEFT = 0.01
"""How much of that prior's information stays."""
STEPS = {"paper": 5.0, "inks": 5.0, "floor": 0.006, "departures": 0.1, "gains": 0.1}
"""By how much means may move, so that the search takes steps of one size. The paper under the
solids stays: they count relative to it."""


@dataclass(frozen=True, eq=False)
class Said:
    """What the readings of one set say of the parameters, as if nothing had been known of them."""

    mean: np.ndarray
    """(p,)"""
    covariance: np.ndarray
    """(p, p)"""
    weight: float
    """One over how many relations the set has, itself counted."""

    @classmethod
    def by(cls, raw: RawSet, prior: Prior, most: int, weight: float) -> "Said":
        posterior = fitted(raw, prior, most)
        size = prior.layout.size
        whole = posterior.information @ posterior.information.T  # whitened by the prior's spread
        # The sheet's own drift stays under its prior; of the parameters' next to all is taken out
        # again: what is left keeps what no reading tells from running away.
        out = np.where(np.arange(len(whole)) < size, 1.0 - LEFT, 0.0)
        fits, known = (
            np.linalg.solve(posterior.root, values)
            for values in (posterior.parameters, posterior.prior.mean)
        )
        alone = np.linalg.inv(whole - np.diag(out))
        mean = posterior.root @ alone @ (whole @ fits - out * known)
        covariance = posterior.root @ alone @ posterior.root.T
        return cls(mean[:size], covariance[:size, :size], weight)

    def unlikely(self, prior: Prior) -> float:
        """-2 ln of how likely it is under a population, but for a constant."""
        spread = prior.covariance + self.covariance
        apart = self.mean - prior.mean
        return float(np.linalg.slogdet(spread)[1] + apart @ np.linalg.solve(spread, apart))


def flat(means: Means) -> np.ndarray:
    """The means that are learned, in steps of about their spread."""
    departures = [values for _, values in means.departures]
    gains = [[*first, second, third] for first, second, third in means.gains]
    parts = {
        "paper": means.paper, "inks": means.inks, "floor": means.floor,
        "departures": departures, "gains": gains,
    }  # fmt: skip
    return np.concatenate(
        [
            *(np.ravel(np.asarray(parts[name])) / step for name, step in STEPS.items()),
            [1.0 / means.yule_nielsen / 0.1],
        ]
    )


def unflat(values: np.ndarray) -> Means:
    """Undo :func:`flat`."""
    left = iter(values)

    def take(count: int, step: float) -> list[float]:
        return [float(next(left)) * step for _ in range(count)]

    paper = tuple(take(3, STEPS["paper"]))
    inks = tuple(tuple(take(3, STEPS["inks"])) for _ in MEANS.inks)
    (floor,) = take(1, STEPS["floor"])
    departures = tuple((name, tuple(take(3, STEPS["departures"]))) for name, _ in MEANS.departures)
    gains = []
    for _ in MEANS.gains:
        red, green, blue, second, third = take(5, STEPS["gains"])
        gains.append(((red, green, blue), second, third))
    (inverse,) = take(1, 0.1)
    return replace(
        MEANS,
        paper=paper,
        inks=inks,
        floor=max(floor, 1e-4),
        departures=departures,
        gains=tuple(gains),
        yule_nielsen=1.0 / inverse,
    )


def unlikely(said: Sequence[Said], means: Means, spreads: Spreads) -> float:
    """-2 ln of how likely all sets are under a population, but for a constant."""
    prior = ink_prior(means, spreads)
    return sum(one.weight * one.unlikely(prior) for one in said)


def nearer_means(said: Sequence[Said], means: Means, spreads: Spreads) -> Means:
    """Likelier means under these spreads: a Gauss-Newton step, as far as it helps."""
    at, prior = flat(means), ink_prior(means, spreads)
    slopes = np.empty((len(prior.mean), len(at)))
    for index in range(len(at)):
        moved = at.copy()
        moved[index] += SMALL
        slopes[:, index] = (ink_prior(unflat(moved), spreads).mean - prior.mean) / SMALL
    information, pull = np.zeros((len(at), len(at))), np.zeros(len(at))
    for one in said:
        weighed = one.weight * np.linalg.solve(prior.covariance + one.covariance, slopes)
        information += slopes.T @ weighed
        pull += (one.mean - prior.mean) @ weighed
    step = np.linalg.solve(information, pull)
    step /= max(1.0, np.abs(step).max() / REACH)
    before = unlikely(said, means, spreads)
    for halved in range(10):
        tried = unflat(at + step / 2**halved)
        if unlikely(said, tried, spreads) < before:
            return tried
    return means


def likelier_spreads(said: Sequence[Said], means: Means, spreads: Spreads) -> Spreads:
    """The likeliest spreads round these means, sought from such spreads."""
    start = np.log(list(asdict(spreads).values()))
    near = [(value - REACH, value + REACH) for value in start]
    found = minimize(
        lambda logarithms: unlikely(said, means, Spreads(*np.exp(logarithms))),
        start, method="L-BFGS-B", bounds=near, options={"eps": SMALL},
    )  # fmt: skip
    return Spreads(*np.exp(found.x))


def learned(said: Sequence[Said], rounds: int) -> tuple[Means, Spreads]:
    """The means and spreads of the population that all of it is likeliest under."""
    means, spreads = MEANS, SPREADS
    now = unlikely(said, means, spreads)
    for _ in range(rounds):
        means = nearer_means(said, means, spreads)
        spreads = likelier_spreads(said, means, spreads)
        before, now = now, unlikely(said, means, spreads)
        if before - now < END:
            break
    return means, spreads


def rows(means: Means, spreads: Spreads) -> Iterator[tuple[str, str]]:
    """Each quantity by name, in words of figures."""

    def said(values: object, digits: int) -> str:
        return "  ".join(f"{value:.{digits}f}" for value in np.ravel(np.asarray(values)))

    yield "paper, CIELAB", said(means.paper, 1)
    for name, ink in zip("CMYK", means.inks, strict=True):
        yield f"solid {name}, CIELAB", said(ink, 1)
    yield "floor", said(means.floor, 3)
    for name, departure in means.departures:
        yield f"departure {name}", said(departure, 2)
    for name, (first, second, third) in zip("CMYK", means.gains, strict=True):
        yield f"curve {name}", said([*first, second, third], 2)
    yield "n", said(means.yule_nielsen, 2)
    for field in fields(spreads):
        yield f"spread: {field.name.replace('_', ' ')}", said(getattr(spreads, field.name), 3)


def main() -> None:
    raws, is_quick = asked_sets(__doc__, "one set, one round")
    most, rounds = (100, 1) if is_quick else (MOST, 60)
    kept = ink_prior(MEANS, SPREADS)
    loose = replace(kept, covariance=kept.covariance * LOOSE**2)
    relations = alike(raws).sum(axis=1)
    said = [
        Said.by(raw, loose, most, 1.0 / many) for raw, many in zip(raws, relations, strict=True)
    ]
    print(f"{len(raws)} sets: {', '.join(Path(raw.name).stem for raw in raws)}\n")
    print(f"{'':28}{'learned':44}kept")
    means, spreads = learned(said, rounds)
    for (name, found), (_, now) in zip(rows(means, spreads), rows(MEANS, SPREADS), strict=True):
        print(f"{name:28}{found:44}{now}")
    apart = np.abs(kept.mean - ink_prior(means, spreads).mean) / np.sqrt(np.diag(kept.covariance))
    print(
        "\nThe means kept lie this far from the learned, in spreads: "
        f"{np.median(apart):.2f} at the median, {apart.max():.2f} at most."
    )


if __name__ == "__main__":
    main()
