"""``inkaccord check``."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from inkaccord.cli.shared import (
    JSON,
    ORDER,
    Settings,
    as_data,
    pass_settings,
    plain,
    print_json,
    show_findings,
)
from inkaccord.cli.tables import Name, table

if TYPE_CHECKING:
    from rich.console import Console

    from inkaccord.order.model import Order


@click.command("check")
@ORDER
@JSON
@pass_settings
def command(settings: Settings, order: Path, as_json: bool) -> None:
    """Check an order file, and say everything that is wrong with it.

    ORDER is the YAML file, or a folder that holds order.yaml. Nothing is written. The artwork
    must be there, open, and be as large as its piece; pieces must fit their sheets. No readings
    are needed. A run fails the pieces that are named here, and makes the others.
    """
    from inkaccord.foresight.ahead import check_whole
    from inkaccord.words import counted, quoted

    loaded = settings.load(order)
    findings = (*settings.outside.findings, *loaded.findings, *check_whole(loaded))
    taken = loaded.order
    if as_json:
        print_json(
            {
                "exit_code": 0,
                "order": taken.order,
                "pairs": [str(pair) for pair in taken.pairs()],
                "findings": as_data(findings),
            }
        )
        return
    if not settings.quiet:
        _show_order(settings.screen, taken)
    show_findings(settings.screen, findings)
    settings.screen.print(
        f"{taken.order} is in order: {counted(len(taken.pieces), 'piece')}, "
        f"{counted(len(taken.colours), 'colour')}, {counted(len(taken.pairs()), 'pair')} of device "
        "and stock.\n"
        f"Next: inkaccord run {plain(quoted(str(order)))}",
        soft_wrap=True,
    )


def _show_order(screen: "Console", order: "Order") -> None:
    """Show what the order was taken to mean."""
    pieces = table("piece", "trim", "on", "vendor", "pieces", right=("pieces",))
    for name, job in order.jobs.items():
        pieces.add_row(
            Name(name),
            plain(str(job.piece.trim)),
            Name(str(job.pair)),
            Name(job.vendor_name),
            f"{job.quantity}+{job.overs}" if job.overs else str(job.quantity),
        )
    colours = table("colour", "aim", "in the artwork")
    for name, colour in order.colours.items():
        written = ", ".join(str(paint) for paint in colour.in_artwork)
        colours.add_row(Name(name), plain(colour.aim.words), plain(written))
    for shown in (pieces, colours):
        screen.print(shown)
        screen.print()
