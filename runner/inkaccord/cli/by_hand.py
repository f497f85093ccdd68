"""What ``swatches`` and ``controls`` share: options of a page, what is known of a pair, the end."""

import functools
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, fields
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from inkaccord.cli.shared import Settings, as_data, plain, print_json, show_findings
from inkaccord.cli.shelf_place import to_record

if TYPE_CHECKING:
    from inkaccord.colour.lab import Lab
    from inkaccord.colour.pairs import Pair
    from inkaccord.diagnostics import Diagnostic
    from inkaccord.knowledge.pairs import PairKnowledge
    from inkaccord.order.job import Printing
    from inkaccord.order.model import Order
    from inkaccord.sheets.keeping import Keeping
    from inkaccord.sheets.model import SampleSheet
    from inkaccord.sheets.settings import SheetFormat
    from inkaccord.shelf.store import Shelf
    from inkaccord.sizes import Size


def parse_length_option(
    _ctx: click.Context, _param: click.Parameter, value: str | None
) -> float | None:
    """Read a length from the command line, as a callback of its option."""
    from inkaccord.units import parse_length

    try:
        return None if value is None else parse_length(value)
    except ValueError as problem:
        raise click.BadParameter(str(problem)) from problem


def parse_size_option(
    _ctx: click.Context, _param: click.Parameter, value: str | None
) -> "Size | None":
    """Read a size from the command line, as a callback of its option."""
    from inkaccord.sizes import Size

    try:
        return None if value is None else Size.parse(value)
    except ValueError as problem:
        raise click.BadParameter(str(problem)) from problem


@dataclass(frozen=True)
class PageAsked:
    """What a person says of the page; None where nothing is said."""

    size: "Size | None"
    margin: float | None
    bleed: float | None

    def sheets(self, settings: Settings, pair: "Pair") -> "tuple[SheetFormat, ...]":
        """Return the sheets that the pair's device takes."""
        from inkaccord.planning.sample_pages import told_sheets

        return told_sheets(
            _printing(settings, pair), size=self.size, margin_pt=self.margin, bleed_pt=self.bleed
        )

    def pages(self, settings: Settings, pair: "Pair") -> "tuple[SheetFormat, ...]":
        """Return the pages that a small sheet may have, the smallest first."""
        from inkaccord.planning.sample_pages import small_pages

        return small_pages(_printing(settings, pair), self.sheets(settings, pair))

    def page(self, settings: Settings, pair: "Pair") -> "SheetFormat":
        """Return the page of a large sheet: as large as is handy, or as it was asked for."""
        return (self.sheets if self.size else self.pages)(settings, pair)[-1]


@dataclass(frozen=True)
class KeepingAsked:
    """How a person wants to keep a sheet."""

    keep: str | None
    holes: str | None
    card: "Size | None"

    def on(self, page: "SheetFormat", order: "Order | None") -> "Keeping":
        """Return how the sheet is kept, printed on a page: as asked, else as the order says."""
        from inkaccord.layout.punching import Holes
        from inkaccord.order.keeping import Keep, Samples
        from inkaccord.sheets.keeping import RingCards

        told = order.samples if order is not None else Samples()
        keep = Keep(self.keep) if self.keep else told.keep
        if keep is Keep.BINDER:
            return Holes(self.holes) if self.holes else told.holes
        if keep is Keep.LOOSE:
            return None
        return RingCards(size=self.card) if self.card else RingCards.four_on(page.size)


def _printing(settings: Settings, pair: "Pair") -> "Printing | None":
    """Return how the named order prints on a pair; None where it says nothing of it."""
    from inkaccord.recording.intake import device_of

    order = settings.named_order
    if order is None or device_of(pair, order) is None or pair.stock not in order.stocks:
        return None
    return order.on(order.pair(pair))


def takes_page(command: "Callable[..., None]") -> "Callable[..., None]":
    """Give a command the options of a page, which it gets as ``page``."""
    return _gathered(command, "page", PageAsked, _PAGE)


def takes_keeping(command: "Callable[..., None]") -> "Callable[..., None]":
    """Give a command the options of how a sheet is kept, which it gets as ``keeping``."""
    return _gathered(command, "keeping", KeepingAsked, _KEEPING)


def _gathered(
    command: "Callable[..., None]",
    name: str,
    kind: type[PageAsked] | type[KeepingAsked],
    options: "Sequence[Callable[[Any], Any]]",
) -> "Callable[..., None]":
    parts = [field.name for field in fields(kind)]

    @functools.wraps(command)
    def gathering(*arguments: Any, **given: Any) -> None:
        asked = kind(**{part: given.pop(part) for part in parts})
        command(*arguments, **{name: asked}, **given)

    for option in reversed(options):
        option(gathering)
    return gathering


_PAGE = (
    click.option(
        "--size",
        callback=parse_size_option,
        help="The page that the device takes.  [default: as the order says, else a4]",
    ),
    click.option(
        "--margin",
        callback=parse_length_option,
        help="Rim that it can't print.  [default: as the order says, else 4.2mm]",
    ),
    click.option(
        "--bleed",
        callback=parse_length_option,
        help="Bleed that the vendor's files must have.  [default: as the order says, else none]",
    ),
)
_KEEPING = (
    click.option(
        "--keep",
        type=click.Choice(["loose", "binder", "cards"]),
        help="Loose pages, pages with guides for a punch, or cards on a ring with their cut plan.  "
        "[default: as the order says, else loose]",
    ),
    click.option(
        "--holes",
        type=click.Choice(["two", "three", "four", "half-letter", "six", "discs", "coil"]),
        help="Of the binder: of a half letter page three nearer together, of A5 six, for discs, or "
        "for a coil.  [default: as the order says, else two]",
    ),
    click.option(
        "--card", callback=parse_size_option, help="Size of the cards.  [default: four fill a page]"
    ),
)
DRIVE = click.option(
    "--drive",
    type=click.Choice(["cmyk", "rgb"]),
    help="How the device is driven.  [default: as the order or the shelf says, else cmyk]",
)
INTO = click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("sheets"),
    show_default=True,
    metavar="DIR",
    help="Where the files go.",
)


def keep_sheet(shelf: "Shelf", sheet: "SampleSheet") -> bool:
    """Put a sheet that was made on the shelf, which is then found by it. Return False if it was."""
    from inkaccord.shelf.register import remember

    new = shelf.add_sheet(sheet)
    remember(shelf.place)
    return new


def parse_aperture_option(
    _ctx: click.Context, _param: click.Parameter, value: str | None
) -> float | None:
    """Read an instrument's aperture from the command line, as a callback of its option."""
    from inkaccord.order.aperture import check_aperture
    from inkaccord.units import parse_length

    try:
        return None if value is None else check_aperture(parse_length(value))
    except ValueError as problem:
        raise click.BadParameter(str(problem)) from problem


APERTURE = click.option(
    "--aperture",
    callback=parse_aperture_option,
    metavar="LENGTH",
    help="Opening of the instrument that will read it; swatches are at least 3 mm larger each way. "
    " [default: as the order says, else up to 8mm]",
)


def aperture_for(settings: Settings, aperture: float | None) -> float | None:
    """Return the aperture that an option gives, or else the order's."""
    order = settings.named_order
    return order.aperture if aperture is None and order is not None else aperture


def white_under(settings: Settings, pair: "Pair") -> str:
    """Return the plate of white under all ink on a pair's stock, where the order names one."""
    order = settings.named_order
    return "" if order is None else order.white_under(pair.stock)


def know(
    settings: Settings,
    store: "Shelf",
    pair: "Pair",
    *,
    drive: str | None,
    ink_limit: float | None = None,
    paper: "Lab | None" = None,
) -> "PairKnowledge":
    """Ask the shelf, and the order if one is named, for what is known of a pair."""
    from inkaccord.colour.builds import Drive
    from inkaccord.recording.asked import learned

    driven = Drive(drive) if drive else None
    order = settings.named_order
    return learned(store, pair, order, drive=driven, ink_limit=ink_limit, paper=paper)


def show_sheet(
    settings: Settings,
    sheet: "SampleSheet",
    files: Sequence[Path],
    findings: "Iterable[Diagnostic]",
    *,
    words: Sequence[str],
    as_json: bool,
    **data: Any,
) -> None:
    """Say which sheet was made, in words or as data, where its files are, and what comes next."""
    if as_json:
        print_json(
            {
                "exit_code": 0,
                "sheet": sheet.id,
                "pair": str(sheet.pair),
                **data,
                "files": [str(path) for path in files],
                "findings": as_data(findings),
            }
        )
        return
    show_findings(settings.screen, findings)
    ending = f"Next: print it, read it, and {to_record(settings, sheet.id)}"
    for line in (*words, *(f"  {path}" for path in files), ending):
        settings.screen.print(plain(line), soft_wrap=True)
