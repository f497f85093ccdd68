"""What a scan adds to a pair that was read with an instrument, and how sure either makes it.

``python tests/benchmarks/read_and_scanned.py [--seeds N] [--off D] [--published ROW…] [--rgb]
[--unsaid] [FILE…]``

FILE is an ICC CMYK profile, printed on through LittleCMS; without, Debian's three. Controls and a
first sheet of 40 are read; a second print, with swatches round twelve aims, lies on a scanner,
calibrated as the tool does it, on its controls. The scanner is invented: bands of its own, inks
seen a little otherwise, a curve, stray light, noise; or such rows of ``glass.REPORTED`` (0 to 9),
sensors and lamps that are published (``scanners.py``). Prints differ as presses wander. Beside it
stands a pair of which all was scanned. ``--off`` moves what was scanned by so much in a* and b*
once it is calibrated; ``--unsaid`` does not say which readings are a scan's, as it was before.
"""

import argparse
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import practices as do
from glass import REPORTED
from rgb_drivers import rgb_pairs
from scanners import Invented, Published, name_of
from virtual_pairs import INSTALLED, profile_pair

from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.press.model import fit
from inkaccord.colour.readings import Readings
from inkaccord.colour.spaces import lab_to_xyz, xyz_to_lab
from inkaccord.sheets.controls import control_builds
from inkaccord.sheets.scan.calibration import calibrate

DRIVERS = ("sRGB, perceptual", "enhanced", "masking", "complements, late black")
CELLS = ("read", "scanned", "both")


@dataclass
class Played:
    """One pair: errors of predictions and their bounds, ΔE00, by what it is known from."""

    read: tuple
    scanned: tuple
    both: tuple
    scan_missed: np.ndarray
    stated: float
    disagrees: bool


def play(pair, seed, *, off=0.0, said=True, published=None):
    """Read a sheet and scan another, with a published scanner or an invented one."""
    rng, drive = np.random.default_rng(seed), do.drive_of(pair)
    press = do.Press(pair, np.zeros((pair.channels, 2)))
    controls = np.array([build.values for build in control_builds(drive)])
    first = do.read(press.sheet(rng), do.scouting(pair, 40, controls=True), rng)
    known = fit(first)
    aims = do.even_aims(press.usual(), 12, rng)
    second, printed = do.close_in(known, aims, 2), press.sheet(rng)
    scanner = Invented(rng, drive) if published is None else Published(rng, *published)
    calibration = calibrate(
        scanner.linear(controls, printed.lab(controls)), xyz_to_lab(first.xyz[: len(controls)])
    )

    def scan(builds, sheet):
        linear = scanner.linear(builds, printed.lab(builds))
        seen = calibration.lab(linear) + np.array([0.0, off, off])
        stated = round(calibration.noise(linear), 2)
        return Readings(
            drive=drive,
            builds=builds,
            xyz=lab_to_xyz(seen),
            sheet=np.full(len(builds), sheet),
            noise=np.full(len(builds), stated),
            scanned=np.full(len(builds), said),
        )

    scanned = scan(second, 1)
    alone = scan(np.concatenate([do.scouting(pair, 40), second]), 0)
    found = do.match(known, aims, do.policy(whole=True)).builds
    builds = np.concatenate([found, do.random_builds(pair, 30, rng)])
    truth = press.usual().lab(builds)

    def judged(model):
        return delta_e_2000(model.predict_lab(builds), truth), model.bound(builds)

    missed = delta_e_2000(xyz_to_lab(scanned.xyz), printed.lab(second))
    both = fit(do.together(first, scanned))
    disagrees = any(it.code == "scan-disagrees" for it in both.findings)
    stated = float(scanned.noise[0])
    return Played(judged(known), judged(fit(alone)), judged(both), missed, stated, disagrees)


def row(name, played):
    """Return a row of the table."""
    parts = {what: np.concatenate([getattr(it, what) for it in played], axis=1) for what in CELLS}
    cells = [
        f"{np.median(missed):.2f} / {np.percentile(missed, 95):.2f}; {np.median(bound):.2f}; "
        f"{100 * np.mean(missed <= bound):.0f} %"
        for missed, bound in parts.values()
    ]
    wider = parts["both"][1] / parts["read"][1]
    usual, high = np.percentile(wider, [50, 95])
    cells.append(f"{usual:.2f}, {high:.2f}, {wider.max():.2f}")
    errs = np.sqrt(np.mean(np.concatenate([it.scan_missed for it in played]) ** 2))
    cells.append(f"{errs:.1f}, {np.median([it.stated for it in played]):.1f}")
    cells.append(f"{sum(it.disagrees for it in played)} of {len(played)}")
    return f"| {name} | {' | '.join(cells)} |"


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("files", nargs="*", type=Path)
    parser.add_argument("--seeds", type=int, default=8)
    parser.add_argument("--off", type=float, default=0.0)
    parser.add_argument("--published", type=int, nargs="+", choices=range(10), metavar="ROW")
    for flag in ("--rgb", "--unsaid", "--quick"):
        parser.add_argument(flag, action="store_true")
    asked = parser.parse_args()
    print("| pair | read: missed; bound; held | all scanned | both | bound of both to that of read:"
          " median, 95th percentile, most | a scan errs, stated | said to disagree |")  # fmt: skip
    print("| --- | --- | --- | --- | --- | --- | --- |")
    for file in asked.files or INSTALLED[-1:] if asked.quick else asked.files or INSTALLED:
        pairs = [profile_pair(file)]
        if asked.rgb:
            pairs = [it for it in rgb_pairs(file) if it.name.split(": ")[1] in DRIVERS]
        for pair in pairs:
            seeds = range(1 if asked.quick else asked.seeds)
            how = {"off": asked.off, "said": not asked.unsaid}
            for which in asked.published or (None,):
                scanner = None if which is None else REPORTED[which][1:]
                name = f"{pair.name}, {name_of(*scanner)}" if scanner else pair.name
                played = [play(pair, [7, seed], published=scanner, **how) for seed in seeds]
                print(row(name, played), flush=True)


if __name__ == "__main__":
    main()
