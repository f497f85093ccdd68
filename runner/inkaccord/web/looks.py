"""Looks that are kept all at once, from a scan or a photograph, and how they are taken back."""

from collections.abc import Callable, Sequence
from functools import partial

from inkaccord.shelf.store import Shelf
from inkaccord.web.studio import OrderOnPage
from inkaccord.web.undoing import Doing
from inkaccord.words import counted


def kept_looks(
    order: OrderOnPage, shelf: Shelf, sheet: str, keep: Callable[[], object], at: str
) -> Doing | None:
    """Keep looks at a sheet, and return how to take back those that are new; None without any."""
    before = {it.digest for it in shelf.picks_of_sheet(sheet)}
    keep()
    new = [it.digest for it in shelf.picks_of_sheet(sheet) if it.digest not in before]
    words = f"{counted(len(new), 'look')} at sheet {sheet} kept."
    return Doing(words, at, partial(_take_back, order, new)) if new else None


def _take_back(order: OrderOnPage, digests: Sequence[str]) -> None:
    with Shelf.open(order.shelf) as shelf:
        shelf.take_back_picks(digests)
