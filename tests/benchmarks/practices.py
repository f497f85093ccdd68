"""Ways of finding a build, tried on a virtual pair: by hand, from a sheet, in a loop of sheets.

Every function takes a pair and aims and returns the ΔE00 between each aim and what the pair really
prints for the build that the practice ends with.
"""

from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from scipy.stats import qmc
from virtual_pairs import VirtualPair

from inkaccord.colour.builds import FULL_SCALE, Drive
from inkaccord.colour.delta_e import delta_e_2000, delta_e_2000_metric
from inkaccord.colour.ink_policy import Black, InkPolicy
from inkaccord.colour.matching.match import match
from inkaccord.colour.press.model import fit
from inkaccord.colour.readings import Readings
from inkaccord.colour.sampling.planning import MOST, closing_set, scouting_set
from inkaccord.colour.spaces import lab_to_xyz
from inkaccord.sheets.controls import control_builds

INK_LIMIT = 300.0
NOISE = 0.3
"""Root mean square ΔE00 of a reading round the truth."""


def drive_of(pair: VirtualPair) -> Drive:
    return Drive.CMYK if pair.channels == 4 else Drive.RGB


def policy(*, whole: bool) -> InkPolicy:
    return InkPolicy(total_ink_limit=INK_LIMIT, black=Black.LEAST, whole=whole)


def random_builds(pair: VirtualPair, count: int, rng: np.random.Generator) -> np.ndarray:
    """Builds as stationery uses them: often one or two inks, black in under half."""
    top = FULL_SCALE[drive_of(pair)]
    if pair.channels == 3:
        return rng.uniform(0, top, (count, 3))
    builds = rng.uniform(0, top, (3 * count, 4))
    builds[rng.uniform(size=len(builds)) < 0.6, 3] = 0
    builds[:, :3][rng.uniform(size=(len(builds), 3)) < 0.25] = 0
    return builds[builds.sum(axis=1) <= INK_LIMIT][:count]


def even_aims(pair: VirtualPair, count: int, rng: np.random.Generator) -> np.ndarray:
    """Colours that the pair can print, spread evenly over its gamut: one in a cell of 10 CIELAB."""
    lab = pair.lab(random_builds(pair, 30_000, rng))
    _, first = np.unique(np.floor(lab / 10.0).astype(int), axis=0, return_index=True)
    return lab[rng.permutation(first)[:count]]


def read(
    pair: VirtualPair, builds: np.ndarray, rng: np.random.Generator, sheet: int = 0, noise=NOISE
) -> Readings:
    """Print a sheet and read it, with noise of the same size in every direction of ΔE00."""
    lab = pair.lab(builds)
    stretch, axes = np.linalg.eigh(delta_e_2000_metric(lab))
    steps = rng.normal(size=lab.shape) * noise / np.sqrt(3.0 * stretch)
    noisy = lab + np.einsum("nij,nj->ni", axes, steps)
    count = len(builds)
    return Readings(
        drive=drive_of(pair),
        builds=np.asarray(builds, dtype=np.float64),
        xyz=lab_to_xyz(noisy),
        sheet=np.full(count, sheet),
        noise=np.full(count, noise),
    )


def together(*parts: Readings) -> Readings:
    return Readings(
        drive=parts[0].drive,
        builds=np.concatenate([p.builds for p in parts]),
        xyz=np.concatenate([p.xyz for p in parts]),
        sheet=np.concatenate([p.sheet for p in parts]),
        noise=np.concatenate([p.noise for p in parts]),
        scanned=np.concatenate([p.by_scan for p in parts]),
    )


@cache
def planned(drive: Drive, count: int) -> np.ndarray:
    """The scouting set without knowing anything of the pair."""
    return scouting_set(drive, policy(whole=True), count)


@cache
def printed(drive: Drive, count: int) -> np.ndarray:
    """The controls, and a scouting set beside them."""
    controls = np.array([build.values for build in control_builds(drive)])
    found = scouting_set(drive, policy(whole=True), count, beside=controls)
    return np.concatenate([controls, found])


def scouting(pair: VirtualPair, count: int, *, controls: bool = False) -> np.ndarray:
    """The swatches of the first sheet; beyond a sheet's worth, a spread over the whole range.

    With ``controls`` as it is printed: these first, and ``count`` more that are planned beside.
    """
    if controls:
        return printed(drive_of(pair), count)
    return planned(drive_of(pair), count) if count <= MOST else plain_scouting(pair, count)


def plain_scouting(pair: VirtualPair, count: int) -> np.ndarray:
    """Paper, solids, overprints and half tones, then a Sobol sequence (the older practice)."""
    top = FULL_SCALE[drive_of(pair)]
    corners = np.array(np.meshgrid(*[[0.0, 1.0]] * 3, indexing="ij")).reshape(3, -1).T
    if pair.channels == 3:
        points = qmc.Sobol(3, seed=0).random(512)
        return np.concatenate([corners, points])[:count] * top
    chromatic = np.c_[corners, np.zeros(8)]
    black = np.c_[np.eye(3), np.ones(3)]
    halves = np.eye(4) * 0.5
    points = qmc.Sobol(4, seed=0).random(1024)
    points[:, 3] = np.maximum(points[:, 3] - 0.5, 0.0) * 1.6
    points = points[points.sum(axis=1) * top <= INK_LIMIT]
    first = np.concatenate([chromatic, np.eye(4)[3:], halves, black])
    return np.concatenate([first, points])[:count] * top


def close_in(model, aims, each: int) -> np.ndarray:
    """The predicted build of each aim, and what is planned round it."""
    builds = match(model, aims, policy(whole=True)).builds
    return np.concatenate(closing_set(model, builds, each, policy(whole=True)))


def from_sheets(
    pair: VirtualPair, aims: np.ndarray, rng: np.random.Generator, first: int, each: int = 0
) -> np.ndarray:
    """One sheet of ``first`` swatches, then ``each`` near every aim; no drift, builds unrounded."""
    readings = read(pair, scouting(pair, first), rng)
    model = fit(readings)
    if each:
        readings = together(readings, read(pair, close_in(model, aims, each), rng))
        model = fit(readings)
    builds = match(model, aims, policy(whole=False)).unrounded
    return delta_e_2000(pair.lab(builds), aims)


_SOLID = 0.985
"""A press's usual solids beside the strongest it can print."""


@dataclass(frozen=True)
class Press:
    """A pair with habits: tone curves that nobody knows, and sheets that differ a little."""

    pair: VirtualPair
    curves: np.ndarray
    drift: float = 1.0

    @classmethod
    def imperfect(cls, pair: VirtualPair, rng: np.random.Generator) -> "Press":
        """Curves bent by 3 % at half tone (one standard deviation), with a ripple of 0.7 %."""
        return cls(pair, rng.normal(size=(pair.channels, 2)) * [0.03, 0.007])

    def usual(self) -> VirtualPair:
        return self._with(np.zeros(self.pair.channels), np.full(self.pair.channels, _SOLID))

    def sheet(self, rng: np.random.Generator) -> VirtualPair:
        """One print on one day: half tones and solids wander by 0.7 % (standard deviations)."""
        inks = self.pair.channels
        gain = rng.normal(size=inks) * 0.007 * self.drift
        strength = _SOLID + rng.normal(size=inks) * 0.007 * self.drift
        return self._with(gain, np.minimum(strength, 1.0))

    def _with(self, gain, strength) -> VirtualPair:
        top = FULL_SCALE[drive_of(self.pair)]

        def to_lab(builds):
            t = builds / top if self.pair.channels == 4 else 1.0 - builds / top
            bent = t + 4 * t * (1 - t) * (self.curves[:, 0] + gain)
            bent = bent + self.curves[:, 1] * np.sin(3 * np.pi * t)
            bent = np.clip(bent, 0, 1) * strength
            return self.pair.lab((bent if self.pair.channels == 4 else 1.0 - bent) * top)

        return VirtualPair(f"{self.pair.name}, imperfect", to_lab, self.pair.channels)


def realistic(
    press: Press, aims: np.ndarray, rng: np.random.Generator, first: int, each: int, *, proof: bool
) -> np.ndarray:
    """The loop as it goes in a shop: drifting sheets, whole builds, and perhaps a read proof.

    Judged in the press's usual state: what the final run's own drift adds is the same for all.
    """
    readings = read(press.sheet(rng), scouting(press.pair, first), rng, sheet=0)
    model = fit(readings)
    if each:
        asked = np.concatenate([controls(press.pair), close_in(model, aims, each)])
        readings = together(readings, read(press.sheet(rng), asked, rng, sheet=1))
        model = fit(readings)
    if proof:
        asked = np.concatenate(
            [controls(press.pair), match(model, aims, policy(whole=True)).builds]
        )
        readings = together(readings, read(press.sheet(rng), asked, rng, sheet=2))
        model = fit(readings)
    builds = match(model, aims, policy(whole=True)).builds
    return delta_e_2000(press.usual().lab(builds), aims)


def controls(pair: VirtualPair) -> np.ndarray:
    """The swatches that every sheet repeats, so that drift shows: paper, solids, half tones."""
    top = FULL_SCALE[drive_of(pair)]
    one = np.eye(pair.channels)
    shares = np.concatenate([np.zeros((1, pair.channels)), one, 0.5 * one])
    return (shares if pair.channels == 4 else 1.0 - shares) * top


def nearest_printed(pair, aims, rng, swatches: int, seen=None) -> np.ndarray:
    """The nearest of many printed swatches, chosen by an eye that never errs.

    Or by one that takes each aim for what is ``seen``, (n, 3) CIELAB.
    """
    points = qmc.Sobol(pair.channels, seed=rng).random(8192)
    top = FULL_SCALE[drive_of(pair)]
    if pair.channels == 4:
        points[:, 3] = np.maximum(points[:, 3] - 0.4, 0.0) / 0.6
        points = points[points.sum(axis=1) * top <= INK_LIMIT]
    lab = pair.lab(points[:swatches] * top)
    chosen = delta_e_2000((aims if seen is None else seen)[:, None], lab[None]).argmin(axis=1)
    return delta_e_2000(aims, lab[chosen])


def same_build(pair: VirtualPair, others: list[VirtualPair], rng, count: int) -> np.ndarray:
    """The build that is right on another pair, printed on this one."""
    builds = random_builds(pair, 20_000, rng)
    results = []
    for other in others:
        lab = other.lab(builds)
        _, first = np.unique(np.floor(lab / 10.0).astype(int), axis=0, return_index=True)
        chosen = rng.permutation(first)[:count]
        results.append(delta_e_2000(lab[chosen], pair.lab(builds[chosen])))
    return np.concatenate(results) if results else np.empty(0)


STOCKS = {
    "bright white": {"paper": (94.0, 1.0, -4.0), "strength": 1.0, "gain": 0.0},
    "cream, uncoated": {"paper": (90.0, 2.0, 10.0), "strength": 0.8, "gain": 0.05},
    "kraft": {"paper": (70.0, 8.0, 20.0), "strength": 0.85, "gain": 0.04},
}
"""Invented stocks to carry a pair's knowledge to."""


def with_kin(pair: VirtualPair, kin, rng: np.random.Generator, count: int):
    """Errors and bounds on a new stock from ``count`` swatches, with a related model or None."""
    builds = scouting(pair, max(count, 16))[:count]
    model = fit(read(pair, builds, rng), prior=kin)
    probes = random_builds(pair, 200, rng)
    return delta_e_2000(model.predict_lab(probes), pair.lab(probes)), model.bound(probes)


def with_swap(pair: VirtualPair, rng: np.random.Generator, count: int):
    """Errors without and with two swatches swapped, and how many of the two were named."""
    good = read(pair, scouting(pair, count), rng)
    first, second = rng.choice(count, 2, replace=False)
    xyz = good.xyz.copy()
    xyz[[first, second]] = xyz[[second, first]]
    probes = random_builds(pair, 200, rng)
    truth = pair.lab(probes)
    models = fit(good), fit(replace(good, xyz=xyz))
    before, after = (delta_e_2000(model.predict_lab(probes), truth) for model in models)
    return before, after, len({s.index for s in models[1].suspects} & {int(first), int(second)})


def held_out(raw, rng, training: int):
    """Errors and bounds on readings kept back, from a model of ``training`` random others."""
    order = rng.permutation(len(raw.builds))
    return foretold(raw, order[:training], order[-300:])


def foretold(raw, train: np.ndarray, test: np.ndarray):
    """Errors and bounds on some rows of a set of readings, from a model of others."""
    readings = Readings(
        drive=Drive.CMYK,
        builds=raw.builds[train],
        xyz=lab_to_xyz(raw.lab[train]),
        sheet=np.zeros(len(train), dtype=np.int_),
        noise=np.full(len(train), NOISE),
        spectra=None if raw.spectra is None else raw.spectra[train],
        wavelengths=raw.wavelengths,
    )
    model = fit(readings)
    error = delta_e_2000(model.predict_lab(raw.builds[test]), raw.lab[test])
    return error, model.bound(raw.builds[test])
