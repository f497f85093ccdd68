"""Drivers in RGB drawn at random, in five kinds: to tune a method on some, and judge it on others.

    python tests/benchmarks/drawn_drivers.py SEED [FILE…]

says by how much what a pair is taken for that nobody has read misplaces colours behind them: root
mean square ΔE00 of the screen alone, of the nearest of four gammas (as it was), and of the nearest
of all that it is taken for. Beside them stand the drivers that have names (``rgb_drivers.py``).

A seed draws drivers in front of a press, on its own stock or on glossy or cream stock. What a pair
is taken for was chosen on seed 1 before Debian's profiles; the docs say by which others it was
judged. All numbers are invented.
"""

import sys
from pathlib import Path

import numpy as np
from rgb_drivers import rgb_pairs
from virtual_pairs import INSTALLED, VirtualPair, other_stock, profile_pair, separation

from inkaccord.colour.builds import Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.drivers import other_drivers
from inkaccord.colour.press.rgb_screen import screen_prior
from inkaccord.colour.sampling.design import GenericPress
from inkaccord.colour.spaces import srgb_to_lab

KINDS = ("screen", "vivid", "complements", "masking", "three inks")
STOCKS = {
    "own": None,
    "glossy": {"paper": (96.0, 0.0, -4.0), "strength": 1.25, "gain": 0.0},
    "cream": {"paper": (90.0, 2.0, 10.0), "strength": 0.85, "gain": 0.05},
}


def drawn_pairs(path: Path, seed: int) -> list[VirtualPair]:
    """Return a profile's press behind ten drivers, the kinds in turn."""
    press = profile_pair(path)
    stocks = {
        name: press if it is None else other_stock(press, **it) for name, it in STOCKS.items()
    }
    pairs = []
    for number in range(10):
        rng = np.random.default_rng([seed, number])
        kind = KINDS[number % len(KINDS)]
        driver = _DRAW[kind](path, rng)
        stock = str(rng.choice(list(stocks), p=[0.6, 0.2, 0.2]))
        name = f"{path.name}: {kind}, drawn {seed}.{number}, {stock} stock"
        pairs.append(_behind(stocks[stock], name, driver))
    return pairs


def _behind(press: VirtualPair, name: str, driver) -> VirtualPair:
    def to_lab(builds):
        return press.lab(driver(np.clip(builds / 255.0, 0.0, 1.0)))

    return VirtualPair(name, to_lab, channels=3)


def _screen(path, rng, lively=(0.95, 1.08), contrast=(-0.01, 0.02)):
    """Aims at sRGB, by a table of the profile, with a gamma of its own."""
    intent, scaled = [(0, False), (1, False), (1, True), (2, True)][rng.integers(4)]
    inks = separation(path, intent, black_point=scaled)
    gamma, more, curve = rng.uniform(0.85, 1.2), rng.uniform(*lively), rng.uniform(*contrast)

    def mix(rgb):
        curved = rgb - curve * np.sin(2 * np.pi * rgb)
        grey = curved.mean(axis=1, keepdims=True)
        made = np.clip(grey + more * (curved - grey), 0.0, 1.0)
        return inks(srgb_to_lab(made**gamma))

    return mix


def _vivid(path, rng):
    """The same, livened up: what people call a photo setting."""
    return _screen(path, rng, lively=(1.15, 1.5), contrast=(0.0, 0.06))


def _complements(_, rng):
    """Cyan is what red lacks; black sets in somewhere, and takes a share of itself away."""
    onset, bend = rng.uniform(0.0, 0.6), rng.uniform(1.0, 2.5)
    most, taken, power = rng.uniform(0.5, 1.0), rng.uniform(0.3, 1.0), rng.uniform(0.8, 1.3)

    def mix(rgb):
        inks = (1.0 - rgb) ** power
        common = inks.min(axis=1, keepdims=True)
        black = most * np.clip((common - onset) / (1.0 - onset), 0.0, 1.0) ** bend
        return 100.0 * np.hstack([np.clip(inks - taken * black, 0.0, 1.0), black])

    return mix


def _masking(_, rng, most=(0.5, 0.95)):
    """Colour masking on densities, black from what the three have in common, all ink limited."""
    gamma, floor = rng.uniform(1.8, 2.4), rng.uniform(0.005, 0.03)
    spare = np.eye(3) - rng.uniform(0.0, 0.22, (3, 3)) * (1 - np.eye(3))
    full = -np.log10(floor) * rng.uniform(0.8, 1.0, 3)
    black_most, onset = rng.uniform(*most), rng.uniform(0.8, 1.8)
    taken, limit = rng.uniform(0.2, 0.8), rng.uniform(2.2, 3.0)

    def mix(rgb):
        density = -np.log10(np.maximum(rgb**gamma, floor))
        areas = np.clip(density @ spare.T / full, 0.0, 1.0)
        black = black_most * areas.prod(axis=1, keepdims=True) ** onset
        colours = areas * (1 - taken * black)
        total = np.maximum(colours.sum(axis=1, keepdims=True), 1e-9)
        colours = colours * np.minimum(1.0, (limit - black) / total)
        return 100.0 * np.hstack([colours, black])

    return mix


def _three_inks(path, rng):
    """The same without any black."""
    return _masking(path, rng, most=(0.0, 1e-9))


_DRAW = dict(zip(KINDS, (_screen, _vivid, _complements, _masking, _three_inks), strict=True))


def missed(pair: VirtualPair) -> list[float]:
    """Return root mean square ΔE00: of the screen, the best of four gammas, the best of all."""
    builds = np.random.default_rng(5).uniform(0.0, 255.0, (200, 3))
    lab, paper = pair.lab(builds), pair.lab([[255.0, 255.0, 255.0]])[0]
    screens = [GenericPress.of(Drive.RGB, paper, screen_prior(it)) for it in (1.0, 0.6, 0.8, 1.25)]
    off = [
        float(np.sqrt(np.mean(delta_e_2000(it.predict_lab(builds), lab) ** 2)))
        for it in (*screens, *other_drivers(Drive.RGB, tuple(paper)))
    ]
    return [off[0], min(off[:4]), min(off[0], *off[4:])]


def main() -> None:
    seed, files = int(sys.argv[1]), [Path(it) for it in sys.argv[2:]]
    found: dict[str, list[list[float]]] = {kind: [] for kind in KINDS}
    for path in files or INSTALLED:
        for pair in drawn_pairs(path, seed):
            kind = pair.name.partition(": ")[2].partition(",")[0]
            found[kind].append(missed(pair))
        for pair in rgb_pairs(path):
            found.setdefault(f"named {pair.name.partition(': ')[2]}", []).append(missed(pair))
    print(f"seed {seed}: the screen alone, the best of four gammas, the best of all")
    for kind, rows in found.items():
        print(f"  {kind:32}", *(f"{it:5.1f}" for it in np.sqrt(np.mean(np.square(rows), axis=0))))


if __name__ == "__main__":
    main()
