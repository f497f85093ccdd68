"""``inkaccord controls``."""

import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from inkaccord.cli.anywhere import takes
from inkaccord.cli.by_hand import APERTURE, DRIVE, INTO, show_sheet, takes_keeping, takes_page
from inkaccord.cli.shared import DAY, JSON, Settings, parse_day, parse_pair, pass_settings
from inkaccord.cli.shelf_place import find_shelf

if TYPE_CHECKING:
    from inkaccord.colour.pairs import Pair
    from inkaccord.planning.on_request import KeepingAsked, PageAsked


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
    page: "PageAsked",
    keeping: "KeepingAsked",
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
    from inkaccord.planning.on_request import SheetAsked, make_controls
    from inkaccord.recording.asked import AskedShelf
    from inkaccord.shelf.store import Shelf

    asked = SheetAsked(pair, day, page, keeping, aperture, drive)
    with Shelf.open(find_shelf(settings)) as shelf:
        made = make_controls(
            AskedShelf(shelf, settings.named_order), settings.drawing.draw_sheet, asked
        )
    show_sheet(settings, made, out, as_json=as_json, swatches=len(made.sheet.swatches))
