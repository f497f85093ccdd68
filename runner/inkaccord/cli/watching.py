"""``inkaccord run --watch``: run again when a file of the order, or what the shelf has, changes."""

import time
from collections.abc import Callable, Iterable
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from inkaccord.cli.one_run import FinishedRun, overtaken, run_once
from inkaccord.cli.run_summary import show_run
from inkaccord.cli.shared import Settings, print_json, show_failure
from inkaccord.cli.shelf_place import shelf_place
from inkaccord.errors import ExitCode, FileError, InkaccordError
from inkaccord.order.diary import diary_of
from inkaccord.order.inputs import OrderInputs
from inkaccord.shelf.place import Server, ShelfPlace, place_of

if TYPE_CHECKING:
    from inkaccord.colour.pairs import Pair
    from inkaccord.shelf.store import Shelf

PAUSE_S = 0.7
"""Between two looks. Looking costs a few stat calls, so no watcher service is needed."""
SERVER_S = 3.0
"""Between two questions to a shelf's server: six queries by index, on a connection kept open."""
_SHELF = Path("the shelf")
"""Stands for a shelf on a server where files stand."""

Stamps = dict[Path, int | str]
"""Tells what state each file that is there is in; what is not there is left out."""


def watch_order(settings: Settings, order: Path, *, out: Path | None, as_json: bool) -> int:
    """Run an order now and after every change, until interrupted."""
    code = int(ExitCode.DONE)
    last: FinishedRun | None = None
    try:
        while True:
            files, shelf = watched(settings, order)
            before = stamps(files)  # what is changed while the run goes on is not missed
            try:
                ran = run_once(settings, order, out=out)
            except InkaccordError as problem:
                show_failure(problem, as_json=as_json, lines=False)
                code, last = int(problem.exit_code), None
            else:
                _show(settings, ran, last, as_json=as_json)
                code, last = int(ran.run.exit_code), ran
            with closing(shelf):
                before |= shelf.stamps()  # the run itself writes there
                if last is not None and overtaken(settings, order, last):
                    settings.say("\nSomething was changed or recorded meanwhile. Running again.")
                    continue
                settings.say("Watching. Stop with Ctrl-C.")
                changed = wait_for_change(files, shelf, before)
            settings.say(f"\nChanged: {', '.join(file.name for file in changed)}. Running again.")
    except KeyboardInterrupt:
        return code


def _show(settings: Settings, ran: FinishedRun, last: FinishedRun | None, *, as_json: bool) -> None:
    if as_json:
        print_json(ran.run.model_dump(mode="json"), lines=False)
    elif last is not None and last.run == ran.run:
        settings.say("It makes no difference.")
    else:
        show_run(settings, ran)


def wait_for_change(
    files: list[Path], shelf: "WatchedShelf", before: Stamps, pause_s: float = PAUSE_S
) -> list[Path]:
    """Wait until a file differs from what was seen before, and then until all of them rest.

    A program that saves a file may write it in several goes; what is half written isn't run.
    """
    seen: Stamps = {}
    while True:
        now = stamps(files) | shelf.stamps()
        if now != before and now == seen:
            return _differing(before, now)
        seen = now
        time.sleep(pause_s)


def watched(settings: Settings, order: Path) -> tuple[list[Path], "WatchedShelf"]:
    """Return the files that a run depends on, and the shelf, which it also writes."""
    try:
        loaded = settings.load(order)
        place = place_of(shelf_place(settings, loaded))
    except InkaccordError:  # a broken order is watched alone until it is mended
        return [order / "order.yaml" if order.is_dir() else order], WatchedShelf(None)
    inputs = OrderInputs.of(loaded)
    files = [*inputs.files(), diary_of(loaded.path)]
    return files, WatchedShelf(place, inputs.pairs, settings.say)


@dataclass
class WatchedShelf:
    """A shelf that is looked at now and then: its file, or what its server has of some pairs.

    While a server does not answer it is as it was seen last, and that is said once.
    """

    place: ShelfPlace | None
    pairs: tuple["Pair", ...] = ()
    say: Callable[[str], None] = lambda _: None
    _open: "Shelf | None" = None
    _seen: Stamps = field(default_factory=dict)
    _next: float = 0.0
    _answers: bool = True

    def stamps(self) -> Stamps:
        """Return what state it is in; a server is asked where that is due."""
        if isinstance(self.place, Path):
            return stamps([self.place, Path(f"{self.place}-wal")])
        if self.place is not None and time.monotonic() >= self._next:
            try:
                self._seen = {_SHELF: self._asked(self.place)}
            except FileError as problem:
                if self._answers:
                    self.say(f"{problem.findings[0].message}. It is asked again until it answers.")
                self._answers = False
            else:
                self._answers = True
            self._next = time.monotonic() + SERVER_S
        return self._seen

    def close(self) -> None:
        """End the connection to a server."""
        if self._open is not None:
            self._open.close()
            self._open = None

    def _asked(self, server: Server) -> str:
        if self._open is None:
            from inkaccord.shelf.store import Shelf

            self._open = Shelf.open(server)
        return self._open.state_of(self.pairs).digest()


def stamps(files: Iterable[Path]) -> Stamps:
    """Return when each file that is there was changed last."""
    return {file: file.stat().st_mtime_ns for file in files if file.exists()}


def _differing(before: Stamps, now: Stamps) -> list[Path]:
    both = dict.fromkeys((*before, *now))
    return [file for file in both if before.get(file) != now.get(file)]
