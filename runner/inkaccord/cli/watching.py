"""``inkaccord run --watch``: run again when a file of the order changes."""

import time
from collections.abc import Iterable
from pathlib import Path

from inkaccord.cli.run_summary import show_run
from inkaccord.cli.running import run_once
from inkaccord.cli.shared import Settings, open_shelf_path, print_json, show_failure
from inkaccord.errors import ExitCode, InkaccordError

PAUSE_S = 0.7
"""Between two looks. Looking costs a few stat calls, so no watcher service is needed."""


def watch_order(
    settings: Settings, order: Path, *, out: Path | None, shelf: str | None, as_json: bool
) -> int:
    """Run an order now and after every change, until interrupted."""
    code = int(ExitCode.DONE)
    try:
        while True:
            try:
                ran = run_once(settings, order, out=out, shelf=shelf)
                if as_json:
                    print_json(ran.run.model_dump(mode="json"), lines=False)
                else:
                    show_run(settings, ran)
                code = int(ran.run.exit_code)
            except InkaccordError as problem:
                show_failure(problem, as_json=as_json, lines=False)
                code = int(problem.exit_code)
            settings.say("Watching. Stop with Ctrl-C.")
            # Which files matter changes only with the order, so it is asked once a round.
            files = _watched(settings, order, shelf)
            seen = _stamps(files)
            while _stamps(files) == seen:
                time.sleep(PAUSE_S)
    except KeyboardInterrupt:
        return code


def _watched(settings: Settings, order: Path, shelf: str | None) -> list[Path]:
    """Return the files that a run depends on; folders of evidence too, for what is put there."""
    files = [order / "order.yaml" if order.is_dir() else order]
    try:
        loaded = settings.load(order)
    except InkaccordError:
        return files  # a broken order is watched alone until it is mended
    files += [loaded.folder / piece.artwork for piece in loaded.order.pieces.values()]
    if loaded.order.evidence:
        evidence = loaded.folder / loaded.order.evidence
        files += [evidence, *sorted(evidence.rglob("*"))]
    location = open_shelf_path(shelf, loaded)
    if "://" not in location:
        files += [Path(location), Path(f"{location}-wal")]
    return files


def _stamps(files: Iterable[Path]) -> dict[Path, int]:
    """Return when each file that is there was changed last."""
    return {file: file.stat().st_mtime_ns for file in files if file.exists()}
