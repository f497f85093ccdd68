"""What workers save: one order of few pieces, one of many, and many orders of few.

    python tests/benchmarks/scale.py [--json] [--quick] [--orders N] [--case ORDERS PIECES]
    python tests/benchmarks/scale.py --memory [--quick]

The orders are those of ``growth.py``, each with a name and labels of its own, their sheets read as
an invented press prints them. Each case is run by the command with one process, with two workers,
and with two workers of a Dask cluster on this machine, every time from the same state of shelf and
folders, and must leave the same files. The clock counts here, so the machine should be idle; how
many times as fast as one process each way is, is told beside. A cluster is there before the clock
starts, and its workers are new to each case; those of the pool are started by the command.

``--memory`` runs more and more orders, and one artwork of more and more pages, with one process,
and tells the most memory that a process held. It needs no idle machine.
"""

import argparse
import hashlib
import json
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext
from pathlib import Path
from typing import TypedDict

import growth
import yaml

from inkaccord.shelf.store import Shelf
from inkaccord.testing import draw_artwork, read_on_plain_press

CASES = ((1, 5), (1, 100), (200, 5))
WORKERS = 2
MEMORY_ORDERS = (10, 100, 1000)
MEMORY_PAGES = (20, 1_000, 4_000, 10_000)
"""Up to as many as an artwork may have."""


class Scaled(TypedDict):
    """What one case took in one way."""

    orders: int
    pieces: int
    way: str
    clock_s: float
    processor_s: float
    memory_mb: float
    times_one: float
    same: bool


class Held(TypedDict):
    """The most memory that a process held."""

    orders: int
    pages: int
    clock_s: float
    memory_mb: float


def write_orders(folder: Path, orders: int, pieces: int) -> list[Path]:
    """Write orders that are ready to be run to their end, and the shelf that they share."""
    made = []
    for number in range(orders):
        own = folder / f"order-{number:04}"
        own.mkdir(parents=True)
        path = growth.write_order(own, pieces, pairs=min(pieces, 5))
        path.write_text(path.read_text("utf-8").replace("order: growth", f"order: {own.name}"))
        for at, art in enumerate(sorted(own.glob("*.pdf"))):
            build = list(growth.COLOURS.values())[at % 2]
            size = growth.SIZES[at % len(growth.SIZES)]
            art.write_bytes(draw_artwork(size, build, label=f"{number} {art.stem}"))
        made.append(own)
    read_sheets(made[0], folder / "shelf.sqlite")
    return made


def read_sheets(order: Path, shelf_file: Path) -> None:
    """Have the sheets that an order asks for read, and forget that it was run."""
    growth.command("run", order, "--shelf", shelf_file, code=None)
    with Shelf.open(shelf_file) as shelf:
        waiting = json.loads((order / "out" / "run.json").read_text("utf-8"))
        for sheet in waiting["samples"]:
            read_on_plain_press(shelf, shelf.sheet(sheet["id"]))
    shutil.rmtree(order / "out")


def written(folder: Path) -> dict[str, str]:
    """Return the digest of every file of an out folder; the private memory left out.

    What this process holds counts for what it starts, too, in what the system tells of memory.
    """
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in folder.rglob("*")
        if path.is_file() and not path.name.startswith(".")
    }


def timed(*words: str | Path) -> tuple[float, float, float]:
    """Run ``inkaccord``; return seconds by the clock and of processors, and MB of one process."""
    start = time.perf_counter()
    with subprocess.Popen(
        [sys.executable, "-c", "from inkaccord.cli.main import main; main()", *map(str, words)],
        stdout=subprocess.DEVNULL,
    ) as running:
        _, status, used = os.wait4(running.pid, 0)
        running.returncode = os.waitstatus_to_exitcode(status)
    clock = time.perf_counter() - start
    if running.returncode:
        raise SystemExit(f"it did not run through: exit code {running.returncode}")
    return clock, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024


@contextmanager
def cluster() -> Iterator[list[str]]:
    """Give the words that name a new cluster of this machine."""
    import dask
    from distributed import LocalCluster

    name = "distributed.nanny.pre-spawn-environ"
    own = {it: value for it, value in dask.config.get(name).items() if "TRIM" not in it}
    settings = {name: own, "distributed.worker.profile.enabled": False}
    with dask.config.set(settings), LocalCluster(
        n_workers=WORKERS, threads_per_worker=1, host="127.0.0.1", dashboard_address=None,
        silence_logs=50,
    ) as made:  # fmt: skip
        yield ["--cluster", made.scheduler_address]


WAYS: dict[str, Callable[[], AbstractContextManager[list[str]]]] = {
    "one process": lambda: nullcontext(["--workers", "1"]),
    f"{WORKERS} workers": lambda: nullcontext(["--workers", str(WORKERS)]),
    f"Dask, {WORKERS} workers": cluster,
}


def scaled(orders: int, pieces: int) -> Iterator[Scaled]:
    """Run a case in each way."""
    first: list[dict[str, bytes]] = []
    one = 0.0
    with tempfile.TemporaryDirectory() as name:
        whole = Path(name) / "whole"
        names = [made.name for made in write_orders(whole, orders, pieces)]
        for way, where in WAYS.items():
            folder = Path(name) / "now"
            shutil.copytree(whole, folder)
            with where() as words:
                clock, used, memory = timed(
                    "run", *(folder / it for it in names), *words,
                    "--shelf", folder / "shelf.sqlite",
                )  # fmt: skip
            made = [written(folder / it / "out") for it in names]
            first, one = first or made, one or clock
            yield Scaled(
                orders=orders, pieces=pieces, way=way, clock_s=clock, processor_s=used,
                memory_mb=memory, times_one=one / clock, same=made == first,
            )  # fmt: skip
            shutil.rmtree(folder)


def held_by_orders(orders: int) -> Held:
    """Run so many orders of one piece with one process."""
    with tempfile.TemporaryDirectory() as name:
        made = write_orders(Path(name), orders, 1)
        words = ("run", *made, "--workers", "1", "--shelf", Path(name) / "shelf.sqlite")
        clock, _, memory = timed(*words)
    return Held(orders=orders, pages=1, clock_s=clock, memory_mb=memory)


def held_by_pages(pages: int) -> Held:
    """Run an order of one piece, whose artwork has a page of its own for every copy."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        path = growth.write_order(folder, 1, 1)
        order = yaml.safe_load(path.read_text("utf-8"))
        order["suites"] = pages
        order["pieces"]["piece-000"] |= {
            "extra": 0,
            "records": "cut-and-stack",
            "trim": "5in x 7in",
        }
        path.write_text(yaml.safe_dump(order, sort_keys=False), "utf-8")
        art = folder / "piece-000.pdf"
        art.write_bytes(many_pages(art.read_bytes(), pages))
        read_sheets(folder, folder / "shelf.sqlite")
        clock, _, memory = timed(
            "run", folder, "--workers", "1", "--shelf", folder / "shelf.sqlite"
        )
    return Held(orders=1, pages=pages, clock_s=clock, memory_mb=memory)


def many_pages(data: bytes, pages: int) -> bytes:
    """Return an artwork with its first page so many times, each with contents of its own."""
    import io

    import pikepdf

    with pikepdf.open(io.BytesIO(data)) as pdf:
        contents = pdf.pages[0].Contents.read_bytes()
        for number in range(1, pages):
            pdf.pages.append(pdf.pages[0])
            pdf.pages[number].Contents = pdf.make_stream(contents + b"\n%% %d" % number)
        out = io.BytesIO()
        pdf.save(out)
    return out.getvalue()


def show(rows: list[Scaled]) -> None:
    """Print what the ways took."""
    print("orders pieces  way                  clock  processor   memory  times one  same files")
    for row in rows:
        print(
            f"{row['orders']:6d} {row['pieces']:6d}  {row['way']:16} {row['clock_s']:7.1f} s "
            f"{row['processor_s']:8.1f} s {row['memory_mb']:5.0f} MB {row['times_one']:10.2f}  "
            f"{'yes' if row['same'] else 'NO'}",
            flush=True,
        )


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--quick", action="store_true", help="small numbers, to see that it runs")
    parser.add_argument("--memory", action="store_true")
    parser.add_argument("--orders", type=int, default=200, help="of the last case")
    parser.add_argument("--case", type=int, nargs=2, metavar=("ORDERS", "PIECES"))
    options = parser.parse_args()
    if options.memory:
        orders, pages = ((2, 4), (1, 20)) if options.quick else (MEMORY_ORDERS, MEMORY_PAGES)
        held = [held_by_orders(it) for it in orders] + [held_by_pages(it) for it in pages]
        print(json.dumps(held, indent=2))
        return
    cases = [options.case] if options.case else [*CASES[:-1], (options.orders, CASES[-1][1])]
    rows = [row for case in ([(3, 2)] if options.quick else cases) for row in scaled(*case)]
    print(json.dumps(rows, indent=2)) if options.json else show(rows)


if __name__ == "__main__":
    main()
