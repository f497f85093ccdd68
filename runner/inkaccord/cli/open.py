"""``inkaccord open``."""

from pathlib import Path

import click

from inkaccord.cli.anywhere import takes
from inkaccord.cli.shared import Settings, pass_settings


@click.command("open")
@click.argument(
    "opened",
    metavar="[FOLDER|ORDER]",
    default=".",
    type=click.Path(path_type=Path, exists=True),
)
@click.option("--no-browser", is_flag=True, help="Print the address only.")
@click.option(
    "--port",
    default=0,
    type=click.IntRange(0, 65535),
    metavar="NUMBER",
    help="[default: one that is free]",
)
@click.option(
    "--on-network",
    is_flag=True,
    help="Let other devices of the house join, each by a code that the page shows.",
)
@takes("shelf")
@pass_settings
def command(
    settings: Settings, opened: Path, no_browser: bool, port: int, on_network: bool
) -> None:
    """Open orders as a page in the browser of this machine.

    FOLDER holds orders, each in a folder of its own; ORDER is one of them. The address on the first
    line has the key of this start in it: it is for this machine alone. Ctrl-C ends the page. With
    --on-network a telephone or a tablet may join by the code on the second line, unencrypted: do
    that only among people whom you trust.
    """
    from inkaccord.web.running import Commands
    from inkaccord.web.serving import serve
    from inkaccord.web.studio import Studio

    serve(
        Studio(opened.absolute(), settings.drawing, settings.shelf),
        Commands(settings.plugins, settings.shelf),
        port=port,
        open_browser=not no_browser,
        on_network=on_network,
        say=click.echo,
    )
