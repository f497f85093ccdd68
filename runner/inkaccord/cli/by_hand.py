"""What ``swatches`` and ``controls`` share: options of a page, and how they end."""

import functools
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from inkaccord.cli.shared import Settings, as_data, plain, print_json, show_findings
from inkaccord.cli.shelf_place import to_record

if TYPE_CHECKING:
    from inkaccord.planning.on_request import MadeByHand
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


def takes_page(command: "Callable[..., None]") -> "Callable[..., None]":
    """Give a command the options of a page, which it gets as ``page``."""
    return _gathered(command, "page", "PageAsked", ("size", "margin", "bleed"), _PAGE)


def takes_keeping(command: "Callable[..., None]") -> "Callable[..., None]":
    """Give a command the options of how a sheet is kept, which it gets as ``keeping``."""
    return _gathered(command, "keeping", "KeepingAsked", ("keep", "holes", "card"), _KEEPING)


def _gathered(
    command: "Callable[..., None]",
    name: str,
    kind: str,
    parts: Sequence[str],
    options: "Sequence[Callable[[Any], Any]]",
) -> "Callable[..., None]":
    @functools.wraps(command)
    def gathering(*arguments: Any, **given: Any) -> None:
        from inkaccord.planning import on_request  # loads all that draws

        asked = getattr(on_request, kind)(**{part: given.pop(part) for part in parts})
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


def show_sheet(
    settings: Settings, made: "MadeByHand", out: Path, *, as_json: bool, **data: Any
) -> None:
    """Save the files of a sheet that was made, say which it is, and what comes next."""
    from inkaccord.sheets.saving import save_files

    sheet, files = made.sheet, save_files(made.files, out)
    findings = (*made.findings, *settings.drawing.findings)
    if as_json:
        print_json(
            {
                "exit_code": 0,
                "sheet": sheet.id,
                "pair": str(sheet.pair),
                **data,
                "pages": sheet.pages,
                "new": made.new,
                "files": [str(path) for path in files],
                "findings": as_data(findings),
            }
        )
        return
    show_findings(settings.screen, findings)
    ending = f"Next: print it, read it, and {to_record(settings, sheet.id)}"
    for line in (*made.words, *(f"  {path}" for path in files), ending):
        settings.screen.print(plain(line), soft_wrap=True)
