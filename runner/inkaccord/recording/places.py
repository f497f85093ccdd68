"""Where an order's shelf and out folder are, and that they stay where an order has business."""

import os
from collections.abc import Callable
from pathlib import Path

from inkaccord.errors import OrderError
from inkaccord.order.loading import LoadedOrder
from inkaccord.shelf.place import place_of
from inkaccord.shelf.register import user_folder
from inkaccord.words import quoted

VARIABLE = "INKACCORD_SHELF"


def shelf_of(
    loaded: LoadedOrder | None,
    asked: str | None = None,
    say: Callable[[str], None] = lambda _: None,
) -> str:
    """Return where the shelf is: as asked, else the order's own, the environment's, the user's.

    An environment that is set and not heeded is mentioned. Raises OrderError for an order whose
    shelf lies where it has no business.
    """
    if asked:
        return asked
    elsewhere = os.environ.get(VARIABLE)
    if loaded is not None and loaded.order.shelf:
        own = str(_own_shelf(loaded, loaded.order.shelf))
        if elsewhere and Path(elsewhere).absolute() != Path(own).absolute():
            say(f"{VARIABLE} is set, but the order names its own shelf, {own}.")
        return own
    return elsewhere or str(user_folder() / "shelf.sqlite")


def out_of(loaded: LoadedOrder, asked: Path | None = None) -> Path:
    """Return the out folder of an order: as asked, else the one beside it.

    Raises OrderError where that is a link that leads elsewhere.
    """
    if asked is not None:
        return asked
    out = loaded.folder / "out"
    if not out.resolve().is_relative_to(loaded.folder.resolve()):
        raise _outside(loaded, f"{out} leads to {out.resolve()}", f"add --out {quoted(str(out))}")
    return out


def _own_shelf(loaded: LoadedOrder, written: str) -> Path:
    place = place_of(written)
    if not isinstance(place, Path):
        mend = f"add --shelf {quoted(str(place))}"
        raise _outside(loaded, f"its shelf is {place}", mend, "shelf")
    own = loaded.folder / place
    homes = (loaded.folder.resolve(), user_folder().resolve())
    if not any(own.resolve().is_relative_to(it) for it in homes):
        raise _outside(loaded, f"its shelf is {own}", f"add --shelf {quoted(str(own))}", "shelf")
    return own


def _outside(loaded: LoadedOrder, what: str, mend: str, *field: str) -> OrderError:
    return OrderError.of(
        "outside-folder",
        f"an order may write in its own folder only, and {what}",
        place=loaded.source.place(field),
        hint=f"if you mean it: {mend}",
    )
