"""``inkaccord schema``."""

import click

from inkaccord.cli.shared import Settings, pass_settings, print_json


@click.command("schema")
@click.argument("what", type=click.Choice(["order", "run"]))
@pass_settings
def command(settings: Settings, what: str) -> None:
    """Print the JSON Schema of an order, or of a run's record.

    An editor that reads the first line of the example order offers every field with its meaning;
    the kinds of vendor that plugins add are part of it.
    """
    from inkaccord.order.schema import order_schema
    from inkaccord.run.record import run_schema

    if what == "order":
        print_json(order_schema(settings.outside.vendor_kinds()))
    else:
        print_json(run_schema())
