"""How a whole run grows with its order: 1, 10 and 100 pieces, on as many pairs or on one.

    python tests/benchmarks/growth.py [--json] [--quick] [--case PIECES PAIRS] [--beside CHECKOUT]

Each order has its pieces in five sizes, every one with artwork of its own in two brand colours,
and its pairs as devices of one vendor who lets us lay the sheets. Each is checked, and run as a
person runs it, by the command: first on an empty shelf; then, when every sheet has been read as an
invented press prints it, to the vendor's folder; then again with nothing changed; then with one
piece's artwork changed. Times are processor seconds of the command and of all that it started,
Ghostscript included, since the clock of a shared machine says little; memory is the most that one
process ever held. ``--beside`` does the same with the code of another checkout, in turn.
"""

import argparse
import json
import os
import resource
import subprocess
import sys
import tempfile
from functools import partial
from pathlib import Path
from typing import TypedDict

import yaml

from inkaccord.colour.builds import Build
from inkaccord.shelf.store import Shelf
from inkaccord.testing import draw_artwork, read_on_plain_press

SIZES = ("5in x 7in", "4.25in x 5.5in", "2in x 3.5in", "5.5in x 8.5in", "3.5in x 2in")
COLOURS = {"leaf": Build.cmyk(75, 20, 80, 10), "rust": Build.cmyk(10, 70, 80, 10)}
AIMS = {"leaf": [52.0, -28.0, 22.0], "rust": [55.0, 38.0, 40.0]}
CASES = ((1, 1), (10, 1), (100, 1), (10, 10), (100, 10), (100, 100))


class Grown(TypedDict):
    """What one order took: processor seconds of each command, and memory."""

    pieces: int
    pairs: int
    check_s: float
    first_s: float
    finished_s: float
    unchanged_s: float
    check_again_s: float
    one_changed_s: float
    memory_mb: float


def processor_seconds() -> float:
    """Return what the commands that have ended used, with all that they started."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


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


def command(*words: str | Path, code: Path | None) -> tuple[float, int]:
    """Run ``inkaccord``, of another checkout if need be; return what it took, and its exit code."""
    where = [] if code is None else [str(code / "runner"), str(code / "plugins")]
    own = {**os.environ, "PYTHONPATH": os.pathsep.join(where)}
    start = processor_seconds()
    done = subprocess.run(
        [sys.executable, "-c", "from inkaccord.cli.main import main; main()", *map(str, words)],
        env=own,
        stdout=subprocess.DEVNULL,
        check=False,
    )
    return processor_seconds() - start, done.returncode


def grow(pieces: int, pairs: int, code: Path | None) -> Grown:
    """Check one order, and run it four times, as a person would come to run it."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        path = write_order(folder, pieces, pairs)
        shelf_file = folder / "shelf.sqlite"
        run = partial(command, "run", path, "--shelf", shelf_file, code=code)
        check, _ = command("check", path, code=code)
        first, _ = run()
        waiting = json.loads((folder / "out" / "run.json").read_text("utf-8"))
        with Shelf.open(shelf_file) as shelf:
            for sheet in waiting["samples"]:
                read_on_plain_press(shelf, shelf.sheet(sheet["id"]))
        finished, exit_code = run()
        if exit_code:
            raise SystemExit(f"the order did not run through: exit code {exit_code}")
        unchanged, _ = run()
        check_again, _ = command("check", path, code=code)
        changed = draw_artwork(SIZES[0], next(iter(COLOURS.values())), label="anew")
        (folder / "piece-000.pdf").write_bytes(changed)
        one_changed, _ = run()
    return Grown(
        pieces=pieces,
        pairs=pairs,
        check_s=check,
        first_s=first,
        finished_s=finished,
        unchanged_s=unchanged,
        check_again_s=check_again,
        one_changed_s=one_changed,
        memory_mb=resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024,
    )


def alone(pieces: int, pairs: int, code: Path | None = None) -> Grown:
    """Do :func:`grow` in a process of its own, so that its memory is its own."""
    words = ["--alone", str(pieces), str(pairs), *([] if code is None else [str(code)])]
    told = subprocess.run(
        [sys.executable, __file__, *words], check=True, stdout=subprocess.PIPE
    ).stdout
    grown: Grown = json.loads(told)
    return grown


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--quick", action="store_true", help="small numbers, to see that it runs")
    parser.add_argument("--case", type=int, nargs=2, action="append", metavar=("PIECES", "PAIRS"))
    parser.add_argument("--beside", type=Path, metavar="CHECKOUT")
    parser.add_argument("--alone", nargs="+", help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.alone:
        pieces, pairs, *code = options.alone
        print(json.dumps(grow(int(pieces), int(pairs), Path(code[0]) if code else None)))
        return
    cases = [tuple(case) for case in options.case or ()] or (
        ((1, 1), (3, 2)) if options.quick else CASES
    )
    codes = [None, *([] if options.beside is None else [options.beside.resolve()])]
    rows = [alone(*case, code) for case in cases for code in codes]
    if options.json:
        print(json.dumps(rows, indent=2))
        return
    print("pieces pairs   check  first run  to the end  a piece  unchanged  check  one changed")
    for row in rows:
        print(
            f"{row['pieces']:6d} {row['pairs']:5d} {row['check_s']:5.2f} s {row['first_s']:8.2f} s "
            f"{row['finished_s']:9.2f} s "
            f"{row['finished_s'] / row['pieces']:6.2f} s {row['unchanged_s']:8.2f} s "
            f"{row['check_again_s']:4.2f} s {row['one_changed_s']:10.2f} s "
            f"{row['memory_mb']:6.0f} MB"
        )


if __name__ == "__main__":
    main()
