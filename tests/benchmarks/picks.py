"""What a pick by eye is worth on a pair that nobody has read: a simulated person, many devices.

    python tests/benchmarks/picks.py [--json] [--quick] [FILE…]

FILE: ICC CMYK profiles, printed on as they are, on other stock, and behind drivers in RGB; without
any, those of Debian's krita-data, scribus-data and libgs-common. The person errs by as much as a
pick is taken to err: 1.5 ΔE00 (sure) to 3 (a guess), root mean square. Sheets go on as the planner
plans them: ladders round the last pick, until a pick counts as settled, then a finer one round it.
"""

import argparse
import json
import sys
import zlib
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import practices as do
from rgb_drivers import rgb_pairs
from virtual_pairs import INSTALLED, other_stock, profile_pair

from inkaccord.colour.delta_e import delta_e_2000_metric
from inkaccord.colour.offers import judge_offer
from inkaccord.colour.picks import Look, pick_error, picked_build
from inkaccord.colour.sampling.eye_set import COARSE, FINE, eye_set

SEED = 20261
MOST_SHEETS = 3
"""As many rounds of picks as the planner asks for."""


def picked_by(lab, aim, error: float, rng) -> int:
    """Return which of (n, 3) colours a person takes for the aim, ``error`` ΔE00 off on average."""
    root = np.linalg.cholesky(delta_e_2000_metric(aim))
    seen = aim + np.linalg.solve(root.T, rng.normal(0, error / np.sqrt(3.0), 3))
    return int(np.argmin(do.delta_e_2000(lab, seen)))


def first_guess(pair):
    """A model of the pair by its paper alone."""
    blank = np.full((1, pair.channels), 0.0 if pair.channels == 4 else 255.0)
    return do.fit(do.read(pair, blank, np.random.default_rng(0), noise=2.0))


@dataclass(frozen=True)
class Picked:
    """How far the picked build's print lies from what the person had in mind, and what was said."""

    error: float
    bound: float
    settled: bool
    sheets: int


def look_for(pair, aim, rng) -> list[Picked]:
    """Pick on sheet after sheet; return the first that settles (or the last), and a second look."""
    model, policy = first_guess(pair), do.policy(whole=True)
    sure = float(rng.uniform())
    # The artwork says about what is wanted: some 5 ΔE00 off.
    root = np.linalg.cholesky(delta_e_2000_metric(aim))
    wanted = aim + np.linalg.solve(root.T, rng.normal(0, 5.0 / np.sqrt(3.0), 3))
    middle = do.match(model, wanted[None], policy).builds[0]

    def pick(rungs):
        builds = eye_set(model, middle, policy, rungs)
        row = picked_by(pair.lab(builds), aim, pick_error(sure), rng)
        offer = judge_offer(model, builds, row)
        return Look(tuple(builds[row]), sure=sure, doubt=offer.doubt), offer.settled

    def judged(looks, settled, sheets):
        found = picked_build(model, looks, policy)
        error = float(do.delta_e_2000(pair.lab(found.build[None])[0], aim))
        return Picked(error, found.bound, settled, sheets), found.build

    for number in range(1, MOST_SHEETS + 1):
        look, settled = pick(COARSE)
        first, build = judged([look], settled, number)
        if settled or np.array_equal(build, middle):
            break
        middle = build
    if not first.settled or first.sheets == MOST_SHEETS:
        return [first]
    middle = build
    finer, _ = pick(FINE)
    return [first, judged([look, finer], True, first.sheets + 1)[0]]


def devices(files) -> dict:
    presses = [profile_pair(path) for path in files]
    stocks = [other_stock(p, **do.STOCKS[name]) for p in presses for name in do.STOCKS]
    behind = [pair for path in files for pair in rgb_pairs(path)]
    return {"CMYK": presses, "CMYK, other stock": stocks, "RGB": behind}


def figures(looks) -> dict:
    """Return how near the picks came and how the bound did: settled or not, after a second look."""
    first, second = [it[0] for it in looks], [it[1] for it in looks if len(it) > 1]
    kinds = {
        "settled": [it for it in first if it.settled],
        "not settled": [it for it in first if not it.settled],
        "after a finer ladder": second,
    }
    found = {"picks": len(looks), "sheets": round(float(np.mean([it.sheets for it in first])), 1)}
    for name, rows in kinds.items():
        if not rows:
            continue
        e, b = (np.array([getattr(it, what) for it in rows]) for what in ("error", "bound"))
        found |= {
            f"{name}: picks": len(rows),
            f"{name}: median": round(float(np.median(e)), 2),
            f"{name}: p95": round(float(np.percentile(e, 95)), 2),
            f"{name}: within": round(float(np.mean(e <= b)), 3),
            f"{name}: bound": round(float(np.median(b)), 2),
        }
    return found


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("files", nargs="*", type=Path)
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    parser.add_argument("--quick", action="store_true", help="few aims: a smoke test")
    parser.add_argument("--aims", type=int, default=8, help="on each device (%(default)s)")
    asked = parser.parse_args()
    files = asked.files or [path for path in INSTALLED if path.exists()]
    if not files:
        sys.exit("no files given, and none of the Debian packages' profiles is installed")
    table = {}
    for kind, pairs in devices(files[: 1 if asked.quick else None]).items():
        rows = []
        for pair in pairs[: 1 if asked.quick else None]:
            rng = np.random.default_rng([SEED, zlib.crc32(f"{kind} {pair.name}".encode())])
            aims = do.even_aims(pair, 3 if asked.quick else asked.aims, rng)
            rows += [look_for(pair, aim, rng) for aim in aims]
        table[kind] = figures(rows)
    if asked.json:
        print(json.dumps({"seed": SEED, "picks": table}, ensure_ascii=False, indent=1))
        return
    print(f"seed {SEED}; ΔE00 of the picked build from the aim, and the stated bound")
    for kind, row in table.items():
        print(f"\n{kind}")
        for name, value in row.items():
            print(f"  {name:32} {value}")


if __name__ == "__main__":
    main()
