"""What workers save: one order of few pieces, one of many, and many orders of few.

    python tests/benchmarks/scale.py [--json] [--quick] [--workers N]

The orders are those of ``growth.py``, each artwork with a label of its own, their sheets read as an
invented press prints them. Each case is run by the command with one process and with N workers,
every time from the same state of shelf and folders, and must leave the same files. The clock counts
here, so the machine should be idle; processor seconds are of the command and all that it started.
"""

import argparse
import json
import shutil
import tempfile
import time
from pathlib import Path
from typing import TypedDict

import growth

from inkaccord.shelf.store import Shelf
from inkaccord.testing import draw_artwork, read_on_plain_press

CASES = ((1, 5), (1, 50), (12, 5))


class Scaled(TypedDict):
    """What one case took with so many workers."""

    orders: int
    pieces: int
    workers: int
    clock_s: float
    processor_s: float
    same: bool


def write_orders(folder: Path, orders: int, pieces: int) -> list[Path]:
    """Write orders that are ready to be run to their end, and the shelf that they share."""
    made = []
    for number in range(orders):
        own = folder / f"order-{number:03}"
        own.mkdir(parents=True)
        growth.write_order(own, pieces, pairs=min(pieces, 5))
        for at, art in enumerate(sorted(own.glob("*.pdf"))):
            build = list(growth.COLOURS.values())[at % 2]
            size = growth.SIZES[at % len(growth.SIZES)]
            art.write_bytes(draw_artwork(size, build, label=f"{number} {art.stem}"))
        made.append(own)
    shelf_file = folder / "shelf.sqlite"
    growth.command("run", made[0], "--shelf", shelf_file, code=None)
    with Shelf.open(shelf_file) as shelf:
        waiting = json.loads((made[0] / "out" / "run.json").read_text("utf-8"))
        for sheet in waiting["samples"]:
            read_on_plain_press(shelf, shelf.sheet(sheet["id"]))
    shutil.rmtree(made[0] / "out")
    return made


def written(folder: Path) -> dict[str, bytes]:
    """Return what every file of an out folder holds; the private memory left out."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file() and not path.name.startswith(".")
    }


def scaled(orders: int, pieces: int, workers: int) -> list[Scaled]:
    """Run a case with one process and with workers."""
    rows: list[Scaled] = []
    first: list[dict[str, bytes]] = []
    with tempfile.TemporaryDirectory() as name:
        whole = Path(name) / "whole"
        names = [made.name for made in write_orders(whole, orders, pieces)]
        for number in (1, workers):
            folder = Path(name) / "now"
            shutil.copytree(whole, folder)
            words = ["run", *(folder / it for it in names), "--workers", str(number)]
            start = time.perf_counter()
            used, code = growth.command(*words, "--shelf", folder / "shelf.sqlite", code=None)
            clock = time.perf_counter() - start
            if code:
                raise SystemExit(f"the orders did not run through: exit code {code}")
            made = [written(folder / it / "out") for it in names]
            first = first or made
            rows.append(Scaled(
                orders=orders, pieces=pieces, workers=number,
                clock_s=clock, processor_s=used, same=made == first,
            ))  # fmt: skip
            shutil.rmtree(folder)
    return rows


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--quick", action="store_true", help="small numbers, to see that it runs")
    parser.add_argument("--workers", type=int, default=2)
    options = parser.parse_args()
    cases = ((2, 2),) if options.quick else CASES
    rows = [row for case in cases for row in scaled(*case, options.workers)]
    if options.json:
        print(json.dumps(rows, indent=2))
        return
    print("orders pieces workers    clock  processor  the same files")
    for row in rows:
        print(
            f"{row['orders']:6d} {row['pieces']:6d} {row['workers']:7d} {row['clock_s']:6.1f} s "
            f"{row['processor_s']:8.1f} s  {'yes' if row['same'] else 'NO'}"
        )


if __name__ == "__main__":
    main()
