"""``inkaccord shelf printed, sent, back, place, lent, returned, label``: sheets on paper."""

import datetime
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from inkaccord.cli.by_hand import INTO, parse_size_option
from inkaccord.cli.shared import JSON, ON, Settings, pass_settings, plain, print_json, tell
from inkaccord.cli.shelf_opened import change_sheet, open_shelf
from inkaccord.cli.shelf_place import to_record
from inkaccord.words import counted

if TYPE_CHECKING:
    from inkaccord.sizes import Size

SHEETS = click.argument("sheets", metavar="SHEET...", nargs=-1, required=True)

COPIES = click.option("--copies", type=click.IntRange(1), help="How many of each.")


@click.command("printed")
@click.argument("sheet", metavar="SHEET")
@ON
@JSON
@pass_settings
def printed(settings: Settings, sheet: str, on: datetime.date, as_json: bool) -> None:
    """Say that a sheet is printed: it then waits to be recorded, whatever its order asks for."""
    change_sheet(
        settings,
        sheet,
        lambda store: store.paper.mark_printed(sheet),
        became="marked as printed",
        field="marked_now",
        as_json=as_json,
        on=on,
    )
    if not as_json:
        _say_to_record(settings, sheet)


@click.command("sent")
@SHEETS
@click.option("--to", "place", default="", metavar="WHERE", help="Who prints them.")
@ON
@JSON
@pass_settings
def sent(
    settings: Settings, sheets: tuple[str, ...], place: str, on: datetime.date, as_json: bool
) -> None:
    """Say that sheets go off to be printed."""
    _move(settings, sheets, "sent", place, "{} is sent", " to ", on=on, as_json=as_json)


@click.command("back")
@SHEETS
@click.option("--place", default="", metavar="WHERE", help="Where they lie now.")
@COPIES
@ON
@JSON
@pass_settings
def back(
    settings: Settings,
    sheets: tuple[str, ...],
    place: str,
    copies: int | None,
    on: datetime.date,
    as_json: bool,
) -> None:
    """Say that sheets came back printed: they then wait to be recorded."""
    _move(
        settings, sheets, "back", place, "{} is back", ": ", on=on, as_json=as_json, copies=copies
    )


@click.command("place")
@SHEETS
@click.argument("place", metavar="WHERE")
@COPIES
@click.option(
    "--in-light/--in-the-dark",
    "in_light",
    default=None,
    help="Whether they hang or lie in the light, where they fade sooner.",
)
@ON
@JSON
@pass_settings
def place(
    settings: Settings,
    sheets: tuple[str, ...],
    place: str,
    copies: int | None,
    in_light: bool | None,
    on: datetime.date,
    as_json: bool,
) -> None:
    """Say where printed sheets lie: 'drawer 2'."""
    _move(
        settings,
        sheets,
        "laid",
        place,
        "{}",
        ": ",
        on=on,
        as_json=as_json,
        copies=copies,
        in_light=in_light,
    )


@click.command("lent")
@SHEETS
@click.argument("who", metavar="WHO")
@COPIES
@ON
@JSON
@pass_settings
def lent(
    settings: Settings,
    sheets: tuple[str, ...],
    who: str,
    copies: int | None,
    on: datetime.date,
    as_json: bool,
) -> None:
    """Say that somebody borrows a copy of sheets; their place stays as it is."""
    _move(
        settings, sheets, "lent", who, "{} is lent", " to ", on=on, as_json=as_json, copies=copies
    )


@click.command("returned")
@SHEETS
@click.option("--by", "who", default="", metavar="WHO", help="Who had it.  [default: all of them]")
@ON
@JSON
@pass_settings
def returned(
    settings: Settings, sheets: tuple[str, ...], who: str, on: datetime.date, as_json: bool
) -> None:
    """Say that borrowed copies of sheets are in their place again."""
    _move(settings, sheets, "returned", who, "{} is returned", " by ", on=on, as_json=as_json)


def _move(
    settings: Settings,
    sheets: Sequence[str],
    kind: str,
    place: str,
    words: str,
    before: str,
    *,
    on: datetime.date,
    as_json: bool,
    copies: int | None = None,
    in_light: bool | None = None,
) -> None:
    """Remember where sheets go, and say so. A wrong id changes nothing of any."""
    from inkaccord.shelf.kept import MoveKind

    for sheet in sheets:
        with open_shelf(settings, sheet, on) as store:
            store.kept_sheet(sheet)
    moved = {}
    for sheet in sheets:
        with open_shelf(settings, sheet, on) as store:
            moved[sheet] = store.paper.move(
                sheet, MoveKind(kind), place, copies=copies, in_light=in_light
            )
    if as_json:
        rows = [{"sheet": it, "move": moved[it].model_dump(mode="json")} for it in moved]
        print_json({"exit_code": 0, "sheets": rows})
        return
    for sheet, move in moved.items():
        where = f"{before}{move.place}" if move.place else ""
        settings.screen.print(plain(f"{words.format(sheet)}{where}."), soft_wrap=True)
        if kind == "back":
            _say_to_record(settings, sheet)


def _say_to_record(settings: Settings, sheet: str) -> None:
    typed = plain(to_record(settings, sheet))
    settings.screen.print(f"When it is read: [cyan]{typed}[/]", soft_wrap=True)


@click.command("label")
@SHEETS
@click.option(
    "--size",
    default="70mm x 37mm",
    callback=parse_size_option,
    show_default=True,
    metavar="SIZE",
    help="Of a label.",
)
@INTO
@JSON
@pass_settings
def label(
    settings: Settings, sheets: tuple[str, ...], size: "Size", out: Path, as_json: bool
) -> None:
    """Make labels for what sheets are kept in: one PDF, a page for each.

    A label says which sheet it is, on what it was printed, and after which day to replace it.
    """
    from inkaccord.files import safe_name
    from inkaccord.sheets.drawing.label import draw_labels
    from inkaccord.sheets.saving import save_files

    labels = []
    for sheet in sheets:
        with open_shelf(settings, sheet) as store:
            kept, line = store.kept_sheet(sheet), store.summary(sheet)
        labels.append((kept.sheet, line.on_paper.replace_after))
    name = f"label-{safe_name(labels[0][0].id)}" + ("-and-more" if len(labels) > 1 else "")
    (path,) = save_files({f"{name}.pdf": draw_labels(labels, size)}, out)
    tell(
        settings,
        f"{counted(len(labels), 'label')}: {path}",
        as_json=as_json,
        sheets=[it.id for it, _ in labels],
        files=[str(path)],
    )
