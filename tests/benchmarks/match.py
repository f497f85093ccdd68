"""How near to a wanted colour each practice comes, and how long it takes.

``python tests/benchmarks/match.py [--json] [--quick] [FILE…]``

FILE is any ICC CMYK profile (a virtual pair, printed on through LittleCMS) or CGATS text with
CMYK and XYZ or CIELAB columns (raw readings: trained on some, judged on the rest). Without files
it takes what the Debian packages krita-data, scribus-data and libgs-common carry. Every cell of
the table draws its own noise: the generator is seeded with the cell's name.
"""

import argparse
import json
import os
import sys
import zlib

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("OMP_NUM_THREADS", "1")

from pathlib import Path

import numpy as np
import practices as do
from speed import fit_times, match_times
from virtual_pairs import CONDITIONS, INSTALLED, other_stock, profile_pair, raw_set, rgb_pair

SEED = 20260
AIMS = 40


def generator(*cell) -> np.random.Generator:
    """Return the cell's own noise."""
    return np.random.default_rng([SEED, zlib.crc32(repr(cell).encode())])


def summary(errors) -> dict:
    errors = np.concatenate(errors)
    if not errors.size:
        return {}
    median, high = np.percentile(errors, [50, 95])
    return {"median": round(float(median), 3), "p95": round(float(high), 3), "n": errors.size}


def practice_rows(runs: int) -> dict:
    """Return the table's rows: a name, and a function of pair, others, aims and generator."""
    usual = {
        "same build on every pair": lambda p, o, a, r: do.same_build(p, o, r, len(a)),
        "nearest of 1,000 printed swatches": lambda p, _, a, r: do.nearest_printed(p, a, r, 1000),
        "nearest of 3,000 printed swatches": lambda p, _, a, r: do.nearest_printed(p, a, r, 3000),
        "one sheet of 16": lambda p, _, a, r: do.from_sheets(p, a, r, 16),
        "one sheet of 24": lambda p, _, a, r: do.from_sheets(p, a, r, 24),
        "one sheet of 40": lambda p, _, a, r: do.from_sheets(p, a, r, 40),
        "one sheet of 100": lambda p, _, a, r: do.from_sheets(p, a, r, 100),
        "40 and 1 near each colour": lambda p, _, a, r: do.from_sheets(p, a, r, 40, 1),
        "40 and 4 near each colour": lambda p, _, a, r: do.from_sheets(p, a, r, 40, 4),
    }
    loops = {"loop: one sheet of 100": (100, 0, False), "loop: 40 and 1": (40, 1, False)}
    loops["loop: 40 and 4, then a proof"] = (40, 4, True)

    def loop(first, each, proof):
        def run(pair, _others, _aims, rng):
            press = do.Press.imperfect(pair, rng)
            aims = do.even_aims(press.usual(), AIMS, rng)
            return do.realistic(press, aims, rng, first, each, proof=proof)

        return run

    return usual | {name: loop(*settings) for name, settings in loops.items()}


def pair_table(pairs, runs: int) -> dict:
    table = {}
    for name, practice in practice_rows(runs).items():
        cells = {}
        for pair in pairs:
            others = [o for o in pairs if o is not pair and o.channels == pair.channels]
            errors = []
            for run in range(runs):
                aims = do.even_aims(pair, AIMS, generator("aims", pair.name, run))
                errors.append(
                    practice(pair, others, aims, generator("noise", name, pair.name, run))
                )
            cells[pair.name] = summary(errors)
        table[name] = cells
    return table


def raw_table(raws, runs: int) -> dict:
    table = {}
    for raw in raws:
        for training in (40, 100, 300):
            if training + 300 > len(raw.builds):
                continue
            cells = [
                do.held_out(raw, generator("raw", raw.name, training, run), training)
                for run in range(runs)
            ]
            errors = np.concatenate([e for e, _ in cells])
            bounds = np.concatenate([b for _, b in cells])
            table[f"{raw.name}: {training} random, 300 held out"] = summary([errors]) | coverage(
                errors, bounds
            )
    return table


def coverage(errors, bounds) -> dict:
    """How often the bound holds, and how wide it is for what it holds."""
    return {
        "within_bound": round(float(np.mean(errors <= bounds)), 3),
        "bound_to_p95": round(float(np.median(bounds) / np.percentile(errors, 95)), 2),
    }


def uncertainty_table(pairs, runs: int) -> dict:
    table = {}
    for count in (16, 24, 40, 100, 300):
        for pair in pairs:
            errors, bounds = [], []
            for run in range(runs):
                rng = generator("bound", pair.name, count, run)
                model = do.fit(do.read(pair, do.scouting(pair, count), rng))
                aims = do.even_aims(pair, AIMS, rng)
                builds = do.match(model, aims, do.policy(whole=False)).unrounded
                errors.append(do.delta_e_2000(model.predict_lab(builds), pair.lab(builds)))
                bounds.append(model.bound(builds))
            errors, bounds = np.concatenate(errors), np.concatenate(bounds)
            table[f"{pair.name}: sheet of {count}"] = summary([errors]) | coverage(errors, bounds)
    return table


def kin_table(pairs) -> dict:
    """Another stock on the same device: alone, and with the model of the first stock."""
    table = {}
    for pair in pairs:
        known = do.fit(do.read(pair, do.scouting(pair, 100), generator("kin", pair.name)))
        for stock, settings in do.STOCKS.items():
            new = other_stock(pair, **settings)
            for count in (1, 8, 16, 24):
                for name, kin in (("alone", None), ("with kin", known)):
                    rng = generator("kin", pair.name, stock, count)
                    errors, bounds = do.with_kin(new, kin, rng, count)
                    row = summary([errors]) | coverage(errors, bounds)
                    table[f"{pair.name}, {stock}: {count} swatches, {name}"] = row
    return table


def swap_table(pairs, runs: int) -> dict:
    """Two swatches swapped among 60."""
    table = {}
    for pair in pairs:
        cells = [do.with_swap(pair, generator("swap", pair.name, r), 60) for r in range(2 * runs)]
        right, swapped = summary([c[0] for c in cells]), summary([c[1] for c in cells])
        named = sum(c[2] for c in cells)
        worst = max(float(c[1].max()) for c in cells)
        table[pair.name] = (
            f"median {right['median']:.2f} read right, {swapped['median']:.2f} swapped (worst "
            f"{worst:.1f}); {named} of {2 * len(cells)} swapped readings named"
        )
    return table


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("files", nargs="*", type=Path)
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    parser.add_argument("--quick", action="store_true", help="one run a cell: a smoke test")
    arguments = parser.parse_args()
    paths = arguments.files or [p for p in INSTALLED if p.exists()]
    if not paths:
        sys.exit("no files given, and none of the Debian packages' profiles is installed")

    runs = 1 if arguments.quick else 4
    profiles = [p for p in paths if p.read_bytes()[36:40] == b"acsp"]
    pairs = [profile_pair(p) for p in profiles]
    drivers = [rgb_pair(p) for p in profiles][: 1 if arguments.quick else None]
    raws = [raw for p in paths if (raw := raw_set(p)) is not None]
    result = {
        "seed": SEED,
        "noise": do.NOISE,
        "aims": AIMS,
        "runs": runs,
        "practices": pair_table(pairs, runs),
        "driven by RGB": pair_table(drivers, 1),
        "raw readings": raw_table(raws, runs),
        "bounds": uncertainty_table(pairs + drivers, runs),
        "another stock": kin_table(pairs[:1] if arguments.quick else pairs),
        "two of 60 swapped": swap_table(pairs, runs),
        "fit": fit_times(raws),
        "match": match_times(pairs[:1], quick=arguments.quick),
    }
    told = json.dumps(result, indent=1) if arguments.json else text(result)
    for file, condition in CONDITIONS.items():
        told = told.replace(file, condition)  # the file's name stays the seed of its noise
    print(told)


def text(result: dict) -> str:
    lines = [
        f"seed {result['seed']}, noise {result['noise']} ΔE00, {result['aims']} aims a run, "
        f"{result['runs']} runs a cell; median / 95th percentile ΔE00"
    ]
    for part in ("practices", "driven by RGB"):
        lines += ["", part]
        for name, cells in result[part].items():
            shown = [
                f"{c['median']:5.2f} /{c['p95']:5.2f}" if c else "    –      "
                for c in cells.values()
            ]
            lines.append(f"  {name:36}" + "   ".join(shown))
        names = next(iter(result[part].values()), {})
        lines.append("  columns: " + "; ".join(names))
    for part in ("raw readings", "bounds", "another stock"):
        lines += ["", f"{part}: median / p95, share within the bound, median bound ÷ p95 of errors"]
        for name, c in result[part].items():
            lines.append(
                f"  {name:58} {c['median']:5.2f} /{c['p95']:5.2f}  {100 * c['within_bound']:5.1f} %"
                f"  {c['bound_to_p95']:.2f}"
            )
    for part in ("two of 60 swapped", "fit", "match"):
        lines += ["", part] + [f"  {name:58} {value}" for name, value in result[part].items()]
    return "\n".join(lines)


if __name__ == "__main__":
    main()
