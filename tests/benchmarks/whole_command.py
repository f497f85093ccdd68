"""What ``colours`` and ``recolour`` cost as commands, proof included, beside other programs.

    python tests/benchmarks/whole_command.py [--json] [--quick] [--beside PYTHON]

Books of 1, 50 and 500 pages, of which every fifth holds a brand colour, and the four drawings of
``recolour.py``. Processor seconds, children and start-up included, and seconds by the clock; beside
them Ghostscript, which draws the same pages once, and qpdf, which packs the same file again. With
``--beside``, the Python of another version's environment, both versions take turns.
"""

import argparse
import json
import os
import random
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

import pikepdf
from recolour import MAKERS, PALETTE, SWAPS, processor_time, write_pdf

COLOURED = 5
"""Every so many pages of a book one has a rule in a brand colour."""
RECOLOUR_DPI = 108
"""About what the proof draws a page of a book at."""


def write_book(path: Path, pages: int) -> None:
    """Write pages of black text, some with a rule in a brand colour above it."""
    dice = random.Random(5)
    with pikepdf.new() as pdf:
        fonts = b"<< /Font << /F1 << /Type /Font /Subtype /Type1 /BaseFont /Helvetica >> >> >>"
        resources = pdf.make_indirect(pikepdf.Object.parse(fonts))
        for number in range(pages):
            page = pdf.add_blank_page(page_size=(420, 595))
            page.obj.Resources = resources
            rule = f"{PALETTE[number // COLOURED % 3]} k 40 560 340 6 re f\n"
            lines = "".join(
                f"({'lantern kelp ' * 3}{dice.randrange(999)}) Tj 0 -12 Td\n" for _ in range(40)
            )
            page.obj.Contents = pdf.make_stream(
                f"{'' if number % COLOURED else rule}BT /F1 9 Tf 0 0 0 1 k 1 0 0 1 40 540 Tm\n"
                f"{lines}ET 0 0 0 .5 k 40 20 340 .5 re f\n".encode()
            )
        pdf.save(path)


AS_INSTALLED = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
"""Modules are compiled once, as they are for whoever installs the program."""


def took(command: Sequence[str | Path]) -> tuple[float, float]:
    """Return the seconds of a command: of processors, and by the clock."""
    clock, processor = time.perf_counter(), processor_time()
    done = subprocess.run(command, capture_output=True, check=False, env=AS_INSTALLED)
    if done.returncode:
        raise SystemExit(f"{command}: {done.stdout.decode()}{done.stderr.decode()}")
    return processor_time() - processor, time.perf_counter() - clock


def cost(command: Sequence[str | Path], rounds: int) -> float:
    """Return the processor seconds of a command, the best of some rounds."""
    return min(took(command)[0] for _ in range(rounds))


def measured(
    source: Path, folder: Path, swaps: int, rounds: int, pythons: dict[str, str]
) -> dict[str, object]:
    """Return what each command costs on one file, with each Python in turn."""
    asked = [part for swap in SWAPS[:swaps] for part in ("--swap", f"{swap.old} = {swap.new}")]
    commands = {"colours": [source], "recolour": [source, folder / "new.pdf", *asked]}
    row: dict[str, object] = {"file": source.stem}
    times: dict[str, float] = {}
    for name, given in commands.items():
        every: dict[str, list[tuple[float, float]]] = {whose: [] for whose in pythons}
        for _ in range(rounds):
            for whose, python in pythons.items():
                every[whose].append(took([python, "-m", "inkaccord.cli.main", name, *given]))
        for whose, found in every.items():
            processor, clock = (min(one) for one in zip(*found, strict=True))
            row |= {
                f"{name}{whose}_s": round(processor, 2),
                f"{name}{whose}_clock_s": round(clock, 2),
            }
        times[name] = min(processor for processor, _ in every[""])
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
    parser.add_argument("--beside", metavar="PYTHON", help="also measure this one's inkaccord")
    given = parser.parse_args()
    pythons = {"": sys.executable, **({"_beside": given.beside} if given.beside else {})}
    pages, size, rounds = ((1, 6), 80_000, 1) if given.quick else ((1, 50, 500), 400_000, 2)
    rows = []
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for number in pages:
            source = folder / f"book-{number}.pdf"
            write_book(source, number)
            known = min(3, 1 + (number - 1) // COLOURED)
            rows.append(measured(source, folder, known, rounds, pythons))
        for kind, make in MAKERS.items():
            source = folder / f"{kind}.pdf"
            write_pdf(source, make(size, random.Random(7)))
            rows.append(measured(source, folder, len(SWAPS), rounds, pythons))
    if given.json:
        print(json.dumps(rows, indent=2))
        return
    for row in rows:
        print("  ".join(f"{key} {value}" for key, value in row.items()))


if __name__ == "__main__":
    main()
