"""What picks by eye are worth on a pair that nobody has read: simulated people, many devices.

    python tests/benchmarks/picks.py [--eye RMS] [--standing RMS] [--drawn SEED] [--way] [--json]
        [--quick] [FILE…]

FILE: ICC CMYK profiles, printed on as they are, on other stock, and behind drivers in RGB; without
any, those of Debian's krita-data, scribus-data and libgs-common, on which the method was tuned.
A person starts some 5 ΔE00 off (what the artwork says), looks at each sheet as often as the tool
asks for, and names the swatch that is nearest and the one after it. Where none of those that were
laid for the thing is right, it is the nearest on the whole sheet, however far: the usual swatches
stand on a first sheet too, and the controls on each. ``--way`` has people say which way the thing
lies instead. Each look errs anew, by ``--eye``; without that by 1.5 ΔE00 (sure) to 3 (a
guess), root mean square, as the person's own word says. ``--standing`` of it is the same at every
look, as one person's eyes have it. Sheets go on as the planner plans them. Beside that stands the
practice by hand: the same eye chooses once among 1,000 and among 3,000 printed swatches.
``--drawn`` plays ten drivers drawn by a number (``drawn_drivers.py``) and nothing else.
"""

import argparse
import json
import sys
import zlib
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import practices as do
from drawn_drivers import drawn_pairs
from rgb_drivers import rgb_pairs
from virtual_pairs import INSTALLED, other_stock, profile_pair

from inkaccord.colour.chart import EvenChart
from inkaccord.colour.delta_e import delta_e_2000, delta_e_2000_metric
from inkaccord.colour.direction import Direction
from inkaccord.colour.drivers import other_drivers
from inkaccord.colour.looks import Look, look_error
from inkaccord.colour.picks import LOOKS_A_SHEET, SETTLED, offered_on, picked_build
from inkaccord.colour.sampling.eye_set import COARSE, eye_set, ladder_ways, steps_of
from inkaccord.colour.sampling.planning import scouting_set
from inkaccord.order.model import Tolerances
from inkaccord.planning.eye import NO_MATTER
from inkaccord.planning.rounds import MOST_PICKED
from inkaccord.sheets.controls import control_builds
from inkaccord.sheets.planning.plan import SCOUTING

SEED = 20261
START = 5.0
"""Root mean square ΔE00 by which the artwork misses what is wanted."""
NONE_RIGHT = 6.0, 10.0
"""ΔE00 between which people begin to say that no swatch is right, each in their own way."""
MATTERS = NO_MATTER * Tolerances().to_aim


def off(lab, error: float, rng):
    """Return (3,) CIELAB moved by ``error`` ΔE00, root mean square, the same in every way."""
    root = np.linalg.cholesky(delta_e_2000_metric(lab))
    return lab + np.linalg.solve(root.T, rng.normal(0, error / np.sqrt(3.0), 3))


@dataclass
class Person:
    """Who errs by ``eye``, of which ``standing`` is the same at every look at this thing."""

    thing: np.ndarray
    eye: float
    standing: float
    sure: float
    rng: np.random.Generator

    def __post_init__(self):
        self.takes_for = off(self.thing, self.standing, self.rng)
        self.fresh = np.sqrt(max(self.eye**2 - self.standing**2, 0.0))
        self.gives_up = self.rng.uniform(*NONE_RIGHT)

    def look(self, offered, printed, paper, sheet=None) -> Look:
        """Return what the person says of swatches that are printed so, (n, 3) CIELAB.

        ``sheet``: all that stands on it, those swatches first, and how they are printed; None where
        the person rather says which way the thing lies.
        """
        seen = off(self.takes_for, self.fresh, self.rng)
        apart = delta_e_2000(printed, seen)
        nearest, then = np.argsort(apart, kind="stable")[:2].tolist()
        if apart[nearest] > self.gives_up and sheet is not None:
            everything, prints = sheet
            nearest, then = np.argsort(delta_e_2000(prints, seen), kind="stable")[:2].tolist()
            return Look(everything, nearest, then=then, sure=self.sure)
        if apart[nearest] > self.gives_up:
            way = which_way(seen, printed.mean(axis=0), paper)
            return Look(offered, None, direction=way, sure=self.sure)
        return Look(offered, nearest, then=then, sure=self.sure)


def which_way(seen, middle, paper) -> Direction:
    """Return the word that says best how a colour lies from the middle of a sheet."""
    chart = EvenChart.round(middle)
    from_paper = middle - paper
    flat = from_paper * [0.0, 1.0, 1.0]
    stronger = flat if np.linalg.norm(flat) > 5.0 else from_paper
    ways = {
        Direction.LIGHTER: np.array([1.0, 0.0, 0.0]),
        Direction.REDDER: np.array([0.0, 1.0, 0.0]),
        Direction.YELLOWER: np.array([0.0, 0.0, 1.0]),
        Direction.STRONGER: stronger,
    }
    opposite = {
        Direction.LIGHTER: Direction.DARKER,
        Direction.REDDER: Direction.GREENER,
        Direction.YELLOWER: Direction.BLUER,
        Direction.STRONGER: Direction.WEAKER,
    }
    place = chart.place(seen[None])[0]
    along = {}
    for word, way in ways.items():
        step = chart.slopes(middle) @ way
        along[word] = float(step @ place / np.linalg.norm(step))
    word = max(along, key=lambda it: abs(along[it]))
    return word if along[word] > 0 else opposite[word]


def first_guess(pair):
    """A model of the pair by its paper alone."""
    return do.fit(do.read(pair, blank(pair), np.random.default_rng(0), noise=2.0))


def also_there(model, policy):
    """Return what stands on a first sheet beside the swatches for a thing, and on the others."""
    controls = np.array([build.values for build in control_builds(model.drive)])
    usual = scouting_set(model.drive, policy, SCOUTING, paper_lab=model.paper_lab, beside=controls)
    return np.concatenate([controls, usual]), controls


def blank(pair):
    return np.full((1, pair.channels), 0.0 if pair.channels == 4 else 255.0)


@dataclass(frozen=True)
class Found:
    """How far the chosen build's print lies from the thing, what was said, and what it took."""

    error: float
    bound: float
    sheets: int
    swatches: int
    looks: int


def look_for(pair, model, aim, asked, rng) -> Found:
    """Pick on sheet after sheet, until one more would not matter."""
    policy = do.policy(whole=True)
    sure = float(rng.uniform()) if asked.eye is None else 0.5
    eye = look_error(sure) if asked.eye is None else asked.eye
    others = other_drivers(do.drive_of(pair), model.paper_lab)
    middle = do.match(model, off(aim, START, rng)[None], policy).builds[0]
    person = Person(aim, eye, min(asked.standing, eye), sure, rng)
    paper = pair.lab(blank(pair))[0]
    beside = also_there(model, policy)
    looks, swatches, steps, likeliest = [], 0, (COARSE,) * 3, model
    for number in range(1, MOST_PICKED + 1):
        own = eye_set(likeliest, middle, policy, steps, others if number == 1 else ())
        offered = offered_on(model, own)
        printed, sheet = pair.lab(offered.builds), None
        if not asked.way:
            builds = np.concatenate([offered.builds, beside[min(number, 2) - 1]])
            sheet = offered_on(model, builds, own=len(printed)), pair.lab(builds)
        looks += [person.look(offered, printed, paper, sheet) for _ in range(LOOKS_A_SHEET)]
        swatches += len(printed)
        found = picked_build(model, looks, policy, others)
        unmoved = np.array_equal(found.build, middle) and number > 1
        done = number > 1 or found.belief.change_by(LOOKS_A_SHEET) < MATTERS
        if unmoved or (found.bound <= SETTLED and done):
            break
        middle, likeliest = found.build, found.model
        steps = steps_of(found.belief.spread(ladder_ways(found.lab)))
    error = float(delta_e_2000(pair.lab(found.build[None])[0], aim))
    return Found(error, found.bound, number, swatches, len(looks))


def by_hand(pair, aims, asked, rng, swatches: int):
    """Errors of the same eyes that choose once among many printed swatches."""
    eyes = [look_error(rng.uniform()) if asked.eye is None else asked.eye for _ in aims]
    seen = np.array([off(aim, eye, rng) for aim, eye in zip(aims, eyes, strict=True)])
    return do.nearest_printed(pair, aims, rng, swatches, seen)


def devices(files, drawn: int | None) -> dict:
    if drawn is not None:
        return {"RGB": [pair for path in files for pair in drawn_pairs(path, drawn)]}
    presses = [profile_pair(path) for path in files]
    stocks = [other_stock(p, **do.STOCKS[name]) for p in presses for name in do.STOCKS]
    behind = [pair for path in files for pair in rgb_pairs(path)]
    return {"CMYK": presses, "CMYK, other stock": stocks, "RGB": behind}


def figures(found, hands) -> dict:
    """Return how near people came, how the bound did, what it took, and what hands reach."""
    errors, bounds = (np.array([getattr(it, what) for it in found]) for what in ("error", "bound"))
    row = {
        "picks": len(found),
        **spread(errors),
        "within": round(float(np.mean(errors <= bounds)), 3),
        "bound": round(float(np.median(bounds)), 2),
    }
    for what in ("sheets", "swatches", "looks"):
        row[what] = round(float(np.mean([getattr(it, what) for it in found])), 2)
    return row | {f"nearest of {count}": spread(errors) for count, errors in hands.items()}


def spread(errors) -> dict:
    return {
        "median": round(float(np.median(errors)), 2),
        "p95": round(float(np.percentile(errors, 95)), 2),
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("files", nargs="*", type=Path)
    parser.add_argument("--eye", type=float, help="root mean square ΔE00 of a look (1.5 to 3)")
    parser.add_argument("--standing", type=float, default=0.0, help="of it at every look the same")
    parser.add_argument("--way", action="store_true", help="none is right: people say which way")
    parser.add_argument("--drawn", type=int, help="a seed: drivers drawn by it alone")
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    parser.add_argument("--quick", action="store_true", help="few aims: a smoke test")
    parser.add_argument("--aims", type=int, default=8, help="on each device (%(default)s)")
    asked = parser.parse_args()
    files = asked.files or [path for path in INSTALLED if path.exists()]
    if not files:
        sys.exit("no files given, and none of the Debian packages' profiles is installed")
    table = {}
    for kind, pairs in devices(files[: 1 if asked.quick else None], asked.drawn).items():
        found, hands = [], {1000: [], 3000: []}
        for pair in pairs[: 1 if asked.quick else None]:
            rng = np.random.default_rng([SEED, zlib.crc32(f"{kind} {pair.name}".encode())])
            aims = do.even_aims(pair, 3 if asked.quick else asked.aims, rng)
            model = first_guess(pair)
            for at, aim in enumerate(aims):
                # of its own for each thing, so that two ways of looking meet the same people
                own = np.random.default_rng([SEED, at, zlib.crc32(pair.name.encode())])
                found.append(look_for(pair, model, aim, asked, own))
            for count, errors in hands.items():
                own = np.random.default_rng(
                    [SEED, zlib.crc32(f"{count} {kind} {pair.name}".encode())]
                )
                errors.extend(by_hand(pair, aims, asked, own, count))
        table[kind] = figures(found, hands)
    if asked.json:
        print(json.dumps({"seed": SEED, "picks": table}, ensure_ascii=False, indent=1))
        return
    print(f"seed {SEED}; ΔE00 of the chosen build's print from the thing, and the stated bound")
    for kind, row in table.items():
        print(f"\n{kind}")
        for name, value in row.items():
            print(f"  {name:16} {value}")


if __name__ == "__main__":
    main()
