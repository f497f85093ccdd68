"""How near a photograph of a sheet comes: its swatches read, and things that lie on it matched.

    python tests/benchmarks/photographs.py [--json] [--quick]

Press and things are those of ``glass.py``: 2,376 measured spectra, and the 99 colour samples of
CIE 224:2017. A telephone is one of the two real camera sensors that colour-science carries, in the
CIE's daylight or under a white LED; neither meets the Luther condition. What it sees of a sheet
goes through the optics of ``tests/glass_kit.py`` pixel by pixel: aslant, in light that falls off
to one side, a lens that darkens the corners, stray light, a tone curve of its own, grain, JPEG.
Nothing in the program was set by these sensors. Of a reading, the twelve controls alone are known.
What is refused is counted, and not measured.
"""

import argparse
import json
import sys
import zlib
from functools import partial
from pathlib import Path

import numpy as np
import practices as do
from glass import GUESS_OFF, IN_REACH, KRITA, NM, SEED, STRAY, Press, scanner, things

sys.path.insert(0, str(Path(__file__).parents[1]))
from glass_kit import page_seen, photographed, sheet_with_berths
from inkaccord.colour.delta_e import delta_e_2000, delta_e_2000_metric
from inkaccord.colour.spectra import spectra_to_lab
from inkaccord.colour.uncertainty import BOUND
from inkaccord.errors import OrderError
from inkaccord.sheets.model import Reading, SheetReadings
from inkaccord.sheets.scan.on_glass import things_on_glass
from inkaccord.sheets.scan.reader import read_scan
from scan_kit import drawn_sheet

DPI = 130
"""Of the sheet in the photograph: it fills a picture of some two million pixels."""
ROWS = tuple((sensor, lamp) for sensor in (0, 1) for lamp in ("D65", "D50", "LED-B3"))
BERTHS = ("butter", "slate")


def seen(spectra, seeing):
    """Return the linear RGB that a telephone makes of spectra (n, w), as bright as white can be."""
    weights, matrix = seeing
    return np.clip((0.88 * (spectra @ weights) + STRAY) @ matrix, 1e-4, None)


def photograph_of(sheet, press, seeing, rng, laid):
    """Return a photograph of a sheet printed on a press, things of spectra laid on its fields."""
    spectra = press.spectra(np.array([it.build.values for it in sheet.swatches]))
    of_swatches = seen(spectra, seeing)
    seen_as = {it.id: row for it, row in zip(sheet.swatches, of_swatches, strict=True)}
    seen_as |= {name: seen(one[None], seeing)[0] for name, one in laid.items()}
    paper = seen(press.spectra(np.zeros((1, 4))), seeing)[0]
    return photographed(page_seen(sheet, seen_as, paper, DPI), rng)


def readings_missed(press, seeing, rng):
    """Return (n, 2): how far each reading of a photographed sheet is off, and its bound."""
    sheet = drawn_sheet()
    labs = press.lab(np.array([it.build.values for it in sheet.swatches]))
    rows = list(zip(sheet.swatches, labs.tolist(), strict=True))
    known = tuple(Reading(swatch=it.id, lab=tuple(lab)) for it, lab in rows if it.control)
    picture = photograph_of(sheet, press, seeing, rng, {})
    read = read_scan([picture], sheet, [SheetReadings(sheet=sheet.id, readings=known)]).readings
    truth = {it.id: lab for it, lab in rows}
    off = [float(delta_e_2000(truth[it.swatch], it.lab)) for it in read.readings]
    return np.column_stack([off, np.full(len(off), BOUND * read.noise)])


def things_missed(press, seeing, rng, laid):
    """Return (n, 2): how far the print of each build found lies from its thing, and its bound."""
    labs = {name: spectra_to_lab(one, NM) for name, one in laid.items()}
    middles = {}
    for name, lab in labs.items():
        root = np.linalg.cholesky(delta_e_2000_metric(lab))
        guess = lab + np.linalg.solve(root.T, rng.normal(0, GUESS_OFF / np.sqrt(3.0), 3))
        middles[name] = tuple(press.nearest(guess)[0])
    sheet = sheet_with_berths(middles=middles)
    picture = photograph_of(sheet, press, seeing, rng, laid)
    found, _ = things_on_glass([picture], sheet, laid, do.policy(whole=True))
    printed = press.lab(np.array([it.build.values for it in found]))
    return np.array(
        [
            (float(delta_e_2000(lab, labs[it.colour])), it.likeness.bound)
            for it, lab in zip(found, printed, strict=True)
        ]
    )


def figures(measures):
    """Return the figures of several photographs, and how many of them were refused."""
    kept, refused, photographs = [], 0, 0
    for measure in measures:
        photographs += 1
        try:
            kept.append(measure())
        except OrderError:
            refused += 1
    of_all = {"photographs": photographs, "refused": refused}
    if not kept:
        return of_all
    off, bounds = np.concatenate(kept).T
    return of_all | {
        "measured": len(off),
        "median": round(float(np.median(off)), 2),
        "p95": round(float(np.percentile(off, 95)), 2),
        "within": round(float(np.mean(off <= bounds)), 3),
        "bound": round(float(np.median(bounds)), 2),
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    parser.add_argument("--times", type=int, default=10, help="photographs of each row")
    parser.add_argument("--quick", action="store_true", help="few of them: a smoke test")
    asked = parser.parse_args()
    if not KRITA.exists():
        sys.exit("the Debian package krita-data is not installed")
    press, sets = Press(), things()
    samples = [
        one for one in sets["samples"] if press.nearest(spectra_to_lab(one, NM))[1] <= IN_REACH
    ]
    table, times = {}, 1 if asked.quick else asked.times
    for sensor, lamp in ROWS[:1] if asked.quick else ROWS:
        seeing = scanner(sensor, lamp, sets["charts"])
        rng = np.random.default_rng([SEED, sensor, zlib.crc32(lamp.encode())])
        rng.shuffle(samples)
        laid = [dict(zip(BERTHS, samples[2 * at :], strict=False)) for at in range(times)]
        rows = {
            "readings": [partial(readings_missed, press, seeing, rng)] * times,
            "things": [partial(things_missed, press, seeing, rng, it) for it in laid],
        }
        for what, measures in rows.items():
            name = f"{what}, sensor {sensor + 1}, {lamp}"
            table[name] = figures(measures)
            if not asked.json:
                print(f"{name:32} {table[name]}", flush=True)
    if asked.json:
        print(json.dumps({"seed": SEED, "photographs": table}, ensure_ascii=False, indent=1))


if __name__ == "__main__":
    main()
