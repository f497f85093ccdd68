"""``inkaccord compare``."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from inkaccord.cli.anywhere import takes
from inkaccord.cli.shared import (
    JSON,
    Settings,
    as_data,
    pass_settings,
    print_json,
    show_findings,
)
from inkaccord.cli.shelf_place import shelf_with
from inkaccord.cli.tables import table

if TYPE_CHECKING:
    from inkaccord.sheets.scan.scanned import SwatchesCompared


@click.command("compare")
@click.argument("one", metavar="SHEET")
@click.argument("other", metavar="SHEET")
@click.argument("file", metavar="SCAN", type=click.Path(path_type=Path, dir_okay=False))
@takes("order", "shelf")
@JSON
@pass_settings
def command(
    settings: Settings,
    one: str,
    other: str,
    file: Path,
    as_json: bool,
) -> None:
    """Compare two sheets that lie on the glass together, swatch by swatch of the same build.

    One scanner sees both alike, so nothing needs to be known of either. It records nothing: the
    distances are rough, and hold within this one scan only.
    """
    from inkaccord.sheets.scan.picture import load_pictures
    from inkaccord.sheets.scan.scanned import compare, scan_sheet
    from inkaccord.shelf.store import Shelf

    with Shelf.open(shelf_with(settings, one)) as store:
        sheets = store.sheet(one), store.sheet(other)
    if sheets[0].id == sheets[1].id:
        raise click.UsageError("name two different sheets")
    pictures = load_pictures(file)
    first, second = (scan_sheet(pictures, sheet) for sheet in sheets)
    compared = compare(first, second)
    typical, controls = compared.median, compared.of_controls
    findings = (*first.findings, *second.findings)
    if as_json:
        print_json(
            {
                "exit_code": 0,
                "sheets": [sheet.id for sheet in sheets],
                "swatches": len(compared.swatches),
                "median": _rounded(typical),
                "controls": _rounded(controls),
                "compared": [_row(swatches) for swatches in compared.swatches],
                "findings": as_data(findings),
            }
        )
        return
    show_findings(settings.screen, findings)
    if typical is None:
        settings.screen.print("The two sheets have no build in common, so nothing compares.")
        return
    listed = table(sheets[0].id, sheets[1].id, "build", "ΔE00", right=("ΔE00",))
    for swatches in sorted(compared.swatches, key=lambda swatches: -swatches.delta_e_00):
        one_id, other_id, build = swatches.one.id, swatches.other.id, str(swatches.one.build)
        listed.add_row(one_id, other_id, build, f"{swatches.delta_e_00:.1f}")
    settings.screen.print(listed)
    of_controls = "" if controls is None else f", {controls:.1f} over the controls (r.m.s.)"
    settings.screen.print(
        f"{len(compared.swatches)} swatches of the same build: {typical:.1f} ΔE00 apart (median)"
        f"{of_controls}. Nothing is recorded: this tells how alike the two are, not what colour "
        "they have.",
        soft_wrap=True,
    )


def _row(swatches: "SwatchesCompared") -> dict[str, Any]:
    return {
        "one": swatches.one.id,
        "other": swatches.other.id,
        "build": str(swatches.one.build),
        "control": swatches.one.control,
        "delta_e_00": _rounded(swatches.delta_e_00),
    }


def _rounded(distance: float | None) -> float | None:
    return None if distance is None else round(distance, 2)
