"""``inkaccord new``."""

from pathlib import Path

import click

from inkaccord.cli.shared import JSON, Settings, pass_settings, plain, print_json, today
from inkaccord.words import quoted


@click.command("new")
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@JSON
@pass_settings
def command(settings: Settings, folder: Path, as_json: bool) -> None:
    """Write a starter order into a new folder.

    It holds an order with two pieces, each field explained, and artwork to try it on.
    """
    from inkaccord.starter.order import write_starter

    written = write_starter(folder, today())
    if as_json:
        print_json({"exit_code": 0, "files": [str(path) for path in written]})
        return
    for path in written:
        settings.screen.print(f"wrote {plain(str(path))}", soft_wrap=True)
    settings.screen.print(f"Next: inkaccord run {plain(quoted(str(folder)))}", soft_wrap=True)
