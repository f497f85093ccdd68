"""What planning a sheet is worth: planned swatches beside unplanned ones, on virtual pairs.

    python tests/benchmarks/planning.py [--json] [--quick] [FILE…]

FILE: ICC CMYK profiles; without any, those of Debian's krita-data, scribus-data, libgs-common.
For every size of the first sheet and every way of choosing its swatches: fit to readings with
noise, match aims spread evenly over the gamut, print, and compare with the aims.
"""

import argparse
import json
import time
from pathlib import Path

import numpy as np
import practices as do
from rgb_drivers import rgb_pairs
from virtual_pairs import INSTALLED, profile_pair

from inkaccord.colour.sampling.even_set import Spacing, even_set

SEEDS = (1, 2, 3)


DRIVERS = ("sRGB, perceptual", "wide RGB, perceptual", "enhanced", "masking")
"""Of those in rgb_drivers.py; a plan for one in RGB knows nothing of them."""


def random_sheet(pair, count, rng):
    """Paper, solids, and builds drawn at random, as a careful person without a plan would."""
    solids = np.concatenate([np.zeros((1, pair.channels)), 100 * np.eye(pair.channels)])
    fixed = solids if pair.channels == 4 else 255 - 2.55 * solids
    return np.concatenate([fixed, np.rint(do.random_builds(pair, count - len(fixed), rng))])


def random_close(model, builds, each, rng):
    """The predicted build, and others five percent round it in the inks that it has."""
    whole = np.rint(builds)
    shift = rng.normal(0, 5, (each - 1, *builds.shape)) * (builds > 0)
    return np.clip(np.concatenate([whole[None], np.rint(whole + shift)]), 0, 100).reshape(-1, 4)


def error(pair, model, aims):
    builds = do.match(model, aims, do.policy(whole=False)).unrounded
    return do.delta_e_2000(pair.lab(builds), aims)


def first_sheets(pairs, *, quick):
    """ΔE00 after one sheet, for each size and way."""
    rows = {}
    ways = {
        "random": random_sheet,
        "Sobol sequence": lambda pair, count, rng: do.plain_scouting(pair, count),
        "planned": lambda pair, count, rng: do.scouting(pair, count),
    }
    for count in (16, 40) if quick else (16, 24, 40, 100):
        for name, way in ways.items():
            found = []
            for pair in pairs:
                for seed in SEEDS[:1] if quick else SEEDS:
                    rng = np.random.default_rng((count, seed))
                    aims = do.even_aims(pair, 20 if quick else 60, rng)
                    model = do.fit(do.read(pair, way(pair, count, rng), rng))
                    found.extend(error(pair, model, aims))
            rows[f"sheet of {count}, {name}"] = _figures(found)
    return rows


def close_in(pairs, *, quick):
    """ΔE00 after 40 shared swatches and some near each of 24 colours."""
    rows = {}
    for each in (2, 4):
        for name in ("random", "planned"):
            found = []
            for pair in pairs:
                for seed in SEEDS[:1] if quick else SEEDS:
                    rng = np.random.default_rng((each, seed))
                    aims = do.even_aims(pair, 12 if quick else 24, rng)
                    first = do.read(pair, do.scouting(pair, 40), rng)
                    model = do.fit(first)
                    if name == "planned":
                        near = do.close_in(model, aims, each)
                    else:
                        builds = do.match(model, aims, do.policy(whole=True)).builds
                        near = random_close(model, builds, each, rng)
                    refit = do.fit(do.together(first, do.read(pair, near, rng)))
                    found.extend(error(pair, refit, aims))
            rows[f"40 and {each} round each, {name}"] = _figures(found)
    return rows


def even_sets(pairs, *, quick):
    """How even a swatch set is, and how long it takes."""
    pair = pairs[0]
    model = do.fit(do.read(pair, do.scouting(pair, 100), np.random.default_rng(9)))
    rows = {}
    for count in (100, 300) if quick else (100, 1000, 3000, 5000):
        start = time.process_time()
        swatch_set = even_set(model, Spacing(count=count), do.policy(whole=True))
        seconds = time.process_time() - start
        gaps = []
        for lab in swatch_set.lab:
            distance = do.delta_e_2000(swatch_set.lab, lab)
            gaps.append(np.partition(distance, 1)[1])
        rows[f"set of {count}"] = (
            f"{seconds:.1f} s; nearest neighbour {min(gaps):.2f} at least, "
            f"{np.percentile(gaps, 95):.2f} at the 95th percentile"
        )
    return rows


def _figures(errors):
    return f"{np.median(errors):.2f} / {np.percentile(errors, 95):.2f}"


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("files", nargs="*", type=Path)
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--quick", action="store_true")
    asked = parser.parse_args()
    files = asked.files or [path for path in INSTALLED if path.exists()]
    pairs = [profile_pair(path) for path in files]
    behind = [
        pair
        for path in files
        for pair in rgb_pairs(path)
        if pair.name.partition(": ")[2] in DRIVERS[: 1 if asked.quick else None]
    ]
    report = {
        "first sheet, ΔE00 median / 95th percentile": first_sheets(pairs, quick=asked.quick),
        "first sheet behind drivers in RGB": first_sheets(behind, quick=asked.quick),
        "closing in, the same": close_in(pairs, quick=asked.quick),
        "swatch sets": even_sets(pairs, quick=asked.quick),
    }
    if asked.json:
        print(json.dumps(report, ensure_ascii=False, indent=2))
        return
    print("noise of a reading 0.3 ΔE00; no drift; builds unrounded; seeds", *SEEDS)
    for title, rows in report.items():
        print(f"\n{title}")
        for name, value in rows.items():
            print(f"  {name:<44} {value}")


if __name__ == "__main__":
    main()
