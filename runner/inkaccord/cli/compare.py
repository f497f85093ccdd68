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
    from inkaccord.sheets.model import SampleSheet
    from inkaccord.sheets.scan.scanned import Comparison


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
    found = compare(first, second)
    rows = [_row(compared, sheets[0]) for compared in found]
    controls = [row["delta_e_00"] for row in rows if row["control"]]
    told = {
        "sheets": [sheet.id for sheet in sheets],
        "swatches": len(rows),
        "median": _median([row["delta_e_00"] for row in rows]),
        "controls": _root_mean_square(controls),
    }
    findings = (*first.findings, *second.findings)
    if as_json:
        print_json(
            {
                "exit_code": 0,
                **told,
                "compared": rows,
                "findings": as_data(findings),
            }
        )
        return
    show_findings(settings.screen, findings)
    if not rows:
        settings.screen.print("The two sheets have no build in common, so nothing compares.")
        return
    listed = table(sheets[0].id, sheets[1].id, "build", "ΔE00", right=("ΔE00",))
    for row in sorted(rows, key=lambda row: -row["delta_e_00"]):
        listed.add_row(row["one"], row["other"], row["build"], f"{row['delta_e_00']:.1f}")
    settings.screen.print(listed)
    of_controls = (
        "" if told["controls"] is None else f", {told['controls']:.1f} over the controls (r.m.s.)"
    )
    settings.screen.print(
        f"{len(rows)} swatches of the same build: {told['median']:.1f} ΔE00 apart (median)"
        f"{of_controls}. Nothing is recorded: this tells how alike the two are, not what colour "
        "they have.",
        soft_wrap=True,
    )


def _row(compared: "Comparison", sheet: "SampleSheet") -> dict[str, Any]:
    swatch = sheet.swatch(compared.one)
    return {
        "one": compared.one,
        "other": compared.other,
        "build": str(swatch.build) if swatch else "",
        "control": bool(swatch and swatch.control),
        "delta_e_00": round(compared.delta_e_00, 2),
    }


def _median(values: list[float]) -> float | None:
    from statistics import median

    return round(median(values), 2) if values else None


def _root_mean_square(values: list[float]) -> float | None:
    return round((sum(v * v for v in values) / len(values)) ** 0.5, 2) if values else None
