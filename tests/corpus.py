"""Any folder of PDFs through all that reads artwork: ``python tests/corpus.py FOLDER…``, by hand.

Every file has a process of its own, with limits on its processor time and memory. Printed is each
file that is neither done nor refused in a designer's words: a traceback, a hang, too much memory;
and how many there are of each. With one of them the exit code is 1.
"""

import json
import os
import resource
import subprocess
import sys
import time
import traceback
from collections import Counter
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import click

from inkaccord.artwork.content.walk import walk
from inkaccord.artwork.inventory.inventory import inventory
from inkaccord.artwork.preflight.rules import ArtworkRules
from inkaccord.artwork.preflight.run import preflight
from inkaccord.artwork.proof.prove import prove
from inkaccord.artwork.recolouring.recolour import RecolourOptions, recolour
from inkaccord.artwork.swaps import Swap
from inkaccord.colour.paints import Paint, PaintKind
from inkaccord.errors import InkaccordError
from inkaccord.pdf.opening import open_artwork
from inkaccord.pdf.rendering import page_pictures

NEW = {
    PaintKind.CMYK: Paint.parse("cmyk 12 63 41 7"),
    PaintKind.SPOT: Paint.parse("cmyk 12 63 41 7"),
    PaintKind.RGB: Paint.parse("rgb 201 87 133"),
}
"""What a file's own colour is swapped to: no file's own, in all likelihood."""


def one_swap(path: Path) -> str:
    """Swap the first colour of a file that can be swapped, and prove it; say what came of it."""
    with open_artwork(path) as pdf:
        paints = (use.colour.paint for use in walk(pdf))
        old = next((it for it in paints if it is not None and it.kind in NEW), None)
    if old is None:
        return "nothing to swap"
    swaps, options = [Swap(old=old, new=NEW[old.kind])], RecolourOptions()
    made = recolour(path, swaps, options=options)
    proof = prove(path.read_bytes(), made.data, swaps, options)
    if proof.passed:
        return "ok"
    return f"refused: {made.errors[0].code}" if made.errors else "not proved"


STEPS: dict[str, Callable[[Path], object]] = {
    "inventory": lambda path: inventory(path, dpi=100),
    "swap": one_swap,
    "preflight": lambda path: preflight(path, ArtworkRules()),
    "picture": lambda path: list(page_pictures(path, dpi=50)),
}


def judge(path: Path) -> dict[str, str]:
    """Return what came of each step: ``ok``, ``refused: CODE``, ``traceback: WHERE``."""
    outcomes = {}
    for name, step in STEPS.items():
        try:
            said = step(path)
            outcomes[name] = said if isinstance(said, str) else "ok"
        except InkaccordError as refusal:
            outcomes[name] = f"refused: {refusal.findings[0].code}"
        except MemoryError:
            outcomes[name] = "memory"
        except Exception as problem:  # noqa: BLE001 -- whatever a file makes fall is what is looked for
            last = traceback.extract_tb(problem.__traceback__)[-1]
            where = f"{Path(last.filename).name}:{last.lineno}"
            outcomes[name] = f"traceback: {type(problem).__name__} {where}"
    return outcomes


@dataclass(frozen=True)
class Judged:
    """A file, what came of each step, and what it took."""

    path: Path
    outcomes: dict[str, str]
    seconds: float

    @property
    def bad(self) -> dict[str, str]:
        """What must not happen."""
        words = ("traceback", "hang", "memory", "crash", "not proved")
        return {step: said for step, said in self.outcomes.items() if said.startswith(words)}


def judge_apart(path: Path, seconds: int, mib: int) -> Judged:
    """Judge a file in a process of its own, under limits."""
    start = time.monotonic()
    child = subprocess.Popen(
        [sys.executable, __file__, "--one", f"--seconds={seconds}", f"--mib={mib}", str(path)],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        env={**os.environ, "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"},
    )
    try:
        out, _ = child.communicate(timeout=seconds * 3)
    except subprocess.TimeoutExpired:
        child.kill()
        child.communicate()
        return Judged(path, {"all": "hang"}, time.monotonic() - start)
    took = time.monotonic() - start
    if child.returncode == 0:
        return Judged(path, json.loads(out), took)
    how = "hang" if took >= seconds else f"crash: {child.returncode}"
    return Judged(path, {"all": how}, took)


def files_in(folders: tuple[Path, ...]) -> Iterator[Path]:
    """Yield the PDFs of some folders, and files as they are."""
    for folder in folders:
        yield from sorted(folder.rglob("*.pdf")) if folder.is_dir() else [folder]


@click.command()
@click.argument("folders", nargs=-1, required=True, type=click.Path(path_type=Path, exists=True))
@click.option("--seconds", default=60, help="Processor time of one file.")
@click.option("--mib", default=3072, help="Address space of one file's process.")
@click.option("--workers", default=os.cpu_count() or 1)
@click.option("--all", "every", is_flag=True, help="Print the files that are right, too.")
@click.option("--one", is_flag=True, hidden=True)
def main(
    folders: tuple[Path, ...], seconds: int, mib: int, workers: int, every: bool, one: bool
) -> None:
    """Run every PDF of FOLDERS through inventory, one swap with its proof, checks and picture."""
    if one:
        resource.setrlimit(resource.RLIMIT_AS, (mib << 20, mib << 20))
        resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds + 1))
        click.echo(json.dumps(judge(folders[0])))
        return
    counts: Counter[tuple[str, str]] = Counter()
    bad = 0
    with ThreadPoolExecutor(workers) as pool:
        for judged in pool.map(lambda path: judge_apart(path, seconds, mib), files_in(folders)):
            for step, said in judged.outcomes.items():
                counts[step, said.split(" ")[0] if said.startswith("traceback") else said] += 1
            bad += bool(judged.bad)
            if judged.bad or every:
                shown = judged.outcomes if every else judged.bad
                click.echo(f"{judged.path.name}  {judged.seconds:.1f} s  {shown}")
    for (step, said), count in sorted(counts.items()):
        click.echo(f"{step:10} {said:32} {count:6}")
    sys.exit(bad > 0)


if __name__ == "__main__":
    main()
