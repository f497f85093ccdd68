"""Every command that writes, killed in the middle: ``python tests/kill.py [--times N]``, by hand.

A process dies (SIGKILL) just before its n-th step that others can see: a file opened to write, a
name given, moved or taken away, a statement or a commit of the shelf. So it does not depend on
timing, and a kill that finds something can be done again: each has a user's folder and temporary
files of its own, as they were before, and no module is compiled into a file. Afterwards the shelf
is whole, and the same command, given again, leaves what it leaves when nobody disturbs it.
"""

import io
import os
import shutil
import signal
import sys
import tempfile
from collections.abc import Callable, Sequence
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass, field
from pathlib import Path
from unittest.mock import patch

import click
import sqlalchemy as sa

from inkaccord.cli.main import run_main
from inkaccord.shelf.store import Shelf
from inkaccord.testing import draw_artwork
from recording_kit import fill_in, readings_of, sheet_of
from run_kit import inkaccord, record_all
from shelf_kit import VERSION_4, old_shelf
from web_kit import Answer, PageHere, sheet_of_run, studio, upload

STEPS = {"os.rename", "os.remove", "os.rmdir", "os.mkdir", "os.truncate", "os.link", "os.symlink"}
USER_FOLDER, USER = "XDG_DATA_HOME", "user"
"""Where a run notes what it wrote, so that the next one takes other steps."""
TEMPORARY = "temporary"
"""Where a killed run leaves what the next one sweeps, a step for each."""
ORDER = """
order: kill
date: 2026-10-05
suites: 20
shelf: shelf.sqlite
colours: {leaf: {aim: {lab: [52, -28, 22]}, in_artwork: [cmyk 75 20 80 10]}}
stocks: {white: {size: letter}}
vendors: {studio: {delivers: sheets, devices: {press: {sheets: [letter], ink_limit: 300}}}}
pieces: {card: {artwork: card.pdf, trim: 5in x 7in, device: press, stock: white}}
tolerances: {between_pieces: 3, to_aim: 4}
"""


@dataclass
class Victim:
    """A process that counts its steps, and dies before one of them where that is asked for."""

    at: int = sys.maxsize
    steps: int = 0

    def step(self) -> None:
        """Count a step, or die before it."""
        if self.steps == self.at:
            os.kill(os.getpid(), signal.SIGKILL)
        self.steps += 1

    def watch(self, event: str, arguments: tuple[object, ...]) -> None:
        """Hear what the interpreter is about to do (PEP 578)."""
        if event in STEPS or (event == "open" and _writes(arguments)):
            self.step()

    def live(self, words: Sequence[str]) -> None:
        """Do a command in this process, watched."""
        sys.addaudithook(self.watch)
        for moment in ("before_cursor_execute", "commit"):
            sa.event.listen(sa.Engine, moment, lambda *_: self.step())
        with redirect_stdout(io.StringIO()), redirect_stderr(io.StringIO()):
            if tuple(words) == PAGE:
                use_page(Path.cwd())
            else:
                run_main(list(words))


def _writes(arguments: tuple[object, ...]) -> bool:
    flags = arguments[2]
    return isinstance(flags, int) and bool(flags & (os.O_WRONLY | os.O_RDWR | os.O_CREAT))


def in_child(words: Sequence[str], folder: Path, at: int = sys.maxsize) -> int:
    """Do a command in a process of its own; return how many steps it made, -1 if it was killed."""
    ours, theirs = os.pipe()
    process = os.fork()
    if process == 0:
        try:
            os.chdir(folder)
            os.environ[USER_FOLDER] = str(folder / USER)
            tempfile.tempdir = os.environ["TMPDIR"] = str(folder / TEMPORARY)
            Path(tempfile.tempdir).mkdir(exist_ok=True)
            sys.dont_write_bytecode = True
            victim = Victim(at)
            victim.live(words)
            os.write(theirs, str(victim.steps).encode())
        finally:
            os._exit(0)
    os.close(theirs)
    with os.fdopen(ours, "rb") as pipe:
        told = pipe.read()
    os.waitpid(process, 0)
    return int(told) if told else -1


@dataclass(frozen=True)
class Scene:
    """A command, what lies there before it, and what of it must be the same in the end."""

    words: tuple[str, ...]
    prepare: Callable[[Path], object]
    shelf: str | None = "shelf.sqlite"
    compared: tuple[str, ...] = field(default=())

    def state(self, folder: Path) -> object:
        """Return what the command was to leave behind."""
        files = [path for name in self.compared for path in _files(folder / name)]
        kept = _kept(folder / self.shelf) if self.shelf else None
        return kept, {path.relative_to(folder).as_posix(): path.read_bytes() for path in files}


def _files(place: Path) -> list[Path]:
    found = sorted(place.rglob("*")) if place.is_dir() else [place]
    return [it for it in found if it.is_file() and not it.name.startswith(".")]


def _kept(path: Path) -> object:
    """Return what a shelf holds, moments left out. Raises AssertionError if it is not whole."""
    with Shelf.open(path) as shelf:
        assert shelf.verify() == ()
        pairs = shelf.pairs()
        return (
            sorted(line.sheet.id for line in shelf.sheets()),
            sorted(it.digest for pair in pairs for it in shelf.readings_of(pair)),
            sorted(it.digest for pair in pairs for it in shelf.picks_of(pair)),
        )


def _order(folder: Path) -> None:
    (folder / "order.yaml").write_text(ORDER, "utf-8")
    (folder / "card.pdf").write_bytes(draw_artwork())


def _asked(folder: Path) -> None:
    _order(folder)
    assert inkaccord("run", folder)[0] == 3


def _recorded(folder: Path) -> None:
    _asked(folder)
    record_all(folder)


def _table(folder: Path) -> None:
    _asked(folder)
    (table,) = (folder / "out" / "samples").glob("*.txt")
    fill_in(table, folder / "readings.txt")
    (folder / "sheet").write_text(table.stem)


def _filled(folder: Path, *names: str) -> None:
    with Shelf.open(folder / "shelf.sqlite") as shelf:
        for seed, name in enumerate(names):
            sheet = sheet_of(24, name=name)
            shelf.add_sheet(sheet)
            shelf.record_readings(readings_of(sheet, seed=seed))


def _beside(folder: Path) -> None:
    """A shelf, and what another one exported and backed up."""
    _filled(folder, "AAA-111", "BBB-222")
    other = folder / "other"
    other.mkdir()
    _filled(other, "BBB-222", "CCC-333")
    with Shelf.open(other / "shelf.sqlite") as shelf:
        shelf.copies.back_up(folder / "monday.sqlite")
    assert (
        inkaccord("shelf", "export", folder / "export", "--shelf", other / "shelf.sqlite")[0] == 0
    )


PAGE = ("open",)


def _page(folder: Path) -> None:
    """An order that waits for looks, and readings of its sheet beside it."""
    order = studio(folder)
    assert inkaccord("run", order)[0] == 3
    (table,) = (order / "out" / "samples").glob("*.txt")
    fill_in(table, folder / "read.txt")


def use_page(folder: Path) -> None:
    """Change an order's text by its page, answer a look, and have readings kept."""
    page = PageHere(folder)
    at, text = f"{page.order}/text", (folder / "tags" / "order.yaml").read_text("utf-8")
    typed = {"text": text.rstrip().removesuffix(REMARK) + REMARK + "\n", "do": "keep"}
    page.post(at, {**typed, "was": _field(page.get(at), "was")})
    sheet = sheet_of_run(page)
    at, who = f"{page.order}/look/{sheet}", {"by": "Ada", "light": "north window"}
    tile = _field(page.get(f"{at}?q=0&by=Ada&light=north+window"), "answer")
    assert page.post(f"{at}/answer", {**who, "q": "0", "answer": tile}).status == 303
    at = f"{page.order}/read/{sheet}"
    word = _field(upload(page, at, (folder / "read.txt").read_bytes()), "file")
    assert page.post(f"{at}/keep", {"file": word, "do": "keep"}).status == 303


REMARK = "# a remark"


def _field(answer: Answer, name: str) -> str:
    return answer.text.partition(f'name="{name}" value="')[2].partition('"')[0]


ON_SHELF = ("--shelf", "shelf.sqlite")
SCENES = {
    "first run": Scene(("run", "."), _order, compared=("out",)),
    "run": Scene(("run", "."), _recorded, compared=("out",)),
    "record": Scene(("record", "SHEET", "readings.txt", "--order", "."), _table),
    "import": Scene(("shelf", "import", "export", *ON_SHELF), _beside),
    "restore": Scene(("shelf", "restore", "monday.sqlite", *ON_SHELF), _beside),
    "back-up": Scene(("shelf", "back-up", "copy.sqlite", *ON_SHELF), _beside, "copy.sqlite"),
    "migration": Scene(
        ("shelf", "retire", "K7Q-XM3", *ON_SHELF),
        lambda folder: old_shelf(folder / "shelf.sqlite", 4, VERSION_4.read_text("utf-8")),
    ),
    "recolour": Scene(
        ("recolour", "card.pdf", "new.pdf", "--swap", "cmyk 75 20 80 10 = cmyk 60 5 70 0"),
        _order,
        shelf=None,
        compared=("new.pdf",),
    ),
    "page": Scene(PAGE, _page, "tags/shelf.sqlite", compared=("tags/order.yaml", "tags/out")),
}


def kill_often(scene: Scene, times: int, folder: Path) -> int:
    """Kill a command at so many of its steps, evenly spread. Return how many it has.

    Raises AssertionError for what is not whole, or not the same in the end.
    """
    start = folder / "start"
    start.mkdir()
    with patch.dict(os.environ, {USER_FOLDER: str(start / USER)}):
        scene.prepare(start)
    sheet = start / "sheet"
    words = [sheet.read_text() if it == "SHEET" else it for it in scene.words]
    undisturbed = _copy(start, folder / "undisturbed")
    steps = in_child(words, undisturbed)
    assert steps > 0, "the command makes no step"
    asked = scene.state(undisturbed)
    for at in sorted({steps * n // times for n in range(times)}):
        place = _copy(start, folder / "killed")
        assert in_child(words, place, at) == -1, f"it was not killed at step {at} of {steps}"
        if scene.shelf and (place / scene.shelf).exists():
            _kept(place / scene.shelf)
        in_child(words, place)
        assert scene.state(place) == asked, f"killed at step {at} of {steps}"
    return steps


def _copy(start: Path, target: Path) -> Path:
    shutil.rmtree(target, ignore_errors=True)
    shutil.copytree(start, target)
    return target


@click.command()
@click.option("--times", default=200, help="Kills of each command, or as many as it has steps.")
@click.argument("names", nargs=-1, type=click.Choice(list(SCENES)))
def main(times: int, names: tuple[str, ...]) -> None:
    """Kill every command that writes, or those of NAMES."""
    for name in names or SCENES:
        with tempfile.TemporaryDirectory() as folder:
            steps = kill_often(SCENES[name], times, Path(folder))
        click.echo(f"{name:10} whole and the same after {min(times, steps)} kills, {steps} steps")


if __name__ == "__main__":
    main()
