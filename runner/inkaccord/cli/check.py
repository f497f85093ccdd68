"""``inkaccord check``."""

from pathlib import Path

import click

from inkaccord.cli.shared import JSON, ORDER, Settings, pass_settings, print_json, show_findings


@click.command("check")
@ORDER
@JSON
@pass_settings
def command(settings: Settings, order: Path, as_json: bool) -> None:
    """Check an order file, and say everything that is wrong with it.

    ORDER is the YAML file, or a folder that holds order.yaml. Nothing is written. The artwork
    must be there, open, and be as large as its piece.
    """
    from inkaccord.stages.checking import check_order  # noqa: PLC0415 - after parsing

    loaded = settings.load(order)
    findings = (*settings.outside.findings, *loaded.findings, *check_order(loaded))
    it = loaded.order
    if as_json:
        print_json(
            {
                "exit_code": 0,
                "order": it.order,
                "pairs": [str(pair) for pair in it.pairs()],
                "findings": [finding.model_dump(mode="json") for finding in findings],
            }
        )
        return
    show_findings(settings.screen, findings)
    settings.screen.print(
        f"{it.order} is in order: {len(it.pieces)} pieces, {len(it.colours)} colours, "
        f"{len(it.pairs())} pairs of device and stock.\n"
        f"Next: inkaccord run {order}"
    )
