"""``inkaccord controls``."""

import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from inkaccord.cli.anywhere import takes
from inkaccord.cli.pairs import (
    APERTURE,
    DRIVE,
    INTO,
    MARGIN,
    SIZE,
    know,
    sizes_on,
    stranger_findings,
)
from inkaccord.cli.shared import (
    DAY,
    JSON,
    Settings,
    parse_day,
    parse_pair,
    pass_settings,
    print_json,
    show_findings,
)
from inkaccord.cli.shelf_place import find_shelf, to_record

if TYPE_CHECKING:
    from inkaccord.colour.pairs import Pair
    from inkaccord.sizes import Size

NAME = "check of the controls"
"""What such a sheet is called where others name their order."""


@click.command("controls")
@click.argument("pair", metavar="PAIR", callback=parse_pair)
@SIZE
@MARGIN
@APERTURE
@DRIVE
@click.option(
    "--on", "day", type=DAY, callback=parse_day, help="The sheet's date.  [default: today]"
)
@INTO
@takes("order", "shelf")
@JSON
@pass_settings
def command(
    settings: Settings,
    pair: "Pair",
    size: "Size",
    margin: float,
    aperture: float | None,
    drive: str | None,
    day: datetime.date,
    out: Path,
    as_json: bool,
) -> None:
    """Make a sheet of the control swatches alone, to see whether PAIR (device@stock) has drifted.

    Twelve swatches: the cheapest way to know. Recorded like any sheet, it says at once how far
    the device has moved. A run asks for it by itself where readings are old.
    """
    from inkaccord.sheets.model import Purpose
    from inkaccord.sheets.planning.blocks import block_pages
    from inkaccord.sheets.planning.plan import plan_sheet
    from inkaccord.sheets.saving import block_files, save_files
    from inkaccord.sheets.settings import (
        Edges,
        SheetFormat,
        paper_findings,
    )
    from inkaccord.shelf.register import remember
    from inkaccord.shelf.store import Shelf

    takes_sheets = (SheetFormat(size=size, unprintable=Edges.all(margin)),)
    with Shelf.open(find_shelf(settings)) as store:
        known = know(settings, store, pair, drive=drive)
        strange = stranger_findings(settings, store, known)
        sheet = plan_sheet(
            known.pair,
            Purpose.CONTROLS,
            [],
            block_pages(takes_sheets),
            drive=known.drive,
            date=day,
            order=NAME,
            settings=sizes_on(settings, aperture, known.paper_lightness),
        )
        assert sheet is not None  # noqa: S101 -- a sheet of controls is never empty
        new = store.add_sheet(sheet)
        remember(store.path)
    paths = save_files(block_files(sheet, takes_sheets), out)
    findings = (*strange, *paper_findings(sheet.pair.stock, known.paper_lightness))
    if as_json:
        print_json(
            {
                "exit_code": 0,
                "sheet": sheet.id,
                "pair": str(sheet.pair),
                "swatches": len(sheet.swatches),
                "pages": sheet.pages,
                "new": new,
                "files": [str(path) for path in paths],
                "findings": [it.model_dump(mode="json") for it in findings],
            }
        )
        return
    show_findings(settings.screen, findings)
    settings.screen.print(f"Sheet {sheet.id} of the controls for {sheet.pair}.")
    if known.now is None:
        settings.screen.print(
            "Nothing is read of this pair yet, so there is nothing to compare it with so far."
        )
    for path in paths:
        settings.screen.print(f"  {path}", soft_wrap=True)
    settings.screen.print(
        f"Next: print it, read it, and {to_record(settings, sheet.id)}", soft_wrap=True
    )
