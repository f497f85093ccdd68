"""``inkaccord plugins``."""

from pathlib import Path

import click

from inkaccord.cli.shared import (
    JSON,
    Settings,
    as_data,
    pass_settings,
    plain,
    print_json,
    show_findings,
)
from inkaccord.cli.tables import Name, table
from inkaccord.words import quoted


@click.group("plugins", invoke_without_command=True)
@JSON
@click.pass_context
@pass_settings
def command(settings: Settings, ctx: click.Context, as_json: bool) -> None:
    """List the plugins, or start one of your own.

    Without a further word: every plugin, where it comes from and which hooks it answers.
    """
    if ctx.invoked_subcommand is not None:
        return
    loaded = settings.loaded
    infos = loaded.infos()
    kinds = loaded.vendor_kinds()
    if as_json:
        print_json(
            {
                "plugins": [vars(info) for info in infos],
                "vendor_kinds": {name: kind.summary for name, kind in kinds.items()},
                "findings": as_data(loaded.findings),
            }
        )
        return
    listed = table("plugin", "from", "version", "answers")
    for info in infos:
        hooks = ", ".join(hook.removeprefix("inkaccord_") for hook in info.hooks)
        listed.add_row(Name(info.name), info.origin, plain(info.version), hooks)
    settings.screen.print(listed)
    settings.screen.print()
    offered = table("kind of vendor", "what it is")
    for name, kind in sorted(kinds.items()):
        offered.add_row(plain(name), plain(kind.summary))
    settings.screen.print(offered)
    show_findings(settings.aside, loaded.findings)


@command.command("new")
@click.argument("name")
@click.option(
    "--in",
    "folder",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path(),
    help="Where to make its folder.  [default: here]",
)
@JSON
@pass_settings
def new(settings: Settings, name: str, folder: Path, as_json: bool) -> None:
    """Write a working plugin: a kind of vendor, with its test and its docs.

    NAME is short, in small letters and hyphens, such as corner-shop.
    """
    from inkaccord.starter.plugin import write_plugin

    home = write_plugin(folder, name)
    if as_json:
        print_json({"exit_code": 0, "folder": str(home)})
        return
    settings.screen.print(f"wrote {plain(str(home))}", soft_wrap=True)
    settings.screen.print("Next:")
    place = quoted(str(home))
    for step in (f"pip install -e {place}", "inkaccord plugins", f"pytest {place}"):
        settings.screen.print(f"    [cyan]{plain(step)}[/]", soft_wrap=True)
