"""How often the stated bound holds, and how wide it is, on every device by itself.

    python tests/benchmarks/bounds.py [--json] [--quick] [--judge] [FILE…]

FILE is a set of readings (CGATS text, or a profile with them in its 'targ' tag) or a CMYK profile.
Without files: what the Debian packages icc-profiles-free, krita-data and libgs-common carry. On a
set of readings the first sheet's swatches are the charted ones nearest to those planned, so that
every number is one that somebody measured; held out are 300 others, at random. A profile is read
with noise (0.3 ΔE00) and judged without. Beside them stand the invented devices that are unlike
any press (``unlike_devices.py``): those that constants were chosen on, or with ``--judge`` those
that judge alone.

For each: within the bound, of 100; the median bound divided by the 95th percentile of the errors.
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
from unlike_devices import CHOSEN_ON, JUDGED_ON, KINDS, unlike_devices
from virtual_pairs import INSTALLED, profile_pair, raw_set

from inkaccord.colour.builds import Drive
from inkaccord.colour.delta_e import delta_e_2000

SIZES = (16, 24, 40, 100)
HELD = 300
OPEN = Path("/usr/share/color/icc")


def charted(raw, count: int) -> np.ndarray:
    """Return the rows of a chart that lie nearest to the planned sheet, none of them twice."""
    apart = np.abs(do.planned(Drive.CMYK, count)[:, None] - raw.builds[None]).sum(axis=2)
    taken: list[int] = []
    for row in apart:
        row[taken] = np.inf
        taken.append(int(row.argmin()))
    return np.array(taken)


def from_readings(raw):
    """Yield how far each held-out reading lies from what is foretold, and the bound, by size."""
    rng = np.random.default_rng(zlib.crc32(raw.name.encode()))
    inside = np.flatnonzero(raw.builds.sum(axis=1) <= do.INK_LIMIT)
    for count in SIZES:
        sheet = charted(raw, count)
        held = rng.permutation(np.setdiff1d(inside, sheet))[:HELD]
        yield do.foretold(raw, sheet, held)


def from_device(pair):
    """Yield the same for a device that prints whatever is asked."""
    rng = np.random.default_rng(zlib.crc32(pair.name.encode()))
    for count in SIZES:
        model = do.fit(do.read(pair, do.scouting(pair, count), rng))
        held = do.random_builds(pair, HELD, rng)
        yield delta_e_2000(model.predict_lab(held), pair.lab(held)), model.bound(held)


def figures(found) -> list[dict]:
    return [
        {
            "median": round(float(np.median(off)), 2),
            "p95": round(float(np.percentile(off, 95)), 2),
            "within": round(100 * float(np.mean(off <= bound)), 1),
            "width": round(float(np.median(bound) / np.percentile(off, 95)), 2),
        }
        for off, bound in found
    ]


def sources(paths, numbers):
    """Yield a name and what was found, for each device."""
    for path in paths:
        raw = raw_set(path)
        if raw is not None:
            yield path.name, from_readings(raw)
        if path.suffix in {".icc", ".icm"}:
            yield f"{path.name}, printed", from_device(profile_pair(path))
    for pair in unlike_devices(numbers):
        yield pair.name, from_device(pair)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("files", nargs="*", type=Path)
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    parser.add_argument("--quick", action="store_true", help="four devices: a smoke test")
    parser.add_argument("--judge", action="store_true", help="the devices that judge alone")
    asked = parser.parse_args()
    installed = [*sorted(OPEN.glob("*.ti3")), *INSTALLED]
    paths = asked.files or ([] if asked.judge else [path for path in installed if path.exists()])
    numbers = JUDGED_ON if asked.judge else CHOSEN_ON
    if asked.quick:
        paths, numbers = [], numbers[:1]
    table = {name: figures(found) for name, found in sources(paths, numbers)}
    print(json.dumps(table, ensure_ascii=False, indent=1) if asked.json else text(table))


def _cell(found: dict) -> str:
    errors = f"({found['median']:.2f}, {found['p95']:.2f})"
    return f"{found['within']:5.1f} {found['width']:4.2f} {errors}"


def text(table: dict) -> str:
    lines = [
        "each: % within the bound, median bound / p95 of the errors (errors: median, p95)",
        f"{'':34}" + "".join(f"{f'sheet of {count}':^28}" for count in SIZES),
    ]
    for name, row in table.items():
        lines.append(f"{name:34}" + "".join(f"{_cell(found):28}" for found in row))
    invented = {name: row for name, row in table.items() if name.split()[0] in KINDS}
    known = {name: row for name, row in table.items() if name not in invented}
    for group, rows in (("known", known), ("invented", invented)):
        lines += [f"{group}, {it}" for it in _summary(list(rows.values()))]
    return "\n".join(lines)


def _summary(rows: list[list[dict]]) -> list[str]:
    """Return a line for each size of sheet, of all devices of a group together."""
    lines = []
    for count, cells in zip(SIZES, zip(*rows, strict=True), strict=False):
        within, wide = ([cell[key] for cell in cells] for key in ("within", "width"))
        middle, far = (
            np.exp(np.mean(np.log([it[key] for it in cells]))) for key in ("median", "p95")
        )
        lines.append(
            f"sheet of {count}: mean {np.mean(within):.1f}, least {min(within):.1f}, "
            f"{sum(value < 93 for value in within)} of {len(cells)} below 93; "
            f"width mean {np.mean(wide):.2f}, most {max(wide):.2f}; "
            f"errors {middle:.2f}, {far:.2f} (geometric mean)"
        )
    return lines


if __name__ == "__main__":
    sys.exit(main())
