"""How fast recolouring is, side by side with the obvious other ways, on this machine.

Rewriting: the scanner against pikepdf's parser and writer, on the same unpacked streams.
Whole job: read, recolour, pack and write, against ``qpdf`` reading and packing the same file
again at zlib level 6. Memory: the peak of a process that recolours a large file.

    python tests/benchmarks/recolour.py [--json] [--quick] [--large MIB]
"""

import argparse
import json
import random
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

import pikepdf
from ten_files import MAKERS, SWAPS, paths, write_ten

from inkaccord.artwork.content.graphics_state import first_state
from inkaccord.artwork.content.interpreter import ColourInterpreter
from inkaccord.artwork.content.reading import ColourReading
from inkaccord.artwork.marks.reader import PageReader
from inkaccord.artwork.recolouring.recolour import recolour
from inkaccord.artwork.swap_table import SwapTable
from inkaccord.pdf.boxes import page_boxes
from inkaccord.pdf.colours.scope import Scope
from inkaccord.pdf.colours.space_reader import SpaceReader

SHARED_PDFS = Path(__file__).parents[2].parent / "shared" / "pdfs"

GOALS = {"paths": 5, "colours": 5, "vector": 5, "text": 3}


class NoDocument:
    """A guide for a stream without a document around it."""

    def call(self, *_: object) -> tuple[None, frozenset[str]]:
        return None, frozenset()

    def inline(self, *_: object) -> None:
        return None

    def finding(self, code: str, detail: str) -> None:
        del code, detail


def by_scanner(data: bytes) -> bytes:
    interpreter = ColourInterpreter(SwapTable(SWAPS))
    state = pikepdf.Object.parse(b"<< /ExtGState << /GS0 << /CA 1 >> >> >>")
    scope = Scope(state, SpaceReader())
    reading: ColourReading = interpreter.follow(data, scope, first_state(), NoDocument())
    return reading.rewritten(data)


def by_parser(data: bytes) -> bytes:
    """Parse, change what has four operands of a swapped colour, write everything anew."""
    table = SwapTable(SWAPS)
    scope = Scope(None, SpaceReader())
    known: dict[tuple[float, ...], list[float] | None] = {}
    with pikepdf.new() as pdf:
        result = []
        for one in pikepdf.parse_content_stream(pikepdf.Stream(pdf, data)):
            if str(one.operator) in ("k", "K"):
                numbers = tuple(float(v) for v in one.operands)
                if numbers not in known:
                    space = next(iter(scope.device.values()))
                    mapped = table.of(space.colour(numbers))
                    known[numbers] = [v / 100 for v in mapped.paint.values] if mapped else None
                new = known[numbers]
                if new is not None:
                    result.append(([*map(_decimal, new)], one.operator))
                    continue
            result.append((one.operands, one.operator))
        return pikepdf.unparse_content_stream(result)


def by_marks_reader(data: bytes) -> None:
    """Follow the same operators for what they paint and where, as the inventory does."""
    with pikepdf.new() as pdf:
        page = pdf.add_blank_page(page_size=(595, 842))
        page.obj.Contents = pdf.make_stream(data)
        PageReader(pdf, lambda _: None).read_page(page, page_boxes(page))


def _decimal(value: float) -> object:
    from decimal import Decimal

    return Decimal(f"{value:.6f}")


def best(work: Callable[[], object], rounds: int) -> float:
    """Return the shortest processor time of several rounds, children included.

    Processor time, because a machine that others use at the same time stretches the clock's.
    """
    times = []
    for _ in range(rounds):
        started = processor_time()
        work()
        times.append(processor_time() - started)
    return min(times)


def processor_time() -> float:
    own, children = (
        resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    )
    return own.ru_utime + own.ru_stime + children.ru_utime + children.ru_stime


def rewriting(size: int, rounds: int) -> list[dict[str, object]]:
    rows = []
    for name, make in MAKERS.items():
        data = make(size, random.Random(7))
        ours = best(lambda data=data: by_scanner(data), rounds)  # type: ignore[misc]
        theirs = best(lambda data=data: by_parser(data), max(rounds // 2, 1))  # type: ignore[misc]
        rows.append(
            {
                "stream": name,
                "mb": round(len(data) / 1e6, 2),
                "scanner_mb_s": round(len(data) / 1e6 / ours, 1),
                "parser_mb_s": round(len(data) / 1e6 / theirs, 1),
                "marks_mb_s": round(len(data) / 1e6 / best(partial(by_marks_reader, data), 1), 1),
                "times_faster": round(theirs / ours, 1),
                "goal": GOALS[name],
            }
        )
    return rows


def real_streams(rounds: int) -> list[dict[str, object]]:
    """The same on the content streams of files that others made, where the folder is present."""
    streams: list[bytes] = []
    for path in sorted(SHARED_PDFS.glob("*.pdf")):
        try:
            with pikepdf.open(path) as pdf:
                for page in pdf.pages:
                    data = (
                        b"\n".join(
                            bytes(one.read_bytes())
                            for one in page.obj.get("/Contents", pikepdf.Array())
                        )
                        if isinstance(page.obj.get("/Contents"), pikepdf.Array)
                        else bytes(page.obj.Contents.read_bytes())
                    )
                    by_parser(data)
                    streams.append(data)
        except Exception:  # noqa: BLE001, S112 - damaged on purpose, and not what is measured
            continue
    if not streams:
        return []
    size = sum(map(len, streams)) / 1e6
    ours = best(lambda: [by_scanner(data) for data in streams], rounds)
    theirs = best(lambda: [by_parser(data) for data in streams], max(rounds // 2, 1))
    return [
        {
            "stream": f"{len(streams)} real ones",
            "mb": round(size, 2),
            "scanner_mb_s": round(size / ours, 1),
            "parser_mb_s": round(size / theirs, 1),
            "marks_mb_s": round(size / best(lambda: list(map(by_marks_reader, streams)), 1), 1),
            "times_faster": round(theirs / ours, 1),
            "goal": GOALS["vector"],
        }
    ]


def whole_jobs(
    size: int, pages: tuple[int, int, int], rounds: int, folder: Path
) -> list[dict[str, object]]:
    qpdf = shutil.which("qpdf")
    rows = []
    for source, swaps in write_ten(folder, pages=pages, size=size).items():

        def ours(source: Path = source, swaps: int = swaps) -> None:
            (folder / "ours.pdf").write_bytes(recolour(source, SWAPS[:swaps]).data)

        row: dict[str, object] = {
            "file": source.stem,
            "mb": round(source.stat().st_size / 1e6, 2),
            "recolour_s": round(best(ours, rounds), 3),
        }
        row["recoloured_mb"] = round((folder / "ours.pdf").stat().st_size / 1e6, 2)
        if qpdf:
            command = [
                qpdf, "--recompress-flate", "--compression-level=6", str(source),
                str(folder / "theirs.pdf"),
            ]  # fmt: skip
            theirs = best(lambda c=command: subprocess.run(c, check=True), rounds)  # type: ignore[misc]
            row["qpdf_s"] = round(theirs, 3)
            row["ratio"] = round(float(str(row["recolour_s"])) / theirs, 2)
        rows.append(row)
    return rows


def memory(mib: int, folder: Path) -> dict[str, object]:
    """Recolour a file of about ``mib`` MiB in a process of its own; return its peak."""
    source = folder / "large.pdf"
    dice = random.Random(3)
    with pikepdf.new() as pdf:
        for _ in range(max(mib // 4, 1)):
            page = pdf.add_blank_page(page_size=(595, 842))
            picture = pdf.make_stream(dice.randbytes(3 << 20))
            for key, value in (("Width", 1024), ("Height", 1024), ("BitsPerComponent", 8)):
                picture[f"/{key}"] = value
            picture.Subtype = pikepdf.Name.Image
            picture.ColorSpace = pikepdf.Name.DeviceRGB
            page.obj.Resources = pikepdf.Dictionary(XObject=pikepdf.Dictionary(I=picture))
            page.obj.Contents = pdf.make_stream(paths(2_500_000, dice) + b" /I Do")
        pdf.save(source)
    code = (
        "import sys, resource; from pathlib import Path\n"
        "from inkaccord.artwork.recolouring.recolour import parse_swap, recolour\n"
        "made = recolour(Path(sys.argv[1]), [parse_swap('cmyk 85 20 60 30 = cmyk 78 12 55 41')])\n"
        "print(len(made.data), resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)"
    )
    started = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-c", code, str(source)], check=True, capture_output=True, text=True
    )
    seconds = time.perf_counter() - started
    size, peak = (int(v) for v in done.stdout.split())
    return {
        "file_mib": round(source.stat().st_size / 2**20),
        "result_mib": round(size / 2**20),
        "peak_mib": round(peak / 1024),
        "seconds": round(seconds, 1),
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n", maxsplit=1)[0])
    parser.add_argument("--json", action="store_true", help="print figures as JSON")
    parser.add_argument("--quick", action="store_true", help="a smoke run on tiny streams")
    parser.add_argument("--large", type=int, default=0, metavar="MIB", help="also measure memory")
    given = parser.parse_args()
    size, pages, rounds = (40_000, (1, 2, 6), 1) if given.quick else (4_000_000, (1, 50, 500), 4)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        figures: dict[str, object] = {
            "rewriting": rewriting(size, rounds) + ([] if given.quick else real_streams(rounds)),
            "whole_job": whole_jobs(size, pages, rounds, folder),
        }
        if given.large or given.quick:
            figures["memory"] = memory(given.large or 4, folder)
    if given.json:
        print(json.dumps(figures, indent=2))
        return
    for title, rows in figures.items():
        print(title)
        for row in rows if isinstance(rows, list) else [rows]:
            print("  " + "  ".join(f"{key} {value}" for key, value in row.items()))
    print(f"peak of this process {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024} MiB")


if __name__ == "__main__":
    main()
