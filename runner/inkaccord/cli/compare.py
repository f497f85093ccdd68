"""``inkaccord compare``."""

import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from inkaccord.cli.anywhere import takes
from inkaccord.cli.shared import (
    DAY,
    JSON,
    Settings,
    as_data,
    parse_day,
    pass_settings,
    plain,
    print_json,
    show_findings,
)
from inkaccord.cli.shelf_place import shelf_with
from inkaccord.cli.tables import table
from inkaccord.words import counted

if TYPE_CHECKING:
    from inkaccord.recording.comparing import Comparison
    from inkaccord.sheets.scan.comparing import BroughtTogether, SwatchesCompared


@click.command("compare")
@click.argument("one", metavar="SHEET")
@click.argument("other", metavar="SHEET")
@click.argument("file", metavar="SCAN", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--by", default="", metavar="NAME", help="Who compared.")
@click.option(
    "--on", "day", type=DAY, callback=parse_day, help="When it was scanned.  [default: today]"
)
@takes("order", "shelf")
@JSON
@pass_settings
def command(
    settings: Settings,
    one: str,
    other: str,
    file: Path,
    by: str,
    day: datetime.date,
    as_json: bool,
) -> None:
    """Compare two sheets that lie on the glass together, of one pair or of two.

    One scanner sees both alike, so nothing needs to be read of either. It tells how far apart
    swatches of the same build lie. For each colour that was picked or proofed on the first sheet
    it finds the build that looks like it on the second one's pair, and records that as a pick
    there.
    """
    from inkaccord.recording.comparing import take_in_comparison
    from inkaccord.shelf.store import Shelf

    with Shelf.open(shelf_with(settings, one), by=by) as shelf:
        done = take_in_comparison(
            shelf, one, other, file, today=day, order=settings.named_order, by=by
        )
    if as_json:
        _print_comparison(done)
        return
    show_findings(settings.screen, done.compared.findings)
    _show_swatches(settings, done)
    for brought in done.compared.together:
        _show_together(settings, done, brought)
    kept = f"Recorded {done.new_picks} new {'pick' if done.new_picks == 1 else 'picks'}."
    settings.screen.print(kept if done.new_picks else "Nothing new is recorded.")


def _print_comparison(done: "Comparison") -> None:
    compared = done.compared
    print_json(
        {
            "exit_code": 0,
            "sheets": [sheet.id for sheet in done.sheets],
            "swatches": len(compared.swatches),
            "median": _rounded(compared.median),
            "controls": _rounded(compared.of_controls),
            "bound": _rounded(compared.bound),
            "compared": [_row(swatches) for swatches in compared.swatches],
            "together": [
                {
                    "colour": brought.colour,
                    "build": str(brought.build),
                    "apart": _rounded(brought.apart),
                    "other": str(brought.other),
                    "error": _rounded(brought.likeness.error),
                    "bound": _rounded(brought.likeness.bound),
                    "swatches": list(brought.swatches),
                }
                for brought in compared.together
            ],
            "picks": done.new_picks,
            "findings": as_data(compared.findings),
        }
    )


def _show_swatches(settings: Settings, done: "Comparison") -> None:
    compared, (one, other) = done.compared, done.sheets
    if compared.median is None:
        settings.screen.print("The two sheets have no build in common.")
        return
    listed = table(plain(one.id), plain(other.id), "build", "ΔE00", right=("ΔE00",))
    for swatches in sorted(compared.swatches, key=lambda swatches: -swatches.delta_e_00):
        one_id, other_id, build = swatches.one.id, swatches.other.id, str(swatches.one.build)
        listed.add_row(plain(one_id), plain(other_id), build, f"{swatches.delta_e_00:.1f}")
    settings.screen.print(listed)
    controls = compared.of_controls
    of_controls = "" if controls is None else f", {controls:.1f} over the controls (r.m.s.)"
    settings.screen.print(
        f"{counted(len(compared.swatches), 'swatch')} of the same build: {compared.median:.1f} "
        f"ΔE00 apart (median){of_controls}; each ± {compared.bound:.1f} in 95 of 100 cases.",
        soft_wrap=True,
    )


def _show_together(settings: Settings, done: "Comparison", brought: "BroughtTogether") -> None:
    one, other = done.sheets
    apart = (
        ""
        if brought.apart is None
        else f" The same build there lies {brought.apart:.1f} ΔE00 from it."
    )
    first, *others = brought.swatches
    said = (
        f"{brought.colour}: {brought.build} on {one.pair} looks to the scanner like "
        f"{brought.other} on {other.pair}; to you they lie within {brought.likeness.bound:.1f} "
        f"ΔE00, in 95 of 100 cases.{apart} The eye has the last word: look at {first}, "
        f"{' and '.join(others)} of {other.id}."
    )
    settings.screen.print(plain(said), soft_wrap=True)


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
