"""Looks that are kept all at once, from a scan or a photograph, and how they are taken back."""

from collections.abc import Callable

from inkaccord.shelf.place import ShelfPlace
from inkaccord.shelf.schema import picks
from inkaccord.shelf.store import Shelf
from inkaccord.web.undoing import Doing, done_on_shelf
from inkaccord.words import counted


def kept_looks(
    place: ShelfPlace, shelf: Shelf, sheet: str, keep: Callable[[], object], at: str
) -> Doing | None:
    """Keep looks at a sheet, and return how to take back those that are new; None without any."""
    with shelf.noting() as noted:
        keep()
    new = sum(len(change.after[picks.name]) for change in noted)
    words = f"{counted(new, 'look')} at sheet {sheet} kept."
    return done_on_shelf(words, at, place, noted) if new else None
