"""How a whole run grows with its order: 1, 10 and 100 pieces, on as many pairs or on one.

    python tests/benchmarks/growth.py [--json] [--quick]

Each order has its pieces in five sizes, every one with artwork of its own in two brand colours,
and its pairs as devices of one vendor who lets us lay the sheets. Each is run in a process of its
own: first on an empty shelf; then, when every sheet has been read as an invented press prints it,
to the vendor's folder; then again with nothing changed; then with one piece's artwork changed.
Times are processor seconds, since the clock of a shared machine says little; memory is the most
that the process ever held, with the interpreter and its libraries.
"""

import argparse
import json
import resource
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import TypedDict

import yaml

from inkaccord.builtin import PLUGINS
from inkaccord.colour.builds import Build
from inkaccord.order.loading import load_order
from inkaccord.pipeline import run_order
from inkaccord.plugins import load_plugins
from inkaccord.run.record import Run
from inkaccord.shelf.store import Shelf
from inkaccord.testing import draw_artwork, read_on_plain_press
from inkaccord.unchanged import RunInputs, last_run

SIZES = ("5in x 7in", "4.25in x 5.5in", "2in x 3.5in", "5.5in x 8.5in", "3.5in x 2in")
COLOURS = {"leaf": Build.cmyk(75, 20, 80, 10), "rust": Build.cmyk(10, 70, 80, 10)}
AIMS = {"leaf": [52.0, -28.0, 22.0], "rust": [55.0, 38.0, 40.0]}
CASES = ((1, 1), (10, 1), (100, 1), (10, 10), (100, 10), (100, 100))


class Grown(TypedDict):
    """What one order took: processor seconds of each run, and memory."""

    pieces: int
    pairs: int
    first_s: float
    finished_s: float
    unchanged_s: float
    one_changed_s: float
    memory_mb: float


def processor_seconds() -> float:
    """Return what this process and those that it ran to the end (Ghostscript) have used."""
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(it.ru_utime + it.ru_stime for it in used)


def write_order(folder: Path, pieces: int, pairs: int) -> Path:
    """Write an order with its artwork."""
    names = [f"piece-{number:03}" for number in range(pieces)]
    builds = list(COLOURS.values())
    for number, name in enumerate(names):
        art = draw_artwork(SIZES[number % len(SIZES)], builds[number % 2], label=name)
        (folder / f"{name}.pdf").write_bytes(art)
    order = {
        "order": "growth",
        "date": "2026-10-05",
        "suites": 50,
        "colours": {
            name: {"aim": {"lab": AIMS[name]}, "in_artwork": [str(build)]}
            for name, build in COLOURS.items()
        },
        "keep": ["cmyk 0 0 0 100"],
        "stocks": {"card": {"size": "13x19"}},
        "vendors": {
            "studio": {
                "delivers": "sheets",
                "safe_area": "0in",
                "devices": {f"press-{number:03}": {"ink_limit": 300} for number in range(pairs)},
            }
        },
        "pieces": {
            name: {
                "artwork": f"{name}.pdf",
                "trim": SIZES[number % len(SIZES)],
                "device": f"press-{number % pairs:03}",
                "stock": "card",
                "extra": 7 * (number % 11),
            }
            for number, name in enumerate(names)
        },
        "tolerances": {"between_pieces": 3, "to_aim": 4},
    }
    path = folder / "order.yaml"
    path.write_text(yaml.safe_dump(order, sort_keys=False), "utf-8")
    return path


def grow(pieces: int, pairs: int) -> Grown:
    """Run one order four times, as a person would come to run it."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        path = write_order(folder, pieces, pairs)
        with Shelf.open(folder / "shelf.sqlite") as shelf:

            def run() -> tuple[float, Run]:
                start = processor_seconds()
                plugins = load_plugins(built_in=PLUGINS)
                loaded = load_order(path, plugins.vendor_kinds())
                out = folder / "out"
                done = last_run(RunInputs.read(loaded, plugins), out, shelf.path)
                done = done or run_order(loaded, out=out, shelf=shelf, plugins=plugins)
                return processor_seconds() - start, done

            first, waiting = run()
            for sheet in waiting.samples:
                read_on_plain_press(shelf, shelf.sheet(sheet.id))
            finished, done = run()
            if done.exit_code:
                said = [str(it) for it in done.findings if it.severity == "error"]
                raise SystemExit(f"the order did not run through: {said or done.next}")
            unchanged, _ = run()
            changed = draw_artwork(SIZES[0], next(iter(COLOURS.values())), label="anew")
            (folder / "piece-000.pdf").write_bytes(changed)
            one_changed, _ = run()
    return Grown(
        pieces=pieces,
        pairs=pairs,
        first_s=first,
        finished_s=finished,
        unchanged_s=unchanged,
        one_changed_s=one_changed,
        memory_mb=resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024,
    )


def alone(pieces: int, pairs: int) -> Grown:
    """Do :func:`grow` in a process of its own, so that its memory is its own."""
    command = [sys.executable, __file__, "--case", str(pieces), str(pairs)]
    grown: Grown = json.loads(subprocess.run(command, check=True, stdout=subprocess.PIPE).stdout)
    return grown


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--quick", action="store_true", help="small numbers, to see that it runs")
    parser.add_argument("--case", type=int, nargs=2, metavar=("PIECES", "PAIRS"))
    options = parser.parse_args()
    if options.case:
        print(json.dumps(grow(*options.case)))
        return
    rows = [alone(*case) for case in (((1, 1), (3, 2)) if options.quick else CASES)]
    if options.json:
        print(json.dumps(rows, indent=2))
        return
    print("pieces  pairs  first run  to the end  a piece  unchanged  one changed   memory")
    for row in rows:
        print(
            f"{row['pieces']:6d} {row['pairs']:6d} {row['first_s']:8.2f} s "
            f"{row['finished_s']:9.2f} s "
            f"{row['finished_s'] / row['pieces']:6.2f} s {row['unchanged_s']:8.2f} s "
            f"{row['one_changed_s']:10.2f} s {row['memory_mb']:6.0f} MB"
        )


if __name__ == "__main__":
    main()
