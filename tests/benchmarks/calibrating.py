"""What a scan that its controls calibrate errs by, and what it states: the calibration alone.

``python tests/benchmarks/calibrating.py [--published] [--known N]``

Controls are read from one print (0.3 ΔE00), and another print is scanned that wanders as presses
do, with swatches of usual builds. Drawn: presses and scanners of ``seeing.py``, all invented, two
fifths of them written as they see, or half so, instead of in nearly sRGB; by these
``sheets/scan/calibration.py`` was set. Published: those of ``glass.py``, whose figures were in
sight meanwhile, and lamps that nothing was tried on before (FRESH), on Debian's three profiles
(``scanners.py``). More known swatches than the controls are read from the very print. A row: error,
median / 95th percentile; root mean square; stated; held.
"""

import argparse
from dataclasses import dataclass

import numpy as np
import practices as do
from glass import NM, REPORTED, things
from scanners import Invented, Published, name_of
from seeing import CONTROLS, KINDS, DrawnPress, drawn_scanner
from virtual_pairs import CONDITIONS, INSTALLED, VirtualPair, profile_pair

from inkaccord.colour.builds import Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.spaces import xyz_to_lab
from inkaccord.colour.spectra import spectra_to_lab
from inkaccord.colour.uncertainty import BOUND
from inkaccord.sheets.scan.calibration import calibrate

SEED = 20264
SWATCHES = 60
FRESH = tuple((0, lamp) for lamp in ("FL2", "FL12", "LED-B1", "LED-V1", "LED-BH1"))
"""A sensor with filters under lamps of the CIE."""


class Drawn:
    """A drawn scanner on prints of a drawn press."""

    def __init__(self, press, kind, charts, rng):
        own = rng.choice([0.0, 0.0, 0.0, 0.5, 1.0])
        self._press, self._rng = press, rng
        self._weights, matrix = drawn_scanner(kind, rng, charts)
        self._matrix = (1 - own) * matrix + own * np.eye(3)
        self._curve, self._stray = rng.uniform(0.85, 1.2), rng.uniform(0, 0.015)

    def linear(self, builds):
        """Return linear RGB (n, 3) of what was printed by builds (n, 4)."""
        seen = 0.88 * (self._press.spectra(builds) @ self._weights) ** self._curve + self._stray
        seen *= 1 + self._rng.normal(0, 0.004, seen.shape)
        seen *= 1 + self._rng.normal(0, 0.003, (len(seen), 1))
        return np.maximum(seen @ self._matrix, 1e-4)


@dataclass(frozen=True)
class Played:
    """What one scan missed (m,), and what it stated, ΔE00."""

    missed: np.ndarray
    stated: float


def play(pair, look, rng, known):
    """Calibrate one scan. ``look`` gives linear RGB of builds as printed and their CIELAB."""
    press = do.Press(pair, np.zeros((4, 2)))
    builds = np.concatenate([CONTROLS, do.random_builds(pair, SWATCHES, rng)])
    first, printed = press.sheet(rng), press.sheet(rng)
    lab = printed.lab(builds)
    read = [do.read(first, CONTROLS, rng), do.read(printed, builds[len(CONTROLS) : known], rng)]
    linear = look(builds, lab)
    calibration = calibrate(linear[:known], xyz_to_lab(do.together(*read).xyz))
    asked = linear[known:]
    missed = delta_e_2000(calibration.lab(asked), lab[known:])
    return Played(missed, calibration.noise(asked))


def drawn(presses, known):
    """Return what drawn scanners do, by their kind."""
    charts, rng, found = things()["charts"], np.random.default_rng(SEED), {}
    for _ in range(presses):
        press = DrawnPress(rng)
        pair = VirtualPair("drawn", lambda builds, it=press: spectra_to_lab(it.spectra(builds), NM))
        for kind in KINDS:
            scanner = Drawn(press, kind, charts, rng)
            look = lambda builds, _, it=scanner: it.linear(builds)  # noqa: E731
            found.setdefault(kind, []).append(play(pair, look, rng, known))
    return found


def published(files, times, known):
    """Return what published scanners do, and the invented one of ``scanners.py``."""
    found = {}
    for file in files:
        pair = profile_pair(file)
        for which in (*(it[1:] for it in REPORTED), *FRESH, None):
            for time in range(times):
                rng = np.random.default_rng([SEED, time])
                its = Published(rng, *which) if which else Invented(rng, Drive.CMYK)
                by = name_of(*which) if which else "invented"
                name = f"{CONDITIONS[file.name]}, {by}"
                found.setdefault(name, []).append(play(pair, its.linear, rng, known))
    return found


def row(name, played):
    """Return a row of the table."""
    missed = np.concatenate([it.missed for it in played])
    held = np.mean([np.mean(it.missed <= BOUND * it.stated) for it in played])
    errs = np.median([np.sqrt(np.mean(it.missed**2)) for it in played])
    stated = np.median([it.stated for it in played])
    return (
        f"| {name} | {np.median(missed):.2f} / {np.percentile(missed, 95):.2f} | {errs:.2f} | "
        f"{stated:.2f} | {100 * held:.0f} % |"
    )


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    for flag in ("--published", "--quick"):
        parser.add_argument(flag, action="store_true")
    parser.add_argument("--known", type=int, default=len(CONTROLS))
    parser.add_argument("--presses", type=int, default=40)
    parser.add_argument("--times", type=int, default=4)
    asked = parser.parse_args()
    print("| scanner | missed | r.m.s. | stated | held |\n| --- | --- | --- | --- | --- |")
    if asked.quick:
        found = drawn(1, asked.known) | published(INSTALLED[:1], 1, asked.known)
    elif asked.published:
        found = published(INSTALLED, asked.times, asked.known)
    else:
        found = drawn(asked.presses, asked.known)
    for name, played in found.items():
        print(row(name, played))
    print(row("all", [it for each in found.values() for it in each]))


if __name__ == "__main__":
    main()
