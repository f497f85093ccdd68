"""What ``deck`` and ``controls`` share: options of a page, what is known of a pair, the end."""

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from inkaccord.cli.shared import Settings, as_data, plain, print_json, show_findings
from inkaccord.cli.shelf_place import to_record
from inkaccord.sizes import Sides

if TYPE_CHECKING:
    from inkaccord.colour.arrays import Lab
    from inkaccord.colour.pairs import Pair
    from inkaccord.diagnostics import Diagnostic
    from inkaccord.knowledge.pairs import PairKnowledge
    from inkaccord.sheets.model import SampleSheet
    from inkaccord.sheets.settings import SheetFormat
    from inkaccord.shelf.store import Shelf
    from inkaccord.sizes import Size


def parse_length_option(_ctx: click.Context, _param: click.Parameter, value: str) -> float:
    """Read a length from the command line, as a callback of its option."""
    from inkaccord.units import parse_length

    try:
        return parse_length(value)
    except ValueError as problem:
        raise click.BadParameter(str(problem)) from problem


def parse_size_option(_ctx: click.Context, _param: click.Parameter, value: str) -> "Size":
    """Read a size from the command line, as a callback of its option."""
    from inkaccord.sizes import Size

    try:
        return Size.parse(value)
    except ValueError as problem:
        raise click.BadParameter(str(problem)) from problem


SIZE = click.option(
    "--size",
    callback=parse_size_option,
    default="a4",
    show_default=True,
    help="The page that the device takes.",
)
MARGIN = click.option(
    "--margin",
    callback=parse_length_option,
    default="4.2mm",
    show_default=True,
    help="Rim that it can't print.",
)
DRIVE = click.option(
    "--drive",
    type=click.Choice(["cmyk", "rgb"]),
    help="How the device is driven.  [default: as the order or the shelf says, else cmyk]",
)
INTO = click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("decks"),
    show_default=True,
    metavar="DIR",
    help="Where the files go.",
)


def page_of(size: "Size", margin: float) -> "SheetFormat":
    """Return the page that the device takes."""
    from inkaccord.sheets.settings import SheetFormat

    return SheetFormat(size=size, unprintable=Sides.even(margin))


def keep_sheet(shelf: "Shelf", sheet: "SampleSheet") -> bool:
    """Put a sheet that was made on the shelf, which is then found by it. Return False if it was."""
    from inkaccord.shelf.register import remember

    new = shelf.add_sheet(sheet)
    remember(shelf.path)
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
    from inkaccord.knowledge.deck import know_pair
    from inkaccord.knowledge.holdings import gather
    from inkaccord.knowledge.pairs import learn_pair
    from inkaccord.planning.by_hand import with_told
    from inkaccord.recording.intake import device_of

    driven = Drive(drive) if drive else None
    order = settings.named_order
    if order is not None and device_of(pair, order) is not None:
        pair = order.pair(pair)
        known = learn_pair(order, gather(store, order, [pair]), pair)
        return with_told(known, drive=driven, ink_limit=ink_limit, paper=paper)
    return know_pair(
        store.evidence_of([pair])[pair], pair, drive=driven, ink_limit=ink_limit, paper=paper
    )


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
