"""``inkaccord run``."""

from pathlib import Path

import click

from inkaccord.cli.anywhere import takes
from inkaccord.cli.shared import (
    JSON,
    ORDER,
    OUT,
    Settings,
    pass_settings,
    print_json,
)


@click.command("run")
@ORDER
@OUT
@takes("shelf")
@JSON
@click.option(
    "--watch",
    is_flag=True,
    help="Run again whenever the order, its artwork or the shelf changes. --json: a line a run.",
)
@pass_settings
def command(
    settings: Settings,
    order: Path,
    out: Path | None,
    as_json: bool,
    watch: bool,
) -> int:
    """Do all that can be done for an order now, and say what comes next.

    ORDER is the YAML file, or a folder that holds order.yaml. Files for the vendors, the sample
    sheets to print, the packing list, the report and the record run.json go to the out folder;
    nothing is written anywhere else but on the shelf, and where that is into your user folder.
    Run it again after recording, or after any change: what is done is not done again.
    """
    if watch:
        from inkaccord.cli.watching import watch_order

        return watch_order(settings, order, out=out, as_json=as_json)
    from inkaccord.cli.one_run import run_once

    ran = run_once(settings, order, out=out)
    if as_json:
        print_json(ran.run.model_dump(mode="json"))
    else:
        from inkaccord.cli.run_summary import show_run

        show_run(settings, ran)
    return int(ran.run.exit_code)
