"""Which orders were run on this computer, and on which shelves their sheets are.

A printed sheet has room for its id, not for a path; and it may be read from another folder than the
one it was planned in. So every run leaves a line in the user's folder, by which a sheet's shelf is
found again. Nothing else rests on it: it may be deleted, and the next run writes its line anew.
"""

from collections.abc import Iterable
from pathlib import Path

import platformdirs
from pydantic import TypeAdapter, ValidationError

from inkaccord.errors import FileError
from inkaccord.files import write_if_changed
from inkaccord.models import Frozen
from inkaccord.shelf import queries
from inkaccord.shelf.database import Database, path_of


class KnownOrder(Frozen):
    """An order that was run here."""

    name: str
    """The order's own name, which its sheets carry too."""
    file: Path
    shelf: Path


_LINES = TypeAdapter(tuple[KnownOrder, ...])


def user_folder() -> Path:
    """Return where this user's data are: the shelf that all orders share, and the register."""
    return platformdirs.user_data_path("inkaccord")


def known_orders() -> tuple[KnownOrder, ...]:
    """Return the orders that were run here; none where the register is gone or damaged."""
    try:
        return _LINES.validate_json(_register().read_bytes())
    except (OSError, ValidationError):
        return ()


def remember(name: str, file: Path, shelf: Path) -> None:
    """Keep in the register that an order was run, and forget those whose folders are gone.

    Raises FileError when the user's folder can't be written.
    """
    run = KnownOrder(name=name, file=file.absolute(), shelf=shelf.absolute())
    known = dict.fromkeys((*known_orders(), run))
    still_there = tuple(it for it in known if it.shelf.parent.is_dir())
    write_if_changed(_register(), _LINES.dump_json(still_there, indent=1))


def shelves_with(sheet_id: str, shelves: Iterable[Path | str]) -> list[Path]:
    """Return which of these shelves hold a sheet. One that can't be read holds none."""
    return [it for it in dict.fromkeys(path_of(it).absolute() for it in shelves)
            if it.is_file() and _holds(it, sheet_id)]  # fmt: skip


def _holds(shelf: Path, sheet_id: str) -> bool:
    database = Database(shelf)
    try:
        with database.reading() as connection:
            return queries.find_sheet(connection, sheet_id) is not None
    except FileError:
        return False
    finally:
        database.close()


def _register() -> Path:
    return user_folder() / "orders.json"
