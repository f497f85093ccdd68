"""``inkaccord deck``."""

import datetime
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from inkaccord.cli.anywhere import takes
from inkaccord.cli.pairs import (
    APERTURE,
    DRIVE,
    INTO,
    MARGIN,
    SIZE,
    know,
    parse_size_option,
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
from inkaccord.colour.arrays import Lab

if TYPE_CHECKING:
    from inkaccord.colour.pairs import Pair
    from inkaccord.knowledge.pairs import PairKnowledge
    from inkaccord.sheets.model import SampleSheet
    from inkaccord.sheets.planning.deck import Deck
    from inkaccord.sheets.saving import Keeping
    from inkaccord.sheets.settings import SheetFormat, SheetSettings
    from inkaccord.shelf.store import Shelf
    from inkaccord.sizes import Size


@click.command("deck")
@click.argument("pair", metavar="PAIR", callback=parse_pair)
@click.option(
    "--count",
    type=click.IntRange(1, 5000),
    help="How many swatches: 100 to 5,000; an addition may have fewer.  [default: 500]",
)
@click.option(
    "--apart",
    type=click.FloatRange(0, min_open=True),
    metavar="ΔE00",
    help="No two colours closer than this.",
)
@click.option(
    "--hues", metavar="WORD", help="Only colours of this range: reds, yellow greens, blues …"
)
@click.option("--name", help="What the deck is called.  [default: house deck]")
@click.option(
    "--add-to",
    "add_to",
    metavar="SHEET",
    help="Make an addition to this deck: only what it and its earlier additions lack.",
)
@click.option("--whole", is_flag=True, help="With --add-to: one file of the deck and additions.")
@SIZE
@MARGIN
@APERTURE
@click.option(
    "--keep",
    type=click.Choice(["loose", "binder", "cards"]),
    default="loose",
    show_default=True,
    help="Loose pages, pages with guides for a punch, or cards on a ring with their cut plan.",
)
@click.option(
    "--holes",
    type=click.Choice(["two", "three", "four"]),
    default="two",
    show_default=True,
    help="Of the binder.",
)
@click.option(
    "--card", callback=parse_size_option, default="a6", show_default=True, help="Size of the cards."
)
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
@click.option(
    "--on", "day", type=DAY, callback=parse_day, help="The deck's date.  [default: today]"
)
@INTO
@takes("order", "shelf")
@JSON
@pass_settings
def command(settings: Settings, /, *, as_json: bool, **asked: Any) -> None:
    """Make a deck for PAIR (device@stock): its whole range in swatches, evenly spaced.

    What the pair prints is taken from its readings on the shelf; a pair that was never read gets
    a deck spaced by what is usual. The deck goes on the shelf and is recorded like any sheet.
    """
    options = _Options(**asked)
    from inkaccord.sheets.saving import deck_files, save_files
    from inkaccord.sheets.settings import paper_findings
    from inkaccord.shelf.register import remember
    from inkaccord.shelf.store import Shelf

    with Shelf.open(find_shelf(settings)) as store:
        known = know(
            settings,
            store,
            options.pair,
            drive=options.drive,
            ink_limit=options.ink_limit,
            paper=options.paper,
        )
        strange = stranger_findings(settings, store, known)
        with settings.working("choosing colours"):
            sizes = sizes_on(settings, options.aperture, float(known.model.paper_lab[0]))
            base, made = _make(store, known, options, sizes)
        new = store.add_sheet(made.sheet)
        remember(store.path)
    # What the foot says of one part's spacing doesn't hold for the whole.
    whole = options.whole and base
    drawn, notes = ((*base, made.sheet), ()) if whole else ((made.sheet,), (made.note,))
    files = deck_files(drawn, options.page, options.keeping, notes=notes)
    paths = save_files(files, options.out)
    dark = paper_findings(made.sheet.pair.stock, known.model.paper_lab[0])
    findings = (*strange, *dark)
    swatches = sum(not swatch.control for swatch in made.sheet.swatches)
    if as_json:
        print_json(
            {
                "exit_code": 0,
                "sheet": made.sheet.id,
                "pair": str(made.sheet.pair),
                "name": made.sheet.order,
                "adds_to": [sheet.id for sheet in base],
                "swatches": swatches,
                "pages": made.sheet.pages,
                "min_delta_e": round(made.min_delta_e, 3),
                "spaced_by": "readings" if known.is_read else "what is usual",
                "new": new,
                "files": [str(path) for path in paths],
                "findings": [it.model_dump(mode="json") for it in findings],
            }
        )
        return
    show_findings(settings.screen, findings)
    what = f"Addition {made.sheet.id} to {base[0].id}" if base else f"Deck {made.sheet.id}"
    settings.screen.print(
        f"{what} for {made.sheet.pair}: {swatches} swatches on {made.sheet.pages} "
        f"{'page' if made.sheet.pages == 1 else 'pages'}. {made.note}",
        soft_wrap=True,
    )
    if not known.is_read:
        settings.screen.print("Nothing is read of this pair yet: spaced by what is usual.")
    for path in paths:
        settings.screen.print(f"  {path}", soft_wrap=True)
    settings.screen.print(
        f"Next: print it, read it, and {to_record(settings, made.sheet.id)}", soft_wrap=True
    )


@dataclass(frozen=True)
class _Options:
    """What was asked for, as it stands on the command line."""

    pair: "Pair"
    count: int | None
    apart: float | None
    hues: str | None
    name: str | None
    add_to: str | None
    whole: bool
    size: "Size"
    margin: float
    aperture: float | None
    keep: str
    holes: str
    card: "Size"
    drive: str | None
    ink_limit: float | None
    paper: Lab | None
    day: datetime.date
    out: Path

    @property
    def page(self) -> "SheetFormat":
        """The page that the device takes."""
        from inkaccord.sheets.settings import Edges, SheetFormat

        return SheetFormat(size=self.size, unprintable=Edges.all(self.margin))

    @property
    def keeping(self) -> "Keeping":
        """How the deck is kept."""
        from inkaccord.sheets.drawing.binder import Binder, Holes
        from inkaccord.sheets.drawing.cards import RingCards

        if self.keep == "binder":
            return Binder(holes=Holes(self.holes))
        return RingCards(size=self.card) if self.keep == "cards" else None


def _make(
    store: "Shelf", known: "PairKnowledge", options: _Options, sizes: "SheetSettings"
) -> tuple[tuple["SampleSheet", ...], "Deck"]:
    """Return the sheets that the deck adds to, and the deck."""
    from inkaccord.colour.sampling.even_set import Spacing
    from inkaccord.knowledge.deck import deck_on_shelf, told_paper
    from inkaccord.sheets.planning.deck import make_deck
    from inkaccord.sheets.planning.deck_order import hue_region
    from inkaccord.sheets.saving import deck_page

    base = deck_on_shelf(store, options.add_to) if options.add_to else ()
    count = options.count or (None if options.apart else 500)
    made = make_deck(
        known.pair,
        known.model,
        deck_page(options.page, options.keeping),
        Spacing(count=count, min_delta_e=options.apart),
        known.policy,
        name=options.name or (base[0].order if base else "house deck"),
        date=options.day,
        region=hue_region(options.hues) if options.hues else None,
        base=base,
        settings=sizes,
        paper_lab=None if known.is_read else options.paper or told_paper(base),
    )
    return base, made
