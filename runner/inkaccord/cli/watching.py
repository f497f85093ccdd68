"""``inkaccord run --watch``: run again when a file of the order changes."""

import time
from pathlib import Path

from inkaccord.cli.run import run_once, shelf_option
from inkaccord.cli.run_summary import show_run
from inkaccord.cli.shared import Settings, open_shelf_path, show_failure
from inkaccord.errors import ExitCode, InkaccordError

PAUSE_S = 0.7
"""Between two looks. Looking costs a few stat calls, so no watcher service is needed."""


def watch_order(settings: Settings, order: Path, *, out: Path | None, shelf: str | None) -> int:
    """Run an order now and after every change, until interrupted."""
    code = int(ExitCode.DONE)
    seen: dict[Path, int] = {}
    try:
        while True:
            now = _stamps(settings, order, shelf)
            if now != seen:
                try:
                    run, where = run_once(settings, order, out=out, shelf=shelf)
                    show_run(settings, run, where, shelf_option(settings, order, shelf))
                    code = int(run.exit_code)
                except InkaccordError as problem:
                    show_failure(problem, as_json=False)
                    code = int(problem.exit_code)
                seen = _stamps(settings, order, shelf)
                settings.say("Watching. Stop with Ctrl-C.")
            time.sleep(PAUSE_S)
    except KeyboardInterrupt:
        return code


def _stamps(settings: Settings, order: Path, shelf: str | None) -> dict[Path, int]:
    """Return when each file that matters was changed last."""
    path = order / "order.yaml" if order.is_dir() else order
    files = [path]
    try:
        loaded = settings.load(order)
    except InkaccordError:
        loaded = None  # a broken order is watched alone until it is mended
    if loaded is not None:
        files += [loaded.folder / piece.artwork for piece in loaded.order.pieces.values()]
        if loaded.order.evidence:
            files += sorted((loaded.folder / loaded.order.evidence).rglob("*"))
        location = open_shelf_path(shelf, loaded)
        if "://" not in location:
            files += [Path(location), Path(f"{location}-wal")]
    return {file: file.stat().st_mtime_ns for file in files if file.exists()}
