"""How well a device driven in RGB is known, behind many kinds of driver.

    python tests/benchmarks/rgb.py [--drawn SEED] [--controls] [--json] [--quick] [--runs N]
        [FILE…]

FILE: ICC CMYK profiles to put the drivers in front of; without any, those of Debian's krita-data,
scribus-data and libgs-common. For each driver: ΔE00 (median / 95th percentile) between aims spread
evenly over its gamut and what it prints for the matched builds, after one sheet of some size and
after closing in; and how often the 95 % bound holds, beside the truth without noise. ``--drawn``:
behind ten drivers drawn by a number instead (``drawn_drivers.py``), by their kinds. ``--controls``:
the first sheet as it is printed, the twelve controls beside the swatches that are counted.
"""

import argparse
import json
import os
import sys
import zlib
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("OMP_NUM_THREADS", "1")

import numpy as np
import practices as do
from drawn_drivers import drawn_pairs
from rgb_drivers import rgb_pairs
from virtual_pairs import INSTALLED

SEED = 20260
AIMS = 40
STAGES = ((16, 0), (24, 0), (40, 0), (100, 0), (40, 1), (40, 4))
PRINTED = ((16, 0), (28, 0), (28, 1), (28, 4))
"""Fewest and usual swatches beside the controls, as sheets are planned."""


def judge(pair, first: int, each: int, runs: int, aims_a_run: int, *, controls: bool = False):
    """Return errors (to the aim, of the prediction) and bounds of one practice on one device."""
    errors, bounds = [], []
    for run in range(runs):
        cell = [SEED, zlib.crc32(f"{pair.name} {first} {each} {run}".encode())]
        rng = np.random.default_rng(cell)
        aims = do.even_aims(pair, aims_a_run, rng)
        readings = do.read(pair, do.scouting(pair, first, controls=controls), rng)
        model = do.fit(readings)
        if each:
            close = do.close_in(model, aims, each)
            readings = do.together(readings, do.read(pair, close, rng))
            model = do.fit(readings)
        builds = do.match(model, aims, do.policy(whole=False)).unrounded
        truth = pair.lab(builds)
        errors.append(np.c_[do.delta_e_2000(truth, aims),
                            do.delta_e_2000(truth, model.predict_lab(builds))])  # fmt: skip
        bounds.append(model.bound(builds))
    return np.concatenate(errors), np.concatenate(bounds)


def figures(found) -> dict:
    """Return to-aim errors over devices in brief, and how the bound did on those of predictions."""
    errors, bounds = (np.concatenate(part) for part in zip(*found, strict=True))
    to_aim, missed = errors.T
    return {
        "median": round(float(np.median(to_aim)), 2),
        "p95": round(float(np.percentile(to_aim, 95)), 2),
        "within_bound": round(float(np.mean(missed <= bounds)), 3),
        "least_within": round(min(float(np.mean(e[:, 1] <= b)) for e, b in found), 3),
        "bound_to_p95": round(float(np.median(bounds) / np.percentile(missed, 95)), 2),
    }


def _driver(pair) -> str:
    return pair.name.partition(": ")[2].partition(", drawn")[0]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("files", nargs="*", type=Path)
    parser.add_argument("--drawn", type=int, help="a seed: drivers drawn by it alone")
    parser.add_argument("--controls", action="store_true", help="beside the planned swatches")
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    parser.add_argument("--quick", action="store_true", help="two drivers, once: a smoke test")
    parser.add_argument("--runs", type=int, default=2, help="of each cell (%(default)s)")
    asked = parser.parse_args()
    files = asked.files or [path for path in INSTALLED if path.exists()]
    if not files:
        sys.exit("no files given, and none of the Debian packages' profiles is installed")
    drawn = asked.drawn
    pairs = [
        pair
        for path in files
        for pair in (rgb_pairs(path) if drawn is None else drawn_pairs(path, drawn))
    ]
    runs, aims, stages = asked.runs, AIMS, PRINTED if asked.controls else STAGES
    if asked.quick:
        pairs, runs, aims, stages = [pairs[0], pairs[7]], 1, 15, stages[:3]

    table: dict = {}
    every: dict = {stage: [] for stage in stages}
    for driver in dict.fromkeys(_driver(pair) for pair in pairs):
        table[driver] = {}
        for stage in stages:
            found = [
                judge(p, *stage, runs, aims, controls=asked.controls)
                for p in pairs
                if _driver(p) == driver
            ]
            table[driver][_name(*stage)] = figures(found)
            every[stage] += found
    table["all"] = {_name(*stage): figures(found) for stage, found in every.items()}
    result = {"seed": SEED, "noise": do.NOISE, "aims": aims, "runs": runs, "drivers": table}
    print(json.dumps(result, ensure_ascii=False, indent=1) if asked.json else text(result))


def _name(first: int, each: int) -> str:
    return f"{first} and {each} near each" if each else f"sheet of {first}"


def text(result: dict) -> str:
    table = result["drivers"]
    lines = [
        f"seed {result['seed']}, noise {result['noise']} ΔE00, {result['aims']} aims a run, "
        f"{result['runs']} runs",
        "median / 95th percentile, % within the bound (least on one press), bound ÷ p95",
    ]
    for stage in table["all"]:
        lines += ["", stage]
        for name, row in table.items():
            it = row[stage]
            lines.append(
                f"  {name:26} {it['median']:5.2f} /{it['p95']:5.2f}  "
                f"{100 * it['within_bound']:5.1f} ({100 * it['least_within']:5.1f}) %  "
                f"{it['bound_to_p95']:.2f}"
            )
    return "\n".join(lines)


if __name__ == "__main__":
    main()
