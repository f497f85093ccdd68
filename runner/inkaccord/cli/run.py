"""``inkaccord run``."""

from pathlib import Path

import click

from inkaccord.cli.anywhere import takes
from inkaccord.cli.shared import (
    JSON,
    ORDER_PATH,
    OUT,
    Settings,
    pass_settings,
    print_json,
)


@click.command("run")
@click.argument("orders", metavar="ORDER...", nargs=-1, required=True, type=click.Path())
@OUT
@takes("shelf")
@JSON
@click.option(
    "--watch",
    is_flag=True,
    help="Run again whenever the order, its artwork or the shelf changes. --json: a line a run.",
)
@click.option(
    "--workers",
    type=click.IntRange(1),
    metavar="N",
    help="Worker processes that compute side by side; 1 for none.  [default: as many as there are "
    "processors, where an order has so much to compute that they pay]",
)
@click.option(
    "--cluster",
    metavar="ADDRESS",
    help="Have the workers of a cluster compute instead: tcp://HOST:PORT of its Dask scheduler.",
)
@pass_settings
@click.pass_context
def command(
    ctx: click.Context,
    settings: Settings,
    orders: tuple[str, ...],
    out: Path | None,
    as_json: bool,
    watch: bool,
    workers: int | None,
    cluster: str | None,
) -> int:
    """Do all that can be done for an order now, and say what comes next.

    ORDER is the YAML file, or a folder that holds order.yaml. Files for the vendors, the sample
    sheets to print, the packing list, the report and the record run.json go to the out folder;
    nothing is written anywhere else but on the shelf, and where that is into your user folder.
    Run it again after recording, or after any change: what is done is not done again.

    Of many orders, of a folder that holds orders, and of a quoted pattern ('autumn/*'), each is run
    as if it were alone, and a bad one stops no other. A line for each says where it stands (--json:
    as it ends, and last their sum); the exit code is the worst.
    """
    from inkaccord.engines import own_processes
    from inkaccord.order.finding import orders_named

    if cluster is not None and workers is not None:
        ctx.fail("--workers are processes of this machine: leave them out with --cluster")
    if cluster is None:
        settings.engine = own_processes(workers)
    elif (engine := settings.outside.engine(cluster)) is not None:
        settings.engine = engine
    else:
        ctx.fail(f"no plugin knows of a cluster at '{cluster}': write tcp://HOST:PORT")
    if settings.engine is not None:
        ctx.call_on_close(settings.engine.close)
    many = orders_named(orders)
    if many is not None:
        for given, option in ((out, "--out"), (watch, "--watch")):
            if given:
                ctx.fail(f"{option} is for one order, and {len(many)} are named")
        from inkaccord.cli.many_shown import run_many

        return run_many(settings, many, as_json=as_json)
    order: Path = ORDER_PATH.convert(orders[0], ctx.command.params[0], ctx)
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
