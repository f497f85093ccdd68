"""Which shelf a command is about, and the words by which the next command finds the same one."""

from pathlib import Path
from typing import TYPE_CHECKING

from inkaccord.cli.shared import Settings
from inkaccord.words import quoted

if TYPE_CHECKING:
    from inkaccord.order.loading import LoadedOrder
    from inkaccord.shelf.place import ShelfPlace


def shelf_place(settings: Settings, loaded: "LoadedOrder | None") -> str:
    """Return where the shelf is: the option's, else what the order and the environment say."""
    from inkaccord.recording.places import shelf_of

    return shelf_of(loaded, settings.shelf, settings.say_once)


def find_shelf(settings: Settings) -> str:
    """Return where the shelf is for a command that is about no sheet in particular."""
    return shelf_place(settings, settings.named)


def shelf_with(settings: Settings, sheet_id: str) -> str:
    """Return where the shelf is that holds a sheet.

    Where no option says which, all shelves that are known on this computer are looked through.
    Raises OrderError when none of them holds it, or several do.
    """
    from inkaccord.errors import OrderError
    from inkaccord.order.mistakes import nearest
    from inkaccord.sheets.naming import spoken
    from inkaccord.shelf.register import known_shelves, sheets_on

    usual = find_shelf(settings)
    if settings.shelf or settings.order:
        return usual
    known = known_shelves()
    kept = sheets_on((usual, *(it.shelf for it in known)))
    found = [path for path, ids in kept.items() if spoken(sheet_id) in map(spoken, ids)]
    if len(found) == 1:
        return str(found[0])
    if not found:
        near = nearest(sheet_id, {name for ids in kept.values() for name in ids})
        raise OrderError.of(
            "no-such-sheet",
            f"there is no sheet {sheet_id} on any shelf that is known on this computer",
            hint=f"did you mean {' or '.join(near)}?"
            if near
            else "its id is printed on it; if its order was run on another computer, or never, say "
            "which it is: add --order DIR",
        )
    orders: dict[ShelfPlace, Path] = {it.shelf: _short(it.file) for it in known if it.file}
    ways = [
        quoted(*("--order", str(orders[path])) if path in orders else ("--shelf", str(path)))
        for path in found
    ]
    raise OrderError.of(
        "several-shelves",
        f"sheet {sheet_id} is on several shelves, as when an order was copied",
        hint=f"say which is meant: add {', or '.join(ways)}",
    )


def same_place(settings: Settings, order: Path | None = None) -> str:
    """Return what a printed command adds to be about the same order and shelf."""
    named = order or settings.order
    words = ["--order", str(named)] if named else []
    words += ["--shelf", settings.shelf] if settings.shelf else []
    return "".join(f" {quoted(word)}" for word in words)


def to_record(settings: Settings, sheet_id: str, order: Path | None = None) -> str:
    """Return the command that takes in the readings of a sheet."""
    return quoted("inkaccord", "record", sheet_id, "READINGS-FILE") + same_place(settings, order)


def to_run(settings: Settings, order: Path, out: Path | None = None, command: str = "run") -> str:
    """Return the command that runs an order again, or another that is about it."""
    return quoted("inkaccord", command, *order_words(settings, order, out))


def order_words(settings: Settings, order: Path, out: Path | None = None) -> list[str]:
    """Return how a command names an order, and where else than usual its results and shelf are."""
    words = [str(order)]
    words += ["--out", str(out)] if out else []
    words += ["--shelf", settings.shelf] if settings.shelf else []
    return words


def order_to_run(settings: Settings, order_name: str | None, shelf: "ShelfPlace") -> str | None:
    """Return the command that runs the order for which a sheet was made, if it is known here."""
    if settings.order is not None:
        return to_run(settings, settings.order)
    file = _file_of(order_name, shelf)
    return to_run(settings, _short(file)) if file is not None else None


def order_for(
    settings: Settings, order_name: str | None, shelf: "ShelfPlace"
) -> "LoadedOrder | None":
    """Return the order for which a sheet was made, if it is known here and has no mistake."""
    if settings.named is not None:
        return settings.named
    from inkaccord.errors import InkaccordError

    file = _file_of(order_name, shelf)
    try:
        return settings.load(file) if file is not None else None
    except InkaccordError:
        return None


def _file_of(order_name: str | None, shelf: "ShelfPlace") -> Path | None:
    """Return the file of an order that was run on a shelf here, if it is the only one."""
    from inkaccord.shelf.register import known_shelves

    if not isinstance(shelf, Path):
        return None
    here = (order_name, shelf.absolute())
    files = [it.file for it in known_shelves() if it.file and (it.order, it.shelf) == here]
    return files[0] if len(files) == 1 and files[0].is_file() else None


def _short(order: Path) -> Path:
    """Return an order as a person would name it here: its folder, from this folder."""
    place = order.parent if order.name == "order.yaml" else order
    here = Path.cwd()
    return place.relative_to(here) if place.is_relative_to(here) else place
