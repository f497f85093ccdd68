"""Invented devices in CMYK that are unlike any press of a reference condition.

Four kinds, by physics that are none of the press model's (``invented_devices.py``), on stocks of
their own; every number is invented:

- ``worn``: a working press on uncoated wood-free paper. Solids weak by a third and uneven, a black
  of L* 30 to 38, inks that take badly on each other, much gain;
- ``glossy``: toner on a glossy card. Strong solids of another hue, curves that saturate early,
  screens of which a part lie on each other;
- ``photo``: an inkjet with light cyan, magenta and black behind their channels, ink limiting and
  black generation of its own, a dark end that is flat and then bronzes: more ink is lighter there;
- ``plain``: an inkjet on office paper. Dyes that spread, sink in and mix without dots.

:data:`CHOSEN_ON` are the numbers of those on which the engine's constants may be chosen,
:data:`JUDGED_ON` of those on which it is judged; a test holds them apart.
"""

import numpy as np
from invented_devices import NM, STUDIO_INKS, USUAL, Layer, Paper, Rays, Toner, paper
from virtual_pairs import VirtualPair

from inkaccord.colour.spectra import spectra_to_lab

CHOSEN_ON = range(1, 9)
JUDGED_ON = range(101, 109)


def solids(rng, shift: float, low: float, high: float) -> np.ndarray:
    """Return densities (4, 36) of one of the example's inks, each moved by some nanometres."""
    ink_set = STUDIO_INKS[rng.integers(len(STUDIO_INKS))]
    found = []
    for ink in ink_set:
        moved, wider = rng.uniform(-shift, shift), rng.uniform(0.85, 1.25)
        bells = [(at + moved, width * wider, height) for at, width, height in ink.bells]
        density = sum(h * np.exp(-0.5 * ((NM - at) / width) ** 2) for at, width, h in bells)
        found.append((density + ink.flat) * rng.uniform(low, high))
    return np.array(found)


class Worn(Rays):
    """A working press: weak, uneven solids that lie badly on each other."""

    def __init__(self, rng):
        super().__init__(rng)
        self.solids = solids(rng, 6.0, 0.55, 0.80)
        self.solids[3] *= rng.uniform(0.85, 1.1)
        self.power = rng.uniform(0.78, 0.95, 4)
        self.trap = rng.uniform(0.68, 0.90)
        self.surface = rng.uniform(0.015, 0.03)


class Glossy(Toner):
    """Toner that melts to a gloss: strong, of other hues, early full."""

    def __init__(self, rng):
        super().__init__(rng)
        self.solids = solids(rng, 14.0, 1.05, 1.40)
        self.pile = rng.uniform(0.4, 2.6, 4)
        self.share = rng.uniform(0.1, 0.5)


class Photo(Layer):
    """Light inks, an ink limit and black generation behind the channels; bronze at the end."""

    def __init__(self, rng):
        super().__init__(rng)
        self.solids = solids(rng, 10.0, 1.0, 1.3)
        self.change, self.weak = rng.uniform(0.3, 0.6), rng.uniform(0.25, 0.4)
        self.most = rng.uniform(2.0, 2.6)
        self.grey = rng.uniform(0.2, 0.7)
        self.bronze = rng.uniform(0.0, 0.03)

    def spectra(self, inks, stock, state):
        inks = np.clip(inks, 0, 1)
        common = inks[:, :3].min(axis=1, keepdims=True)
        black = np.clip((common - 0.3) / 0.7, 0, 1) * self.grey
        loads = np.hstack([inks[:, :3] - 0.7 * black * common, np.maximum(inks[:, 3:], black)])
        # Below the change a light ink prints alone; then it gives way to the full one.
        share = np.clip((loads - self.change) / (1 - self.change), 0, 1)
        light = np.minimum(loads / self.change, 1) * (1 - share)
        mixed = self.weak * light + share**1.2
        loads = np.hstack([mixed[:, :2], loads[:, 2:3], mixed[:, 3:]])
        total = np.maximum(loads.sum(axis=1, keepdims=True), 1e-9)
        loads = loads * np.minimum(1, self.most / total)
        over = np.clip(loads.sum(axis=1, keepdims=True) - 0.8 * self.most, 0, None)
        return super().spectra(loads, stock, state) + self.bronze * over


class Plain(Layer):
    """Dyes on office paper: weak, spreading, sunk into the sheet."""

    def __init__(self, rng):
        super().__init__(rng)
        self.solids = solids(rng, 10.0, 0.55, 0.85)
        self.scatter = rng.uniform(0.05, 0.25)
        self.curve = rng.uniform(0.85, 1.4, 4)
        self.blend = rng.uniform(0.1, 0.35)


KINDS = {"worn": Worn, "glossy": Glossy, "photo": Photo, "plain": Plain}
STOCKS = {"worn": "uncoated", "glossy": "coated", "photo": "coated", "plain": "uncoated"}


def unlike(kind: str, number: int) -> VirtualPair:
    """Return a device of a kind by its number: the same number is the same device."""
    rng = np.random.default_rng([list(KINDS).index(kind), number])
    stock: Paper = paper(STOCKS[kind], rng)
    mixing = KINDS[kind](rng)

    def to_lab(builds):
        spectra = mixing.spectra(np.asarray(builds) / 100.0, stock, USUAL)
        return spectra_to_lab(np.maximum(spectra, 5e-4), NM)

    return VirtualPair(f"{kind} {number}", to_lab)


def unlike_devices(numbers) -> list[VirtualPair]:
    """Return a device of each kind for every number."""
    return [unlike(kind, number) for number in numbers for kind in KINDS]
