"""What ``colours`` and ``recolour`` cost as commands, proof included, beside other programs.

    python tests/benchmarks/whole_command.py [--json] [--quick] [--beside CHECKOUT]

The ten files of ``ten_files.py``: books of 1, 50 and 500 pages of which every fifth holds a brand
colour, four streams, a card, gradients and photographs. Processor seconds, children and start-up
included, and seconds by the clock; beside them Ghostscript, which draws the same pages once, and
qpdf, which packs the same file again. With ``--beside``, the code of another checkout, both
versions take turns, and the ratio and whether they write the same copy are told.
"""

import argparse
import json
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

from recolour import processor_time
from ten_files import SWAPS, write_ten

BESIDE = "_beside"
RECOLOUR_DPI = 108
"""About what the proof draws a page of a book at."""


HERE = Path(__file__).parents[2]


def environment(checkout: Path) -> dict[str, str]:
    """Return what a command runs in: the code of a checkout, compiled once as when installed."""
    mine = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}
    where = (str(checkout / "runner"), str(checkout / "plugins"))
    return {**mine, "OMP_NUM_THREADS": "1", "PYTHONPATH": os.pathsep.join(where)}


def took(command: Sequence[str | Path], checkout: Path = HERE) -> tuple[float, float]:
    """Return the seconds of a command: of processors, and by the clock."""
    clock, processor = time.perf_counter(), processor_time()
    done = subprocess.run(command, capture_output=True, check=False, env=environment(checkout))
    if done.returncode:
        raise SystemExit(f"{command}: {done.stdout.decode()}{done.stderr.decode()}")
    return processor_time() - processor, time.perf_counter() - clock


def cost(command: Sequence[str | Path], rounds: int) -> float:
    """Return the processor seconds of a command, the best of some rounds."""
    return min(took(command)[0] for _ in range(rounds))


def measured(
    source: Path, folder: Path, swaps: int, rounds: int, checkouts: dict[str, Path]
) -> dict[str, object]:
    """Return what each command costs on one file, with the code of each checkout in turn."""
    asked = [part for swap in SWAPS[:swaps] for part in ("--swap", f"{swap.old} = {swap.new}")]
    row: dict[str, object] = {"file": source.stem}
    times: dict[str, float] = {}
    for name in ("colours", "recolour"):
        every: dict[str, list[tuple[float, float]]] = {whose: [] for whose in checkouts}
        for _ in range(rounds):
            for whose, checkout in checkouts.items():
                given = [] if name == "colours" else [folder / f"new{whose}.pdf", *asked]
                command = [sys.executable, "-m", "inkaccord.cli.main", name, source, *given]
                every[whose].append(took(command, checkout))
        best = {
            whose: [min(one) for one in zip(*found, strict=True)] for whose, found in every.items()
        }
        for whose, (processor, clock) in best.items():
            row |= {
                f"{name}{whose}_s": round(processor, 2),
                f"{name}{whose}_clock_s": round(clock, 2),
            }
        if BESIDE in best:
            row[f"{name}_ratio"] = round(best[""][0] / best[BESIDE][0], 2)
        times[name] = best[""][0]
    if BESIDE in checkouts:
        mine, theirs = ((folder / f"new{whose}.pdf").read_bytes() for whose in ("", BESIDE))
        row["same_copy"] = mine == theirs
    if gs := shutil.which("gs"):
        drawn = ["-q", "-dSAFER", "-sDEVICE=tiff64nc", f"-r{RECOLOUR_DPI}", "-o"]
        seconds = cost([gs, *drawn, folder / "p%d.tif", source], rounds)
        row["ghostscript_s"] = round(seconds, 2)
        row |= {f"{name}_per_gs": round(ours / seconds, 1) for name, ours in times.items()}
    if qpdf := shutil.which("qpdf"):
        packed = ["--recompress-flate", "--compression-level=6", source, folder / "packed.pdf"]
        row["qpdf_s"] = round(cost([qpdf, *packed], rounds), 2)
    return row


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n", maxsplit=1)[0])
    parser.add_argument("--json", action="store_true", help="print figures as JSON")
    parser.add_argument("--quick", action="store_true", help="a smoke run on small files")
    parser.add_argument("--beside", type=Path, metavar="CHECKOUT", help="also measure its code")
    given = parser.parse_args()
    checkouts = {"": HERE, **({BESIDE: given.beside.resolve()} if given.beside else {})}
    pages, size, rounds = ((1, 2, 6), 80_000, 1) if given.quick else ((1, 50, 500), 400_000, 2)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        rows = []
        for source, swaps in write_ten(folder, pages=pages, size=size).items():
            rows.append(measured(source, folder, swaps, rounds, checkouts))
            if not given.json:
                print("  ".join(f"{key} {value}" for key, value in rows[-1].items()), flush=True)
    if given.json:
        print(json.dumps(rows, indent=2))


if __name__ == "__main__":
    main()
