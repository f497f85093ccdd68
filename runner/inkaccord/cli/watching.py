"""``inkaccord run --watch``: run again when a file of the order changes."""

import time
from collections.abc import Iterable, Mapping
from pathlib import Path

from inkaccord.cli.one_run import FinishedRun, overtaken, run_once
from inkaccord.cli.run_summary import show_run
from inkaccord.cli.shared import Settings, print_json, show_failure
from inkaccord.cli.shelf_place import shelf_place
from inkaccord.errors import ExitCode, InkaccordError
from inkaccord.order.diary import diary_of
from inkaccord.order.inputs import OrderInputs

PAUSE_S = 0.7
"""Between two looks. Looking costs a few stat calls, so no watcher service is needed."""


def watch_order(settings: Settings, order: Path, *, out: Path | None, as_json: bool) -> int:
    """Run an order now and after every change, until interrupted."""
    code = int(ExitCode.DONE)
    last: FinishedRun | None = None
    try:
        while True:
            files, shelf_files = watched(settings, order)
            before = stamps(files)  # what is changed while the run goes on is not missed
            try:
                ran = run_once(settings, order, out=out)
            except InkaccordError as problem:
                show_failure(problem, as_json=as_json, lines=False)
                code, last = int(problem.exit_code), None
            else:
                _show(settings, ran, last, as_json=as_json)
                code, last = int(ran.run.exit_code), ran
            before |= stamps(shelf_files)  # the run itself writes there
            if last is not None and overtaken(settings, order, last):
                settings.say("\nSomething was changed or recorded meanwhile. Running again.")
                continue
            settings.say("Watching. Stop with Ctrl-C.")
            changed = wait_for_change([*files, *shelf_files], before)
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
    files: list[Path], before: Mapping[Path, int], pause_s: float = PAUSE_S
) -> list[Path]:
    """Wait until a file differs from what was seen before, and then until all of them rest.

    A program that saves a file may write it in several goes; what is half written isn't run.
    """
    seen: Mapping[Path, int] = {}
    while True:
        now = stamps(files)
        if now != before and now == seen:
            return _differing(before, now)
        seen = now
        time.sleep(pause_s)


def watched(settings: Settings, order: Path) -> tuple[list[Path], list[Path]]:
    """Return the files that a run depends on, and those of the shelf, which it also writes."""
    try:
        loaded = settings.load(order)
    except InkaccordError:  # a broken order is watched alone until it is mended
        return [order / "order.yaml" if order.is_dir() else order], []
    files = [*OrderInputs.of(loaded).files(), diary_of(loaded.path)]
    return files, _shelf_files(shelf_place(settings, loaded))


def _shelf_files(location: str) -> list[Path]:
    return [] if "://" in location else [Path(location), Path(f"{location}-wal")]


def stamps(files: Iterable[Path]) -> dict[Path, int]:
    """Return when each file that is there was changed last."""
    return {file: file.stat().st_mtime_ns for file in files if file.exists()}


def _differing(before: Mapping[Path, int], now: Mapping[Path, int]) -> list[Path]:
    both = dict.fromkeys((*before, *now))
    return [file for file in both if before.get(file) != now.get(file)]
