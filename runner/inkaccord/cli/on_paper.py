"""``inkaccord shelf printed, sent, back, place``: what became of a sheet on paper."""

from collections.abc import Sequence

import click

from inkaccord.cli.shared import JSON, Settings, pass_settings, plain, print_json
from inkaccord.cli.shelf_opened import change_sheet, open_shelf

SHEETS = click.argument("sheets", metavar="SHEET...", nargs=-1, required=True)


@click.command("printed")
@click.argument("sheet", metavar="SHEET")
@JSON
@pass_settings
def printed(settings: Settings, sheet: str, as_json: bool) -> None:
    """Say that a sheet is printed: it then waits to be recorded, whatever its order asks for."""
    change_sheet(
        settings,
        sheet,
        lambda store: store.paper.mark_printed(sheet),
        became="marked as printed",
        field="marked_now",
        as_json=as_json,
    )


@click.command("sent")
@SHEETS
@click.option("--to", "place", default="", metavar="WHERE", help="Who prints them.")
@JSON
@pass_settings
def sent(settings: Settings, sheets: tuple[str, ...], place: str, as_json: bool) -> None:
    """Say that sheets go off to be printed now."""
    _move(settings, sheets, "sent", place, "{} is sent", " to ", as_json=as_json)


@click.command("back")
@SHEETS
@click.option("--place", default="", metavar="WHERE", help="Where they lie now.")
@JSON
@pass_settings
def back(settings: Settings, sheets: tuple[str, ...], place: str, as_json: bool) -> None:
    """Say that sheets came back printed: they then wait to be recorded."""
    _move(settings, sheets, "back", place, "{} is back", ": ", as_json=as_json)


@click.command("place")
@SHEETS
@click.argument("place", metavar="WHERE")
@JSON
@pass_settings
def place(settings: Settings, sheets: tuple[str, ...], place: str, as_json: bool) -> None:
    """Say where printed sheets lie, or who has them: 'drawer 2', 'lent to Ada'."""
    _move(settings, sheets, "laid", place, "{}", ": ", as_json=as_json)


def _move(
    settings: Settings,
    sheets: Sequence[str],
    kind: str,
    place: str,
    words: str,
    before: str,
    *,
    as_json: bool,
) -> None:
    """Remember where sheets go, and say so. A wrong id changes nothing of any."""
    from inkaccord.shelf.kept import MoveKind

    for sheet in sheets:
        with open_shelf(settings, sheet) as store:
            store.kept_sheet(sheet)
    moved = {}
    for sheet in sheets:
        with open_shelf(settings, sheet) as store:
            moved[sheet] = store.paper.move(sheet, MoveKind(kind), place)
    if as_json:
        rows = [{"sheet": it, "move": moved[it].model_dump(mode="json")} for it in moved]
        print_json({"exit_code": 0, "sheets": rows})
        return
    for sheet, move in moved.items():
        where = f"{before}{move.place}" if move.place else ""
        settings.screen.print(plain(f"{words.format(sheet)}{where}."), soft_wrap=True)
