"""``inkaccord new``."""

import datetime
from pathlib import Path

import click

from inkaccord.cli.shared import Settings, pass_settings


@click.command("new")
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@pass_settings
def command(settings: Settings, folder: Path) -> None:
    """Write a starter order into a new folder.

    It holds an order with two pieces, each field explained, and artwork to try it on.
    """
    from inkaccord.starter.order import write_starter  # noqa: PLC0415 - loads reportlab

    today = datetime.datetime.now().astimezone().date()
    for path in write_starter(folder, today):
        settings.screen.print(f"wrote {path}")
    settings.screen.print(f"Next: inkaccord run {folder}")
