"""``inkaccord run``."""

import shlex
from pathlib import Path
from typing import TYPE_CHECKING

import click

from inkaccord.cli.shared import (
    JSON,
    ORDER,
    OUT,
    SHELF,
    Settings,
    open_shelf_path,
    pass_settings,
    print_json,
)

if TYPE_CHECKING:
    from inkaccord.record import Run


@click.command("run")
@ORDER
@OUT
@SHELF
@JSON
@click.option("--watch", is_flag=True, help="Run again whenever the order or a file of it changes.")
@pass_settings
def command(
    settings: Settings,
    order: Path,
    out: Path | None,
    shelf: str | None,
    as_json: bool,
    watch: bool,
) -> int:
    """Do all that can be done for an order now, and say what comes next.

    ORDER is the YAML file, or a folder that holds order.yaml. Files for the vendors, the sample
    sheets to print, the packing list, the report and the record run.json go to the out folder;
    nothing is written anywhere else but on the shelf. Run it again after recording, or after any
    change: what is done is not done again.
    """
    if watch:
        from inkaccord.cli.watching import watch_order  # noqa: PLC0415 - only for --watch

        return watch_order(settings, order, out=out, shelf=shelf)
    run, where = run_once(settings, order, out=out, shelf=shelf)
    if as_json:
        print_json(run.model_dump(mode="json"))
    else:
        from inkaccord.cli.run_summary import show_run  # noqa: PLC0415 - not for --json

        show_run(settings, run, where, shelf_option(settings, order, shelf))
    return int(run.exit_code)


def shelf_option(settings: Settings, order: Path, shelf: str | None) -> str:
    """Return what other commands must add to find the shelf that this run used."""
    if shelf:
        return f" --shelf {shlex.quote(shelf)}"
    return f" --order {shlex.quote(str(order))}" if settings.load(order).order.shelf else ""


def run_once(
    settings: Settings, order: Path, *, out: Path | None, shelf: str | None
) -> tuple["Run", Path]:
    """Run an order once; return its record and where its files are."""
    from inkaccord.pipeline import run_order  # noqa: PLC0415 - after parsing
    from inkaccord.shelf.store import Shelf  # noqa: PLC0415 - after parsing

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
    return run, where
