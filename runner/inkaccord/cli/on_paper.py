"""``inkaccord shelf printed, sent, back, place``: what became of a sheet on paper."""

from typing import TYPE_CHECKING

import click

from inkaccord.cli.shared import JSON, Settings, pass_settings, tell
from inkaccord.cli.shelf_opened import change_sheet, open_shelf

if TYPE_CHECKING:
    from inkaccord.shelf.kept import Move


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
@click.argument("sheet", metavar="SHEET")
@click.option("--to", "place", default="", metavar="WHERE", help="Who prints it.")
@JSON
@pass_settings
def sent(settings: Settings, sheet: str, place: str, as_json: bool) -> None:
    """Say that a sheet goes off to be printed now."""
    move = _move(settings, sheet, "sent", place)
    whom = f" to {move.place}" if move.place else ""
    tell(settings, f"{sheet} is sent{whom}.", as_json=as_json, sheet=sheet, move=_data(move))


@click.command("back")
@click.argument("sheet", metavar="SHEET")
@click.option("--place", default="", metavar="WHERE", help="Where it lies now.")
@JSON
@pass_settings
def back(settings: Settings, sheet: str, place: str, as_json: bool) -> None:
    """Say that a sheet came back printed: it then waits to be recorded."""
    move = _move(settings, sheet, "back", place)
    where = f": {move.place}" if move.place else ""
    tell(settings, f"{sheet} is back{where}.", as_json=as_json, sheet=sheet, move=_data(move))


@click.command("place")
@click.argument("sheet", metavar="SHEET")
@click.argument("place", metavar="WHERE")
@JSON
@pass_settings
def place(settings: Settings, sheet: str, place: str, as_json: bool) -> None:
    """Say where a printed sheet lies, or who has it: 'drawer 2', 'lent to Ada'."""
    move = _move(settings, sheet, "laid", place)
    tell(settings, f"{sheet}: {move.place}.", as_json=as_json, sheet=sheet, move=_data(move))


def _move(settings: Settings, sheet: str, kind: str, place: str) -> "Move":
    from inkaccord.shelf.kept import MoveKind

    with open_shelf(settings, sheet) as store:
        return store.paper.move(sheet, MoveKind(kind), place)


def _data(move: "Move") -> dict[str, object]:
    return move.model_dump(mode="json")
