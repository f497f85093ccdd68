"""One run of an order for the screen: opened, run, and how to call on the same shelf again."""

from dataclasses import dataclass
from pathlib import Path

from inkaccord.cli.shared import Settings
from inkaccord.cli.shelf_place import same_place, shelf_place, to_run
from inkaccord.pipeline import run_order
from inkaccord.run.record import Run
from inkaccord.shelf.register import remember
from inkaccord.shelf.store import Shelf


@dataclass(frozen=True)
class FinishedRun:
    """A run's record, where its files are, and how the commands that follow are written."""

    run: Run
    where: Path
    same_place: str
    """What a command adds to be about the same order and shelf."""
    again: str
    """The command that runs the order again."""


def run_once(settings: Settings, order: Path, *, out: Path | None) -> FinishedRun:
    """Run an order once."""
    loaded = settings.load(order)
    where = out if out is not None else loaded.folder / "out"
    with (
        settings.working(f"running {loaded.order.order}") as status,
        Shelf.open(shelf_place(settings, loaded)) as store,
    ):

        def progress(text: str) -> None:
            if status is not None:
                status.update(text)
            elif settings.verbose:
                settings.say(text)

        remember(store.path, loaded.order.order, loaded.path)
        run = run_order(loaded, out=where, shelf=store, plugins=settings.loaded, progress=progress)
    return FinishedRun(run, where, same_place(settings, order), to_run(settings, order, out))
