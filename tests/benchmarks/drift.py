"""What controls tell of a drifted pair, on the example's invented printers.

    python tests/benchmarks/drift.py [--json] [--quick]

A pair is read in full (40 swatches with the controls). Then its gains and ink strengths move, and
it is known anew: not at all, by its controls, by these and ten swatches, by another full sheet
alone. Printed for each: ΔE00 between prediction and print over builds of all kinds, the bound, and
how often the bound holds.
"""

import argparse
import json
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np

from inkaccord.colour.builds import Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.press.drift import drift_between, re_anchor
from inkaccord.colour.press.model import fit
from inkaccord.colour.readings import Readings
from inkaccord.colour.sampling.planning import scouting_set
from inkaccord.colour.spaces import lab_to_xyz
from inkaccord.colour.spectra import spectra_to_lab
from inkaccord.sheets.controls import control_builds

sys.path.insert(0, str(Path(__file__).parents[2] / "jobs_example"))
import printers

PAIRS = (
    ("laser", "natural-cotton"),
    ("north-quay-envelopes", "grey-felt"),
    ("millrace-press", "smooth-ivory"),
    ("inkjet", "smooth-ivory"),
)
GAIN, STRENGTH = 0.03, 0.06
"""Standard deviations of a drift of size 1: of coverage at half tone, of an ink's density."""


def read(device, stock, builds, name):
    ids = [str(number) for number in range(len(builds))]
    spectra = printers.read_sheet(device, stock, builds, sheet_id=name, swatch_ids=ids)
    lab = spectra_to_lab(spectra, printers.WAVELENGTHS_NM)
    return Readings(
        drive=device.drive,
        builds=builds,
        xyz=lab_to_xyz(lab),
        sheet=np.zeros(len(builds), dtype=np.int_),
        noise=np.full(len(builds), 0.3),
    )


def probes(drive, rng):
    if drive is Drive.RGB:
        return rng.integers(0, 6, (120, 3)) * 50.0
    builds = rng.integers(0, 6, (160, 4)) * np.array([16.0, 16.0, 16.0, 8.0])
    return builds[builds.sum(axis=1) < 260][:120]


def drifted(device, size, rng):
    gains = np.array(device.gains) + size * rng.normal(0, GAIN, 4) * (device.drive is Drive.CMYK)
    strengths = np.array(device.strengths) * (1 + size * rng.normal(0, STRENGTH, 4))
    return replace(device, gains=tuple(gains), strengths=tuple(strengths))


def trial(device, stock, size, rng, name):
    controls = np.array([build.values for build in control_builds(device.drive)])
    whole = np.concatenate([controls, scouting_set(device.drive, InkPolicy(), 28, beside=controls)])
    earlier = read(device, stock, whole, "before")
    model = fit(earlier)
    now = drifted(device, size, rng)
    builds = probes(device.drive, rng)
    truth = printers.true_lab(now, stock, builds)
    told = read(now, stock, controls, f"{name} controls")
    near = np.concatenate([controls, builds[:10]])
    models = {
        "as it was": model,
        "controls": re_anchor(model, earlier, told),
        "controls and 10": re_anchor(model, earlier, read(now, stock, near, f"{name} near")),
        "a full sheet": fit(read(now, stock, whole, f"{name} whole")),
    }
    seen = drift_between(read(device, stock, controls, "before"), told).typical
    for by, known in models.items():
        error, bound = delta_e_2000(known.predict_lab(builds), truth), known.bound(builds)
        yield (
            by,
            (
                seen,
                np.median(error),
                np.percentile(error, 95),
                np.median(bound),
                np.mean(error <= bound),
                np.median(error[:10]),
            ),
        )


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--quick", action="store_true")
    asked = parser.parse_args()
    sizes, trials, pairs = ((1.0,), 1, PAIRS[:1]) if asked.quick else ((0.0, 0.5, 1, 2), 3, PAIRS)
    result = []
    for size in sizes:
        rng = np.random.default_rng(1)
        found = {}
        for device, stock in pairs:
            for number in range(trials):
                known = printers.DEVICES[device], printers.STOCKS[stock]
                for by, row in trial(*known, size, rng, f"{size} {number}"):
                    found.setdefault(by, []).append(row)
        for by, rows in found.items():
            seen, median, most, bound, held, there = np.mean(rows, axis=0).round(2).tolist()
            result.append(
                {"drift": size, "controls moved": seen, "known by": by, "median": median,
                 "95 %": most, "bound": bound, "held": held, "at the ten": there}
            )  # fmt: skip
    if asked.json:
        print(json.dumps(result, indent=1))
        return
    print(*result[0], sep="\t")
    for row in result:
        print(*row.values(), sep="\t")


if __name__ == "__main__":
    main()
