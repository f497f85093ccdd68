"""``inkaccord diff``."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from inkaccord.cli.anywhere import takes
from inkaccord.cli.shared import JSON, ORDER_PATH, Settings, pass_settings, plain, print_json
from inkaccord.words import counted

if TYPE_CHECKING:
    from rich.console import Console

    from inkaccord.report.between import OrderSide
    from inkaccord.run.differing import RunDifferences


@click.command("diff")
@click.argument("before", metavar="BEFORE", type=ORDER_PATH)
@click.argument("now", metavar="NOW", type=ORDER_PATH)
@takes("shelf")
@JSON
@pass_settings
def command(settings: Settings, before: Path, now: Path, as_json: bool) -> None:
    """Say what was changed between two orders, or between two runs of one.

    Each is an order (its YAML file, or a folder that holds order.yaml) as it was last run, or the
    run.json of an earlier run that was kept. Said are the pieces and their numbers; every build
    that is another, and why as far as the records tell: new readings, drift, another aim; and the
    print files of which the bytes are others. Nothing is written.
    """
    from inkaccord.report.between import between

    sides = [_side(settings, path) for path in (before, now)]
    for side in sides:
        if side.changed_since:
            settings.say(f"{side.name} was changed since its last run, which is what is compared.")
    found = between(*sides)
    if as_json:
        print_json({"exit_code": 0, "none": found.none, **found.model_dump(mode="json")})
        return
    _show(settings.screen, found)


def _side(settings: Settings, path: Path) -> "OrderSide":
    from inkaccord.cli.one_run import load_with_book
    from inkaccord.out_folder import OutFolder
    from inkaccord.recording.places import out_of
    from inkaccord.report.between import OrderSide, kept_run, order_side

    if path.suffix.lower() == ".json":
        return OrderSide(str(path), kept_run(path))
    loaded = load_with_book(settings, path)
    return order_side(loaded, OutFolder(out_of(loaded)).previous, str(path))


def _show(screen: "Console", found: "RunDifferences") -> None:
    if found.none:
        same = counted(found.same_files, "print file")
        files = f", and {same} of the same bytes" if found.same_files else ""
        screen.print(f"Nothing was changed: the same pieces, the same builds{files}.")
        return
    for title, lines in found.parts:
        screen.print(f"[bold]{title}[/]")
        for line in lines:
            screen.print(f"  {plain(line)}", soft_wrap=True)
