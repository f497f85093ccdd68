"""The shelf as its commands open it, for one sheet or for all."""

import datetime
from collections.abc import Callable
from typing import TYPE_CHECKING

from inkaccord.cli.shared import Settings, tell
from inkaccord.cli.shelf_place import find_shelf, shelf_with

if TYPE_CHECKING:
    from inkaccord.shelf.store import Shelf


def open_shelf(
    settings: Settings, sheet_id: str | None = None, on: datetime.date | None = None
) -> "Shelf":
    """Open the shelf that a command is about: the one that holds a sheet, where one is named.

    ``on`` is the day of which something is said.
    """
    from inkaccord.shelf.store import Shelf, clock_on, utc_now

    place = shelf_with(settings, sheet_id) if sheet_id else find_shelf(settings)
    return Shelf.open(place, clock=utc_now if on is None else clock_on(on))


def change_sheet(
    settings: Settings,
    sheet_id: str,
    how: "Callable[[Shelf], bool]",
    *,
    became: str,
    field: str,
    as_json: bool,
    on: datetime.date | None = None,
) -> None:
    """Change what the shelf says of one sheet, and tell what it became, if that is news.

    ``field`` is where data has whether it is.
    """
    with open_shelf(settings, sheet_id, on) as store:
        is_news = how(store)
    words = f"{sheet_id} is {became}." if is_news else f"{sheet_id} was {became} already."
    tell(settings, words, as_json=as_json, sheet=sheet_id, **{field: is_news})
