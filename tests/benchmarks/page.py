"""How long the page takes to answer: every page of an order of 60 pieces.

    python tests/benchmarks/page.py [--quick]

The order is run once on an empty shelf; then the page is opened as a person opens it, and each of
its pages is asked for eleven times, one after the other, as a browser asks after a click. Times are
of the clock, from the request to the last byte, and the page's processor seconds for each; on a
busy machine only the latter tell something. What is wanted: the first page within 0.3 s, an order's
page of 60 pieces within 1 s; so each is told as a share of that, too. Drawing it in the browser
comes on top.
"""

import argparse
import http.client
import os
import re
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import NamedTuple
from urllib.parse import SplitResult, urlsplit

from growth import write_order

FIRST_S, OTHER_S = 0.3, 1.0


class Answered(NamedTuple):
    """How long a page took, at the median and at worst, and what it cost."""

    name: str
    typical_s: float
    worst_s: float
    processor_s: float
    kilobytes: float


def ask(at: SplitResult, path: str) -> bytes:
    """Ask for a page, as a browser with the key of the start."""
    connection = http.client.HTTPConnection(at.netloc, timeout=60)
    key = at.query.removeprefix("key=")
    connection.request("GET", path, headers={"Cookie": f"inkaccord-{at.port}={key}"})
    try:
        answer = connection.getresponse()
        assert answer.status == 200, (path, answer.status)
        return answer.read()
    finally:
        connection.close()


def processor_seconds(process: int) -> float:
    """Return what a process has used so far (proc(5): utime and stime)."""
    fields = Path(f"/proc/{process}/stat").read_text("ascii").rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def measure(at: SplitResult, process: int, name: str, path: str, times: int) -> Answered:
    """Ask for a page several times."""
    took, before, size = [], processor_seconds(process), 0
    for _ in range(times):
        began = time.perf_counter()
        size = len(ask(at, path))
        took.append(time.perf_counter() - began)
    used = (processor_seconds(process) - before) / times
    return Answered(name, statistics.median(took), max(took), used, size / 1000)


def measured(pieces: int, times: int) -> list[Answered]:
    """Run an order, open the page, and measure each of its pages."""
    words = [sys.executable, "-m", "inkaccord.cli.main"]
    with tempfile.TemporaryDirectory() as place:
        order = Path(place) / "order"
        order.mkdir()
        write_order(order, pieces, 1)
        done = subprocess.run([*words, "run", order], capture_output=True, check=False)
        assert done.returncode == 3, done.stderr[-2000:]
        opened = [*words, "open", place, "--no-browser"]
        with subprocess.Popen(opened, stdout=subprocess.PIPE, text=True) as page:
            try:
                assert page.stdout is not None
                at = urlsplit(page.stdout.readline().strip())
                found = re.search(r'class="order" href="([^"]+)"', ask(at, "/").decode())
                assert found is not None
                parts = {"first page": "/", "order": found[1]}
                for name in ("pieces", "suite", "text", "shelf"):
                    parts[name] = f"{found[1]}/{name}"
                return [measure(at, page.pid, *it, times) for it in parts.items()]
            finally:
                page.terminate()


def main() -> None:
    """Measure, and print a table."""
    given = argparse.ArgumentParser(description=__doc__)
    given.add_argument("--quick", action="store_true")
    quick = given.parse_args().quick
    print("| page | median, s | worst, s | processor, s | kB | share of what is wanted |")
    print("| --- | --- | --- | --- | --- | --- |")
    for it in measured(3 if quick else 60, 2 if quick else 11):
        wanted = FIRST_S if it.name == "first page" else OTHER_S
        print(
            f"| {it.name} | {it.typical_s:.2f} | {it.worst_s:.2f} | {it.processor_s:.2f} "
            f"| {it.kilobytes:.0f} | {it.typical_s / wanted:.2f} |"
        )


if __name__ == "__main__":
    main()
