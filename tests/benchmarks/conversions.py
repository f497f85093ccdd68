"""Are conversions on the way to the paper found, and is a direct print ever taken for one?

``python tests/benchmarks/conversions.py [--rounds 5]``: the controls are printed on published
profiles, on the same presses with other stocks, inks and gains, and on the example's invented
printers; once as they are, and once with their builds sent through a conversion first. Devices
whose inks lie about the usual ones at random tell how soon an odd ink is taken for two. Readings
get noise. Nothing here shares the equations that the signs were worded in.
"""

import argparse
import itertools
import json
import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2] / "jobs_example"))
import datetime

import invented_devices
import printers
from rgb_drivers import drivers, rgb_pairs
from virtual_pairs import INSTALLED, VirtualPair, other_stock, profile_pair, through

from inkaccord.colour.builds import Drive
from inkaccord.colour.pairs import Pair
from inkaccord.sheets.controls import control_builds
from inkaccord.sheets.model import Purpose, SampleSheet
from inkaccord.sheets.planning.plan import plan_sheet
from inkaccord.sheets.reading.conversion import conversion_findings
from inkaccord.sheets.settings import SheetFormat
from inkaccord.sizes import Size

NOISE = 0.4
"""Standard deviation of each of L*, a*, b*."""
PAPERS = (None, (62, 8, 24), (88, -1, 9), (80, -3, -8), (75, 0, 2), (93, 0, -5))
BUILDS = {drive: np.array([build.values for build in control_builds(drive)]) for drive in Drive}


def sheet_of(drive: Drive) -> SampleSheet:
    sheet = plan_sheet(
        Pair.parse("press@stock"),
        Purpose.CONTROLS,
        [],
        SheetFormat(size=Size.parse("a6")),
        drive=drive,
        date=datetime.date(2026, 5, 14),
    )
    assert sheet is not None
    return sheet


SHEETS = {drive: sheet_of(drive) for drive in Drive}


def presses(papers=PAPERS, strengths=(0.6, 0.8, 1.0, 1.2), gains=(-0.04, 0.0, 0.08, 0.16)):
    """Yield CMYK devices with stocks: published profiles, what they become, invented ones."""
    for path in INSTALLED:
        if path.exists():
            press = profile_pair(path)
            yield press
            for paper, strength, gain in itertools.product(papers, strengths, gains):
                on = paper or tuple(press.lab([[0.0] * 4])[0])
                yield other_stock(press, on, strength=strength, gain=gain)
    yield from invented(Drive.CMYK)


def invented(drive: Drive) -> Iterator[VirtualPair]:
    """Yield the example's printers on the example's stocks."""
    for (name, device), (on, stock) in itertools.product(
        printers.DEVICES.items(), printers.STOCKS.items()
    ):
        if device.drive is drive:
            yield VirtualPair(
                f"{name}@{on}",
                lambda builds, device=device, stock=stock: printers.true_lab(device, stock, builds),
            )


def conversions() -> Iterator[tuple[str, np.ndarray]]:
    """Yield (kind, builds): what a conversion makes of the controls."""
    cmyk = BUILDS[Drive.CMYK]
    paths = [path for path in INSTALLED if path.exists()]
    for source, target in itertools.product(paths, paths):
        if source != target:
            yield "CMYK to CMYK, perceptual", through(cmyk, source, target, 0)
            yield "CMYK to CMYK, colorimetric", through(cmyk, source, target, 1)
        for intent in (0, 1):
            yield "CMYK to sRGB to CMYK", through(cmyk, source, target, intent, by_srgb=True)
    plain = (1 - cmyk[:, :3] / 100) * (1 - cmyk[:, 3:] / 100)
    for path in paths:
        for name, driver in drivers(path).items():
            if "RGB" in name:
                yield "CMYK as plain RGB to a driver of sRGB", driver(plain)
    grey = np.zeros_like(cmyk)
    grey[:, 3] = (0, 35, 45, 12, 100, 18, 22, 6, 50, 42, 38, 42)
    yield "printed in black alone", grey


def odd_ones(count: int) -> Iterator[tuple[Drive, np.ndarray]]:
    """Yield what devices of five physics print whose inks lie about the usual ones at random."""
    rng = np.random.default_rng(4)
    for number, drive in itertools.product(range(count), Drive):
        kinds = sorted(invented_devices.KINDS)
        device = invented_devices.Device(kinds[number % len(kinds)], drive, 300, rng)
        stock = ("coated", "uncoated", "kraft", "tinted")[rng.integers(4)]
        yield drive, device.lab(BUILDS[drive], invented_devices.paper(stock, rng))


def is_found(drive: Drive, lab: np.ndarray, rng: np.random.Generator) -> bool:
    return bool(conversion_findings(SHEETS[drive], lab + rng.normal(0.0, NOISE, lab.shape)))


def measure(rounds: int = 5, every: int = 5) -> dict[str, tuple[int, int]]:
    """Return for each kind (found, prints); a direct print that is found is a false alarm."""
    rng = np.random.default_rng(11)
    counts: dict[str, list[bool]] = {}

    def tried(kind: str, drive: Drive, lab: np.ndarray) -> None:
        counts.setdefault(kind, []).extend(is_found(drive, lab, rng) for _ in range(rounds))

    devices = list(presses())
    for press in devices:
        tried("direct, CMYK", Drive.CMYK, press.lab(BUILDS[Drive.CMYK]))
    for drive, lab in odd_ones(60 * rounds):
        counts.setdefault(f"direct, odd inks, {drive}", []).append(is_found(drive, lab, rng))
    for kind, builds in conversions():
        for press in devices[::every]:
            tried(kind, Drive.CMYK, press.lab(builds))
    behind = [pair for path in INSTALLED if path.exists() for pair in rgb_pairs(path)]
    own = ("complements", "three inks", "masking")
    for pair in [*behind, *invented(Drive.RGB)]:
        driver = pair.name.partition(": ")[2]
        direct = not driver or driver.startswith(own)
        kind = "direct, RGB" if direct else "RGB, rendered by a driver or a profile"
        tried(kind, Drive.RGB, pair.lab(BUILDS[Drive.RGB]))
    return {kind: (sum(found), len(found)) for kind, found in counts.items()}


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--quick", action="store_true", help="one round, few devices")
    asked = parser.parse_args()
    result = measure(1, every=40) if asked.quick else measure(asked.rounds)
    if asked.json:
        print(json.dumps(result, indent=1))
    else:
        for kind, (found, prints) in result.items():
            print(f"{kind:44} {found:6} of {prints:6}  {found / prints:6.1%}")
