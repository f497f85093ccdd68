"""What a second sheet does to the bounds of the first, on devices that wander from day to day.

    python tests/benchmarks/second_sheet.py [--json] [--quick]

A pair is read in full (40 swatches with the controls), twelve builds are found on it, and a second
sheet is read on another day: the controls and four swatches round each of four builds. Printed for
each kind of device: the bounds before and after, how often they grew, how often they hold (in the
device's usual state, and on a third day), and the bound that was foretold for after.

Devices: the profiles of Debian's krita-data, scribus-data and libgs-common with bent tone curves,
whose half tones and solids wander by 0.7 % (standard deviation), and the example's printers.
"""

import argparse
import datetime
import json
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import practices as do
from virtual_pairs import INSTALLED, profile_pair

from inkaccord.colour.builds import Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.press.model import fit
from inkaccord.colour.readings import Readings
from inkaccord.colour.sampling.gain import bound_after
from inkaccord.colour.sampling.planning import closing_set, scouting_set
from inkaccord.colour.spaces import lab_to_xyz
from inkaccord.colour.spectra import spectra_to_lab
from inkaccord.sheets.controls import control_builds

sys.path.insert(0, str(Path(__file__).parents[2] / "jobs_example"))
import printers

PAIRS = (
    ("laser", "natural-cotton"),
    ("north-quay-press", "kraft"),
    ("north-quay-envelopes", "grey-felt"),
    ("millrace-press", "smooth-ivory"),
    ("inkjet", "smooth-ivory"),
)
CLOSED_IN = 4


@dataclass(frozen=True)
class Device:
    """A device that wanders: what it prints on a day, read or seen, and usually."""

    drive: Drive
    read: Callable
    """(builds, day, rng) → Readings."""
    seen: Callable
    """(builds, rng) → CIELAB on a day of its own."""
    usual: Callable
    aims: Callable


def wandering_profile(path, number) -> Device:
    pair = profile_pair(path)
    press = do.Press.imperfect(pair, np.random.default_rng([number, 77]))
    return Device(
        Drive.CMYK,
        lambda builds, day, rng: do.read(press.sheet(rng), builds, rng, sheet=day),
        lambda builds, rng: press.sheet(rng).lab(builds),
        lambda builds: press.usual().lab(builds),
        lambda rng: do.even_aims(pair, 12, rng),
    )


def invented_printer(device, stock, number) -> Device:
    def day(at):
        return datetime.date(2026, 1, 1) + datetime.timedelta(days=97 * number + 9 * at)

    def read(builds, at, _):
        ids = [str(row) for row in range(len(builds))]
        spectra = printers.read_sheet(
            device, stock, builds, sheet_id=f"{number} {at}", swatch_ids=ids, day=day(at)
        )
        xyz = lab_to_xyz(spectra_to_lab(spectra, printers.WAVELENGTHS_NM))
        count = len(builds)
        return Readings(device.drive, builds, xyz, np.full(count, at), np.full(count, do.NOISE))

    def seen(builds, _):
        spectra = printers.spectra(device, stock, builds, day=day(2))
        return spectra_to_lab(spectra, printers.WAVELENGTHS_NM)

    def aims(rng):
        share = rng.uniform(0, 0.7, (12, 4)) * [1.0, 1.0, 1.0, 0.3]
        builds = share * 100.0 if device.drive is Drive.CMYK else 255.0 * (1.0 - share[:, :3])
        return printers.true_lab(device, stock, builds)

    return Device(
        device.drive, read, seen, lambda builds: printers.true_lab(device, stock, builds), aims
    )


def trial(device: Device, rng):
    """Return rows of one pair: bounds first, foretold, after; errors usual and on a third day."""
    policy = do.policy(whole=True)
    controls = np.array([build.values for build in control_builds(device.drive)])
    scouting = scouting_set(device.drive, policy, 28, beside=controls)
    first = device.read(np.concatenate([controls, scouting]), 0, rng)
    model = fit(first)
    builds = do.match(model, device.aims(rng), policy).builds
    near = closing_set(model, builds[:CLOSED_IN], 4, policy)
    asked = np.concatenate([controls, *near])
    foretold = bound_after(model, builds, asked)
    later = fit(do.together(first, device.read(asked, 1, rng)))
    usual, third = device.usual(builds), device.seen(builds, rng)
    columns = [model.bound(builds), foretold, later.bound(builds)]
    for known in (model, later):
        predicted = known.predict_lab(builds)
        columns += [delta_e_2000(predicted, usual), delta_e_2000(predicted, third)]
    return np.column_stack(columns)


def figures(rows) -> dict:
    first, foretold, after, usual, third, usual_after, third_after = rows.T
    ratio = foretold / after
    return {
        "builds": len(rows),
        "bound of one sheet, median": round(float(np.median(first)), 2),
        "bound of two, median": round(float(np.median(after)), 2),
        "grew": round(float(np.mean(after > first)), 2),
        "grew by more than a tenth": round(float(np.mean(after > 1.1 * first)), 2),
        "one sheet: holds usually": round(float(np.mean(usual <= first)), 3),
        "one sheet: holds on another day": round(float(np.mean(third <= first)), 3),
        "two sheets: holds usually": round(float(np.mean(usual_after <= after)), 3),
        "two sheets: holds on another day": round(float(np.mean(third_after <= after)), 3),
        "foretold to found, p5": round(float(np.percentile(ratio, 5)), 2),
        "foretold to found, median": round(float(np.median(ratio)), 2),
        "foretold to found, p95": round(float(np.percentile(ratio, 95)), 2),
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    parser.add_argument("--quick", action="store_true", help="one device: a smoke test")
    parser.add_argument("--seeds", type=int, default=4, help="of each device (%(default)s)")
    asked = parser.parse_args()
    table = {}
    pairs = {name: (printers.DEVICES[name], printers.STOCKS[on]) for name, on in PAIRS}
    kinds = {
        "invented printers in CMYK": [it for it in pairs.values() if it[0].drive is Drive.CMYK],
        "invented printer in RGB": [it for it in pairs.values() if it[0].drive is Drive.RGB],
    }
    for kind, members in kinds.items():
        rows = [
            trial(invented_printer(*one, number), np.random.default_rng([number, at]))
            for at, one in enumerate(members[: 1 if asked.quick else None])
            for number in range(1 if asked.quick else asked.seeds)
        ]
        table[kind] = figures(np.concatenate(rows))
    rows = [
        trial(wandering_profile(path, number), np.random.default_rng([number, at]))
        for at, path in enumerate([] if asked.quick else INSTALLED)
        if path.exists()
        for number in range(asked.seeds)
    ]
    if rows:
        table["wandering press profiles"] = figures(np.concatenate(rows))
    if asked.json:
        print(json.dumps(table, ensure_ascii=False, indent=1))
        return
    for kind, row in table.items():
        print(f"\n{kind}")
        for name, value in row.items():
            print(f"  {name:34} {value}")


if __name__ == "__main__":
    main()
