"""``inkaccord controls``."""

import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from inkaccord.cli.anywhere import takes
from inkaccord.cli.by_hand import (
    APERTURE,
    DRIVE,
    INTO,
    KeepingAsked,
    PageAsked,
    aperture_for,
    keep_sheet,
    know,
    show_sheet,
    takes_keeping,
    takes_page,
    white_under,
)
from inkaccord.cli.shared import DAY, JSON, Settings, parse_day, parse_pair, pass_settings
from inkaccord.cli.shelf_place import find_shelf

if TYPE_CHECKING:
    from inkaccord.colour.pairs import Pair


@click.command("controls")
@click.argument("pair", metavar="PAIR", callback=parse_pair)
@takes_page
@takes_keeping
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
    page: PageAsked,
    keeping: KeepingAsked,
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
    from inkaccord.planning.by_hand import plan_controls, stranger_findings
    from inkaccord.sheets.drawing.drawn import DrawnSheet
    from inkaccord.sheets.keeping import kept_page
    from inkaccord.sheets.saving import block_files, save_files, set_files
    from inkaccord.sheets.settings import paper_findings
    from inkaccord.shelf.store import Shelf

    sheets, whole = page.sheets(settings, pair), page.page(settings, pair)
    kept = keeping.on(whole, settings.named_order)
    pages = (kept_page(whole, kept),) if kept else page.pages(settings, pair)
    with Shelf.open(find_shelf(settings)) as shelf:
        known = know(settings, shelf, pair, drive=drive)
        strange = stranger_findings(known, shelf.pairs(), settings.named_order)
        sheet = plan_controls(
            known,
            pages,
            day,
            aperture_pt=aperture_for(settings, aperture),
            white_under=white_under(settings, pair),
        )
        new = keep_sheet(shelf, sheet)
    drawn = DrawnSheet(sheet, settings.drawing.draw_sheet(sheet, ()))
    files = set_files([drawn], whole, kept) if kept else block_files(drawn, sheets)
    paths = save_files(files, out)
    words = [f"Sheet {sheet.id} of the controls for {sheet.pair}."]
    if known.now is None:
        words.append(
            "Nothing is read of this pair yet, so there is nothing to compare it with so far."
        )
    show_sheet(
        settings,
        sheet,
        paths,
        (
            *strange,
            *paper_findings(sheet.pair.stock, known.paper_lightness),
            *settings.drawing.findings,
        ),
        words=words,
        as_json=as_json,
        swatches=len(sheet.swatches),
        pages=sheet.pages,
        new=new,
    )
