"""``inkaccord swatches``."""

import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from inkaccord.cli.anywhere import takes
from inkaccord.cli.by_hand import APERTURE, DRIVE, INTO, show_sheet, takes_keeping, takes_page
from inkaccord.cli.shared import DAY, JSON, Settings, parse_day, parse_pair, pass_settings
from inkaccord.cli.shelf_place import find_shelf

if TYPE_CHECKING:
    from inkaccord.colour.lab import Lab
    from inkaccord.colour.pairs import Pair
    from inkaccord.colour.sampling.ranges import ColourRange
    from inkaccord.planning.on_request import KeepingAsked, PageAsked


def parse_range_option(
    _ctx: click.Context, _param: click.Parameter, value: str | None
) -> "ColourRange | None":
    """Read a range of colours from the command line, as a callback of its option."""
    from inkaccord.colour.sampling.ranges import parse_range

    return None if value is None else parse_range(value)


@click.command("swatches")
@click.argument("pair", metavar="PAIR", callback=parse_pair)
@click.option(
    "--count",
    type=click.IntRange(1, 5000),
    help="How many swatches, up to 5,000.  [default: 1,000, or 40 of a range]",
)
@click.option(
    "--apart",
    type=click.FloatRange(0, min_open=True),
    metavar="ΔE00",
    help="No two colours closer than this.",
)
@click.option(
    "--hues",
    callback=parse_range_option,
    metavar="WORDS",
    help="Only colours of this range: greens, browns, 'deep greyed blue greens' …",
)
@click.option(
    "--near",
    metavar="COLOUR",
    help="Only colours like this one: 'cmyk 85 20 60 30' as the pair prints it, or whatever "
    "'inkaccord ask' takes: 'lab 41 -20 8', 'K7Q-XM3/B7', '#2f5d50' …",
)
@click.option(
    "--reach",
    type=click.FloatRange(0, 60, min_open=True),
    default=12.0,
    show_default=True,
    metavar="ΔE00",
    help="With --near: how far from it.",
)
@click.option("--name", help="What the set is called.")
@click.option(
    "--add-to",
    "add_to",
    metavar="SHEET",
    help="Make an addition to this set: only what it and its earlier additions lack.",
)
@click.option("--whole", is_flag=True, help="With --add-to: one file of the set and additions.")
@takes_page
@takes_keeping
@APERTURE
@DRIVE
@click.option(
    "--ink-limit",
    type=click.FloatRange(100, 400),
    metavar="PERCENT",
    help="Total ink that the pair takes.  [default: as the order says, else 300]",
)
@click.option(
    "--paper",
    type=(float, float, float),
    metavar="L A B",
    help="CIELAB of a stock of which nothing is read; remembered for additions.",
)
@click.option("--on", "day", type=DAY, callback=parse_day, help="The set's date.  [default: today]")
@INTO
@takes("order", "shelf")
@JSON
@pass_settings
def command(
    settings: Settings,
    pair: "Pair",
    count: int | None,
    apart: float | None,
    hues: "ColourRange | None",
    near: str | None,
    reach: float,
    name: str | None,
    add_to: str | None,
    whole: bool,
    page: "PageAsked",
    keeping: "KeepingAsked",
    aperture: float | None,
    drive: str | None,
    ink_limit: float | None,
    paper: "Lab | None",
    day: datetime.date,
    out: Path,
    as_json: bool,
) -> None:
    """Make a swatch set for PAIR (device@stock): its whole range in swatches, evenly spaced.

    What the pair prints is taken from its readings on the shelf; a pair that was never read gets
    a swatch set spaced by what is usual. The set goes on the shelf and is recorded like any sheet.
    """
    from inkaccord.planning.on_request import SetAsked, SheetAsked, make_swatches
    from inkaccord.recording.asked import AskedShelf
    from inkaccord.shelf.store import Shelf

    asked = SheetAsked(pair, day, page, keeping, aperture, drive)
    which = SetAsked(count, apart, hues, near, reach, name, add_to, whole, ink_limit, paper)
    with Shelf.open(find_shelf(settings)) as shelf, settings.working("choosing colours"):
        source = AskedShelf(shelf, settings.named_order)
        made = make_swatches(source, settings.drawing.draw_sheet, asked, which)
    assert made.planned is not None  # noqa: S101 -- a swatch set is planned so
    show_sheet(
        settings,
        made,
        out,
        as_json=as_json,
        name=made.sheet.order,
        adds_to=[part.id for part in made.base],
        swatches=sum(not swatch.control for swatch in made.sheet.swatches),
        min_delta_e=round(made.planned.min_delta_e, 3),
        spaced_by="readings" if made.known.is_read else "what is usual",
    )
