"""Invented devices for orders to be printed on, in five physics, none of them the press model's.

Every device turns builds into inks, inks into a spectrum on a stock, and that into CIELAB D50/2°:

- ``rays``: the light that a halftone's paper scatters is reflected at its surface again and again
  (Clapper and Yule's formula, from memory), under ink that covers by a power of what is asked;
- ``layer``: dyes in one layer without dots, absorbing and scattering (Kubelka and Munk's formula,
  from memory), behind a driver in RGB that separates by rules of its own;
- ``toner``: piles that saturate, screens that partly lie on each other, a Yule–Nielsen factor that
  differs from one wavelength to the next;
- ``table``: a lookup table of one of these, bent by smooth random warps, read by cubic splines;
- ``studio``: the example's printers, their numbers drawn anew.

All numbers are invented. A :class:`State` is what a day and a sheet change: gains and strengths.
"""

import sys
from dataclasses import dataclass, field, replace
from itertools import product
from pathlib import Path

import numpy as np
from scipy.ndimage import map_coordinates, spline_filter

from inkaccord.colour.builds import FULL_SCALE, Drive
from inkaccord.colour.spectra import spectra_to_lab

sys.path.insert(0, str(Path(__file__).parents[2] / "jobs_example"))
import printers

NM = printers.WAVELENGTHS_NM
INKS = np.array(list(product((0, 1), repeat=4)))
"""(16, 4): which inks lie in which overprint."""
PHYSICS = ("rays", "layer", "toner", "table", "studio")
_NODES = 9


@dataclass(frozen=True)
class State:
    """How a print differs from the usual: what half tone gains, and the strength of each ink.

    ``gain`` is (4,), or (n, 4) where every swatch is a little off by itself.
    """

    gain: np.ndarray = field(default_factory=lambda: np.zeros(4))
    strength: np.ndarray = field(default_factory=lambda: np.ones(4))

    def then(self, other):
        return State(self.gain + other.gain, self.strength * other.strength)


USUAL = State()


def wandering(rng, gain, strength):
    """Return a random change of state, by its standard deviations."""
    return State(rng.normal(0, gain, 4), 1 + rng.normal(0, strength, 4))


@dataclass(frozen=True)
class Paper:
    """A stock: its reflectance at NM, how far dots spread on it, how much ink it swallows."""

    name: str
    reflectance: np.ndarray
    spread: float = 1.0
    strength: float = 1.0

    @property
    def lab(self):
        return spectra_to_lab(self.reflectance[None], NM)[0]


def paper(kind, rng):
    """Return a stock of a kind, a little different each time."""
    level = rng.uniform(-0.012, 0.012)
    white = printers._white
    if kind == "coated":
        return Paper(kind, white(0.885 + level, 0.0, rng.uniform(0, 0.1)), 1.0, 1.0)
    if kind == "uncoated":
        warm = rng.uniform(0.02, 0.1)
        return Paper(kind, white(0.85 + level, warm, 0.0), rng.uniform(1.2, 1.45), 0.9)
    if kind == "kraft":
        middle, rise = rng.uniform(565, 590), rng.uniform(0.42, 0.5)
        reflectance = 0.14 + level + rise / (1 + np.exp(-(NM - middle) / 62))
        return Paper(kind, reflectance, rng.uniform(1.2, 1.4), 0.95)
    dip, width = rng.uniform(450, 620), rng.uniform(45, 80)
    reflectance = white(0.83 + level, 0.0, 0.02)
    reflectance = reflectance - rng.uniform(0.1, 0.25) * np.exp(-0.5 * ((NM - dip) / width) ** 2)
    return Paper("tinted", reflectance, rng.uniform(1.0, 1.3), 0.97)


STUDIO_INKS = (
    printers._OFFSET_INKS,
    printers._TONERS,
    printers._LIQUID_TONERS,
    printers._PIGMENT_INKS,
)


def _densities(rng):
    """Return (4, 36) densities of four solids: one of the example's sets, each bent a little."""
    inks = STUDIO_INKS[rng.integers(len(STUDIO_INKS))]
    found = []
    for ink in inks:
        bells = tuple(
            (middle + rng.normal(0, 4), width * rng.uniform(0.92, 1.1), height)
            for middle, width, height in ink.bells
        )
        found.append(printers.Ink(bells, ink.flat).density() * rng.uniform(0.88, 1.08))
    return np.array(found)


def _demichel(areas):
    return np.prod(np.where(INKS[None] == 1, areas[:, None, :], 1 - areas[:, None, :]), axis=2)


def _nested(areas):
    """Areas of the overprints where all screens lie on each other: the smaller dots inside."""
    order = np.argsort(-areas, axis=1)
    sizes = np.take_along_axis(areas, order, axis=1)
    steps = np.hstack([1 - sizes[:, :1], sizes[:, :-1] - sizes[:, 1:], sizes[:, -1:]])
    weights = np.zeros((len(areas), 16))
    rows = np.arange(len(areas))
    member = np.zeros((len(areas), 4), dtype=int)
    weights[rows, 0] += steps[:, 0]
    for rank in range(4):
        member[rows, order[:, rank]] = 1
        weights[rows, member @ [8, 4, 2, 1]] += steps[:, rank + 1]
    return weights


class Rays:
    """A halftone on paper that scatters its light sideways, ray by ray."""

    def __init__(self, rng):
        self.solids = _densities(rng)
        self.power = rng.uniform(0.70, 0.92, 4)
        self.trap = rng.uniform(0.86, 0.97)
        self.surface, self.inside = rng.uniform(0.008, 0.02), 0.57

    def spectra(self, inks, stock, state):
        power = 1 - (1 - self.power) * stock.spread
        areas = np.clip(inks, 0, 1) ** power
        areas = np.clip(areas + 4 * areas * (1 - areas) * state.gain, 0, 1)
        depth = INKS.sum(axis=1)
        trap = self.trap ** np.maximum(depth - 1, 0)
        solids = self.solids * (state.strength * stock.strength)[:, None] * 0.5
        through = 10 ** -((INKS @ solids) * trap[:, None])
        first, inside = self.surface, self.inside
        bare = np.maximum(stock.reflectance - first, 0.01)
        body = bare / ((1 - first) * (1 - inside) + inside * bare)
        weights = _demichel(areas)
        once, twice = weights @ through, weights @ through**2
        lost = 1 - inside * body * twice
        return first + (1 - first) * (1 - inside) * body * once**2 / lost


class Layer:
    """Dyes in one layer: absorbing, scattering a little, without dots."""

    def __init__(self, rng):
        self.solids = _densities(rng) * rng.uniform(1.0, 1.2)
        self.scatter = rng.uniform(0.01, 0.06)
        self.curve = rng.uniform(1.2, 1.9, 4)
        self.blend = rng.uniform(0.0, 0.12)

    def spectra(self, inks, stock, state):
        load = np.clip(inks, 0, 1) ** self.curve
        load = np.clip(load + 4 * load * (1 - load) * state.gain, 0, 1)
        load = load / (1 + self.blend * (load.sum(axis=1, keepdims=True) - load))
        absorbed = load @ (self.solids * (state.strength * stock.strength)[:, None]) * 1.15
        thick = 1e-4 + self.scatter * load.sum(axis=1, keepdims=True)
        a = 1 + absorbed / thick
        b = np.sqrt(np.maximum(a * a - 1, 1e-9))
        coth = 1 / np.tanh(np.clip(b * thick, 1e-6, 30))
        ground = stock.reflectance
        body = (1 - ground * (a - b * coth)) / (a - ground + b * coth)
        bare = np.exp(-60 * load.sum(axis=1, keepdims=True))
        return bare * ground + (1 - bare) * (0.006 + 0.994 * body)


class Toner:
    """Piles of toner: gain that saturates, highlights that fail, screens that half agree."""

    def __init__(self, rng):
        self.solids = _densities(rng)
        self.pile = rng.uniform(0.6, 1.7, 4)
        self.toe = rng.uniform(0.0, 0.025)
        self.share = rng.uniform(0.05, 0.35)
        self.cover = rng.uniform(0.02, 0.10)
        self.n = 1.5 + 0.9 / (1 + np.exp(-(NM - rng.uniform(480, 620)) / 50))

    def spectra(self, inks, stock, state):
        asked = np.clip(inks, 0, 1)
        asked = asked**2 / (asked + self.toe + 1e-9) * (1 + self.toe)
        pile = self.pile * stock.spread
        areas = (1 - np.exp(-pile * asked)) / (1 - np.exp(-pile))
        areas = np.clip(areas + 4 * areas * (1 - areas) * state.gain, 0, 1)
        weights = (1 - self.share) * _demichel(areas) + self.share * _nested(areas)
        solids = self.solids * (state.strength * stock.strength)[:, None]
        passes = 10 ** -(INKS @ solids)
        veil = np.where(INKS.sum(axis=1) > 0, self.cover, 0.0)[:, None]
        body = (1 - veil) * stock.reflectance * passes + veil * 0.6 * passes**0.6
        body = np.where(INKS.sum(axis=1)[:, None] > 0, 0.01 + 0.99 * body, body)
        return (weights @ body ** (1 / self.n)) ** self.n


class Studio:
    """One of the example's printers with other numbers."""

    def __init__(self, rng):
        inks = STUDIO_INKS[rng.integers(len(STUDIO_INKS))]
        self.device = printers.Device(
            "invented",
            inks,
            gains=tuple(rng.uniform(0.08, 0.21, 4)),
            skew=rng.uniform(-0.35, 0.35),
            strengths=tuple(rng.uniform(0.85, 1.1, 4)),
            trapping=rng.uniform(0.88, 0.97),
            opacity=rng.uniform(0, 0.07),
            n=rng.uniform(1.6, 2.2),
        )

    def spectra(self, inks, stock, state):
        device = replace(
            self.device, strengths=tuple(np.array(self.device.strengths) * state.strength)
        )
        on = printers.Stock("", stock.reflectance, stock.spread, stock.strength)
        jitter = 4 * inks * (1 - inks) * state.gain
        return printers.spectra(device, on, 100 * inks, jitter=jitter)


class Table:
    """A table of nine steps an ink of another device's colours, bent, read by cubic splines."""

    def __init__(self, rng):
        self.base = (Rays, Toner)[rng.integers(2)](rng)
        self.bends = rng.normal(0, 0.02, (4, 3))
        self.waves = rng.normal(0, 2.2, (24, 4)), rng.uniform(0, 2 * np.pi, 24)
        self.heights = rng.normal(0, 1, (24, 3)) * [0.9, 1.3, 1.3] * 1.4 / np.sqrt(12)
        self._tables = {}

    def lab(self, inks, stock, state):
        bent = np.clip(inks, 0, 1)
        bent = bent + 4 * bent * (1 - bent) * state.gain
        for order in range(3):
            bent = bent + self.bends[:, order] / (order + 1) * np.sin((order + 1) * np.pi * bent)
        bent = np.clip(bent * np.minimum(0.985 * state.strength, 1.0), 0, 1)
        places = (bent * (_NODES - 1)).T
        table = self._table(stock)
        return np.stack([map_coordinates(it, places, prefilter=False) for it in table], axis=1)

    def _table(self, stock):
        if id(stock) not in self._tables:
            steps = np.linspace(0, 1, _NODES)
            inks = np.array(np.meshgrid(*[steps] * 4, indexing="ij")).reshape(4, -1).T
            lab = spectra_to_lab(self.base.spectra(inks, stock, USUAL), NM)
            waves, phases = self.waves
            bend = np.sin(inks @ waves.T + phases) @ self.heights
            lab = lab + bend * np.minimum(1, 3 * inks.max(axis=1, keepdims=True))
            grid = lab.T.reshape(3, *[_NODES] * 4)
            self._tables[id(stock)] = stock, [spline_filter(it) for it in grid]
        return self._tables[id(stock)][1]


KINDS = {"rays": Rays, "layer": Layer, "toner": Toner, "table": Table, "studio": Studio}


class Driver:
    """RGB to inks by rules of its own: gamma, masking, black from a knee on, blues that turn."""

    def __init__(self, rng):
        self.gamma = rng.uniform(1.5, 2.2)
        self.floor = rng.uniform(0.01, 0.03)
        self.spare = -rng.uniform(0.02, 0.16, (3, 3)) * (1 - np.eye(3)) + np.eye(3)
        self.knee, self.black = rng.uniform(0.35, 0.65), rng.uniform(0.4, 0.95)
        self.blue = rng.uniform(0.0, 0.15)
        self.lively = rng.uniform(0.9, 1.25)

    def inks(self, rgb):
        grey = rgb.mean(axis=1, keepdims=True)
        rgb = np.clip(grey + self.lively * (rgb - grey), 0, 1)
        density = np.log10(np.maximum(rgb**self.gamma, self.floor)) / np.log10(self.floor)
        wanted = density @ self.spare.T
        wanted = wanted**2 / (np.abs(wanted) + 0.02) * (wanted > 0)
        blueness = np.clip(rgb[:, 2] - rgb[:, :2].max(axis=1), 0, 1)
        wanted[:, 1] *= 1 - self.blue * blueness
        common = wanted.min(axis=1, keepdims=True)
        black = self.black * np.clip((common - self.knee) / (1 - self.knee), 0, 1) ** 1.4
        return np.hstack([np.clip(wanted - 0.8 * black, 0, 1), np.clip(black, 0, 1)])


class Device:
    """A machine: its physics, how it is driven, and what it keeps of the ink that is asked."""

    def __init__(self, physics, drive, ink_limit, rng):
        self.physics, self.drive, self.ink_limit = physics, drive, ink_limit
        self.mixing = KINDS[physics](rng)
        self.driver = Driver(rng) if drive is Drive.RGB else None
        self.usual = wandering(rng, 0.02, 0.03)

    def lab(self, builds, stock, state=USUAL):
        """Return CIELAB, (n, 3), of builds on a stock, (n, 4) percent or (n, 3) RGB to 255."""
        shares = np.asarray(builds, dtype=np.float64) / FULL_SCALE[self.drive]
        inks = self.driver.inks(shares) if self.driver else shares
        room = np.maximum(self.ink_limit / 100 - inks[:, 3:], 0)
        total = np.maximum(inks[:, :3].sum(axis=1, keepdims=True), 1e-9)
        inks = np.hstack([inks[:, :3] * np.minimum(1, room / total), inks[:, 3:]])
        state = self.usual.then(state)
        if isinstance(self.mixing, Table):
            return self.mixing.lab(inks, stock, state)
        return spectra_to_lab(np.maximum(self.mixing.spectra(inks, stock, state), 5e-4), NM)
