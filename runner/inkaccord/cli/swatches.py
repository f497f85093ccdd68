"""``inkaccord swatches``."""

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
from inkaccord.words import counted

if TYPE_CHECKING:
    from inkaccord.colour.lab import Lab
    from inkaccord.colour.pairs import Pair
    from inkaccord.colour.sampling.ranges import ColourRange
    from inkaccord.sheets.model import SampleSheet
    from inkaccord.shelf.store import Shelf


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
    page: PageAsked,
    keeping: KeepingAsked,
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
    from inkaccord.planning.by_hand import plan_swatch_set, range_near, stranger_findings
    from inkaccord.recording.asked import AskedShelf
    from inkaccord.sheets.drawing.drawn import DrawnSheet
    from inkaccord.sheets.keeping import kept_page
    from inkaccord.sheets.saving import save_files, set_files
    from inkaccord.sheets.settings import paper_findings
    from inkaccord.shelf.store import Shelf

    if hues and near:
        raise click.UsageError("--hues and --near both say which colours: give one of them")
    on = page.page(settings, pair)
    kept = keeping.on(on, settings.named_order)
    with Shelf.open(find_shelf(settings)) as shelf:
        source = AskedShelf(shelf, settings.named_order)
        known = know(settings, shelf, pair, drive=drive, ink_limit=ink_limit, paper=paper)
        strange = stranger_findings(known, shelf.pairs(), settings.named_order)
        base = _whole_set(shelf, add_to) if add_to else ()
        with settings.working("choosing colours"):
            made = plan_swatch_set(
                known,
                kept_page(on, kept),
                day,
                base=base,
                name=name,
                count=count,
                apart=apart,
                only=range_near(known, near, reach, source) if near else hues,
                paper=paper,
                aperture_pt=aperture_for(settings, aperture),
                white_under=white_under(settings, pair),
            )
        sheet = made.sheet
        new = keep_sheet(shelf, sheet)
    # What the foot says of one part's spacing doesn't hold for the whole.
    drawn, notes = ((*base, sheet), ()) if whole and base else ((sheet,), (made.note,))
    pages = [DrawnSheet(part, settings.drawing.draw_sheet(part, notes)) for part in drawn]
    paths = save_files(set_files(pages, on, kept, notes=notes), out)
    swatches = sum(not swatch.control for swatch in sheet.swatches)
    what = f"Addition {sheet.id} to {base[0].id}" if base else f"Swatch set {sheet.id}"
    words = [
        f"{what} for {sheet.pair}: {counted(swatches, 'swatch')} on "
        f"{counted(sheet.pages, 'page')}. {made.note}"
    ]
    if not known.is_read:
        words.append(
            "Nothing is read of this pair yet: spaced by what is usual on paper of CIELAB "
            f"{known.paper[0]:g} {known.paper[1]:g} {known.paper[2]:g}."
        )
    show_sheet(
        settings,
        sheet,
        paths,
        (
            *strange,
            *paper_findings(sheet.pair.stock, known.model.paper_lab[0]),
            *settings.drawing.findings,
        ),
        words=words,
        as_json=as_json,
        name=sheet.order,
        adds_to=[part.id for part in base],
        swatches=swatches,
        pages=sheet.pages,
        min_delta_e=round(made.min_delta_e, 3),
        spaced_by="readings" if known.is_read else "what is usual",
        new=new,
    )


def _whole_set(shelf: "Shelf", sheet_id: str) -> "tuple[SampleSheet, ...]":
    """Return the set that a sheet belongs to, with its additions."""
    from inkaccord.knowledge.swatch_set import swatch_set_of

    asked = shelf.sheet(sheet_id)
    return swatch_set_of(asked, [kept.sheet for kept in shelf.sheets(asked.pair)])
