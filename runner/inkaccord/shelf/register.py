"""Which shelves sheets were planned on at this computer, and for which orders.

A printed sheet has room for its id, not for a path; and it may be read from another folder than
the one it was planned in. So whatever plans sheets leaves a small file in the user's folder, by
which the shelf of a sheet is found again: one for each order on a shelf, so that the thousandth
costs no more than the first, and two runs at once lose none. Nothing else rests on them: they may
be deleted, and the next run writes its own anew.
"""

import contextlib
from collections.abc import Iterable
from pathlib import Path

import platformdirs
from pydantic import ValidationError

from inkaccord.errors import FileError
from inkaccord.files import sha256_of, write_if_changed
from inkaccord.models import Frozen
from inkaccord.shelf.place import ShelfPlace, is_there, place_of


class KnownShelf(Frozen):
    """A shelf that sheets were planned on here."""

    shelf: Path
    order: str | None = None
    """The name of the order that was run on it, which its sheets carry too."""
    file: Path | None = None
    """That order's file."""


_MOST_RECORDS = 1000


def user_folder() -> Path:
    """Return where this user's data are: the shelf that all orders share, and the register."""
    return platformdirs.user_data_path("inkaccord")


def known_shelves() -> tuple[KnownShelf, ...]:
    """Return the shelves that are known here, and forget those whose folders are gone."""
    known = []
    for file in _register().glob("*.json"):
        with contextlib.suppress(OSError, ValidationError):  # gone by now, or damaged
            one = KnownShelf.model_validate_json(file.read_bytes())
            if one.shelf.parent.is_dir():
                known.append(one)
            else:
                file.unlink()
    return tuple(sorted(known, key=lambda it: (it.shelf, it.order or "", str(it.file))))


def remember(shelf: ShelfPlace, order: str | None = None, file: Path | None = None) -> None:
    """Keep a shelf in the register.

    Where the user's folder can't be written nothing is kept: commands then have to name the order.
    Nor is a server, which is named by an option or the environment and by nothing else.
    """
    if not isinstance(shelf, Path):
        return
    new = KnownShelf(shelf=shelf.absolute(), order=order, file=file and file.absolute())
    data = new.model_dump_json().encode()
    with contextlib.suppress(FileError):
        write_if_changed(_register() / f"{sha256_of(data)[:16]}.json", data)


def sheets_on(shelves: Iterable[Path | str]) -> dict[ShelfPlace, list[str]]:
    """Return the ids of the sheets on each of these shelves that is there and can be read.

    Raises FileError for a server that can't be reached.
    """
    places = map(place_of, shelves)
    there = dict.fromkeys(it.absolute() if isinstance(it, Path) else it for it in places)
    return {place: ids for place in there if is_there(place) and (ids := _ids(place))}


def _ids(place: ShelfPlace) -> list[str]:
    import sqlalchemy as sa  # noqa: PLC0415 - slow to load; what only remembers has no need of it

    from inkaccord.shelf.databases import database_at  # noqa: PLC0415
    from inkaccord.shelf.schema import sheets  # noqa: PLC0415

    database = database_at(place)
    try:
        with database.reading() as connection:
            return list(connection.execute(sa.select(sheets.c.id)).scalars())
    except FileError:
        if isinstance(place, Path):
            return []
        raise
    finally:
        database.close()


def remember_record(record: bytes) -> None:
    """Remember that a run on this computer wrote a record, by its digest.

    Where the user's folder can't be written, what that run wrote is nobody's to remove.
    """
    known = [it for it in _known_records() if it != sha256_of(record)]
    lines = "".join(f"{it}\n" for it in (*known[1 - _MOST_RECORDS :], sha256_of(record)))
    with contextlib.suppress(FileError):
        write_if_changed(_records(), lines.encode())


def is_record_of_ours(record: bytes) -> bool:
    """Tell whether a run on this computer wrote a record, which anyone may have put there."""
    return sha256_of(record) in _known_records()


def _known_records() -> list[str]:
    try:
        return _records().read_text("utf-8").split()
    except (OSError, ValueError):
        return []


def _records() -> Path:
    return user_folder() / "records.txt"


def _register() -> Path:
    return user_folder() / "shelves"
