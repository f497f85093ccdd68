"""The loop of an order: its runs one after another, each beside the one that computes everything.

    python tests/benchmarks/loop.py [--json] [--quick]

Seven pieces in three colours, one of them by eye, on five pairs of three vendors: the example's
artwork on its invented printers, an RGB driver among them, with several sheets read on each pair.
The order is run to its end; then again unchanged, after a changed tolerance, and after one pair
was read once more. Each of these is run a second time into an empty out folder, which computes
everything, and its files are compared. Every run is a process of its own, `inkaccord run` as a
person types it; times are processor seconds, Ghostscript's included.
"""

import argparse
import json
import resource
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import yaml

EXAMPLE = Path(__file__).parents[2] / "jobs_example"
sys.path.insert(0, str(EXAMPLE))

from pick_by_eye import pick  # noqa: E402 - the example's scripts are no package
from print_and_read import read_text  # noqa: E402
from sheet_text import load  # noqa: E402

ROOF = np.array([43.0, -4.0, -13.0])
"""CIELAB of the thing that the colour by eye is held against."""
ROUNDS = 3
"""Most sheets in a row that are printed and read before the order counts as finished."""
TIGHTER, WIDER = 2.5, 2.6


def processor_seconds() -> float:
    """Return what processes that were run to their end have used."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def example_order(*, quick: bool) -> dict[str, object]:
    """Return the example's order with two pieces more, one vendor fewer and a shelf of its own."""
    order = yaml.safe_load((EXAMPLE / "members_evening" / "order.yaml").read_text("utf-8"))
    del order["evidence"]
    printed = {"build": "cmyk 85 20 60 30", "on": "north-quay-press@natural-cotton"}
    order["colours"]["kelp"]["aim"] = {"lab": [38, -24, 2]} if quick else printed
    vendors, pieces = order["vendors"], order["pieces"]
    millrace = vendors.pop("millrace")
    shop = vendors["north-quay"] = {**millrace, "title": "North Quay Print", "bleed": "1/8in"}
    shop["devices"] = {
        "millrace-press": {"stocks": ["smooth-ivory"], "ink_limit": 280},
        "north-quay-press": {"stocks": ["natural-cotton"], "ink_limit": 280},
        "north-quay-envelopes": {"stocks": ["grey-felt"], "ink_limit": 260},
    }
    pieces["thanks-card"] = {**pieces["reply-card"], "device": "north-quay-press"}
    pieces["thanks-card"]["stock"] = "natural-cotton"
    pieces["keepsake"] = {**pieces["invitation"], "device": "inkjet", "stock": "smooth-ivory"}
    if quick:
        for name in set(pieces) - {"reply-card", "lantern-tag"}:
            del pieces[name]
        for name in set(vendors) - {"studio-laser", "north-quay"}:
            del vendors[name]
    for piece in pieces.values():
        piece["artwork"] = str(EXAMPLE / "artwork" / Path(piece["artwork"]).name)
    order["tolerances"] = {"between_pieces": TIGHTER, "to_aim": 3.5}
    return order


@dataclass
class Studio:
    """A folder with an order, and a person who prints what is asked for and reads it."""

    folder: Path

    @property
    def out(self) -> Path:
        """Where the order's files go."""
        return self.folder / "out"

    def write(self, order: dict[str, object]) -> None:
        """Write the order file."""
        (self.folder / "order.yaml").write_text(yaml.safe_dump(order, sort_keys=False), "utf-8")

    def command(self, *words: str | Path) -> float:
        """Run a command; return its processor seconds."""
        before = processor_seconds()
        done = subprocess.run(
            [sys.executable, "-c", "from inkaccord.cli.main import main; main()", *words],
            capture_output=True,
            text=True,
            cwd=self.folder,
            check=False,
        )
        if done.returncode not in {0, 3, 4}:
            raise SystemExit(f"{' '.join(map(str, words))}: {done.stdout}\n{done.stderr}")
        return processor_seconds() - before

    def run(self, out: str = "out") -> float:
        """Run the order."""
        return self.command("run", "order.yaml", "--out", out)

    def record(self, tables: Iterable[Path], *, picks: bool = True) -> None:
        """Read sheets with an instrument, and pick the colour by eye on them."""
        for table in tables:
            sheet = load(table)
            filled = self.folder / f"{sheet.sheet_id}-read.txt"
            filled.write_text(read_text(sheet), "utf-8")
            words = [sheet.sheet_id, str(filled), "--order", "order.yaml"]
            if picks:
                words += ["--pick", f"slate={pick(sheet, 'slate', ROOF)}"]
            self.command("record", *words)

    def waiting(self) -> list[Path]:
        """Return the tables of the sheets that the last run asks for."""
        record = json.loads((self.out / "run.json").read_text("utf-8"))
        return [self.out / it["table"] for it in record["samples"]]

    def same_as(self, other: str) -> bool:
        """Tell whether another out folder holds the same files, byte for byte."""
        one, two = (_files(self.folder / name) for name in ("out", other))
        return one == two


def _files(folder: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and not path.relative_to(folder).parts[0].startswith(".")
    }


@dataclass(frozen=True)
class Step:
    """One run of the loop: processor seconds as it went, and with everything computed."""

    what: str
    seconds: float
    anew: float
    same: bool
    """Whether both gave the same files."""


def loop(folder: Path, *, quick: bool) -> list[Step]:
    """Go through the loop once."""
    studio = Studio(folder)
    order = example_order(quick=quick)
    studio.write(order)
    steps: list[Step] = []

    def ran(what: str) -> None:
        seconds = studio.run()
        shutil.rmtree(folder / "anew", ignore_errors=True)
        anew = studio.run("anew")
        steps.append(Step(what, seconds, anew, studio.same_as("anew")))

    studio.run()
    for _ in range(1 if quick else ROUNDS):
        tables = studio.waiting()
        if not tables:
            break
        studio.record(tables)
        studio.run()
    ran("unchanged")
    order["tolerances"] = {"between_pieces": WIDER, "to_aim": 3.5}
    studio.write(order)
    ran("changed tolerance")
    swatch_set = ("laser@kraft", "--order", "order.yaml", "--out", "sheets")
    studio.command("controls", *swatch_set)
    studio.record(sorted((folder / "sheets").glob("*.txt")), picks=False)
    ran("new reading on one pair")
    return steps


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--quick", action="store_true", help="two pieces, to see that it runs")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        steps = loop(Path(name), quick=options.quick)
    if options.json:
        print(json.dumps([vars(step) for step in steps], indent=2))
        return
    print("step                       as it went   all computed   ratio   same files")
    for it in steps:
        print(
            f"{it.what:25s} {it.seconds:9.2f} s {it.anew:12.2f} s "
            f"{it.seconds / it.anew:7.2f}   {'yes' if it.same else 'NO'}"
        )


if __name__ == "__main__":
    main()
