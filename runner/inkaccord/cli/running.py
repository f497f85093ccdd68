"""One run of an order for the screen: opened, run, and how to call on the same shelf again."""

import shlex
from dataclasses import dataclass
from pathlib import Path

from inkaccord.cli.shared import Settings, open_shelf_path
from inkaccord.pipeline import run_order
from inkaccord.record import Run
from inkaccord.shelf.store import Shelf


@dataclass(frozen=True)
class Ran:
    """A run's record, where its files are, and what a command adds to find the same shelf."""

    run: Run
    where: Path
    shelf_option: str


def run_once(settings: Settings, order: Path, *, out: Path | None, shelf: str | None) -> Ran:
    """Run an order once."""
    loaded = settings.load(order)
    where = out if out is not None else loaded.folder / "out"
    with (
        settings.working(f"running {loaded.order.order}") as status,
        Shelf.open(open_shelf_path(shelf, loaded)) as store,
    ):

        def progress(text: str) -> None:
            if status is not None:
                status.update(text)
            elif settings.verbose:
                settings.say(text)

        run = run_order(loaded, out=where, shelf=store, plugins=settings.loaded, progress=progress)
    option = ""
    if shelf:
        option = f" --shelf {shlex.quote(shelf)}"
    elif loaded.order.shelf:
        option = f" --order {shlex.quote(str(order))}"
    return Ran(run, where, option)
