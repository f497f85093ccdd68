"""What ``deck`` and ``controls`` share: options of a page, and what is known of a pair."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from inkaccord.cli.shared import Settings
from inkaccord.colour.arrays import Lab

if TYPE_CHECKING:
    from inkaccord.colour.pairs import Pair
    from inkaccord.diagnostics import Diagnostic
    from inkaccord.knowledge.pairs import PairKnowledge
    from inkaccord.sheets.settings import SheetSettings
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


def stranger_findings(
    settings: Settings, store: "Shelf", known: "PairKnowledge"
) -> "tuple[Diagnostic, ...]":
    """Return what to say of a pair that neither an order nor the shelf knows: a slip, perhaps."""
    from inkaccord.diagnostics import warning
    from inkaccord.order.mistakes import suggest

    ordered = settings.named_order.pairs_needed() if settings.named_order else ()
    if known.sheets or known.pair in ordered:
        return ()
    others = {str(pair) for pair in (*ordered, *store.pairs())}
    where = "neither the order nor its shelf knows" if settings.order else "the shelf does not know"
    near = f"{suggest(str(known.pair), others)} " if others else ""
    return (
        warning(
            "unknown-pair",
            f"{where} {known.pair}, so nothing that was read serves this sheet",
            hint=f"{near}If it is a new pair, all is well; 'inkaccord shelf retire' undoes it",
        ),
    )


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


def sizes_on(settings: Settings, aperture: float | None, lightness: float) -> "SheetSettings":
    """Return the sizes on a sheet, for the instrument asked for or the order's, and the paper."""
    from inkaccord.sheets.settings import SheetSettings

    if aperture is None and settings.order is not None:
        aperture = settings.load(settings.order).order.aperture
    return SheetSettings.suiting(aperture, lightness)


def know(
    settings: Settings,
    store: "Shelf",
    pair: "Pair",
    *,
    drive: str | None,
    ink_limit: float | None = None,
    paper: Lab | None = None,
) -> "PairKnowledge":
    """Ask the shelf, and the order if one is named, for what is known of a pair."""
    from inkaccord.colour.builds import Drive
    from inkaccord.knowledge.deck import know_pair
    from inkaccord.knowledge.pairs import learn_pair
    from inkaccord.recording.intake import device_of

    order = settings.named_order
    if order is not None and device_of(pair, order) is not None:
        return learn_pair(order, store, order.pair(pair))
    return know_pair(
        store,
        pair,
        drive=Drive(drive) if drive else None,
        ink_limit=ink_limit,
        paper=paper,
    )
