"""Backing up, restoring, and looking for damage."""

import contextlib
import datetime
import shutil
import sqlite3
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import sqlalchemy as sa

from inkaccord.diagnostics import Diagnostic, Place, error
from inkaccord.errors import FileError, InkaccordError, OrderError
from inkaccord.files import is_same_file, read_bytes, working_folder
from inkaccord.shelf import book, queries, rows
from inkaccord.shelf.database import Database
from inkaccord.shelf.databases import AnyDatabase

_LOOK_MS = 100
"""How long each try to begin a restore waits for others."""


def back_up(database: Database, path: Path) -> None:
    """Copy the shelf to a file, as it is at this moment, while others go on using it.

    Raises FileError when the file cannot be written, OrderError when it is the shelf itself, or
    when there is no shelf yet.
    """
    if not database.path.exists():
        raise OrderError.of(
            "no-shelf",
            f"there is no shelf {database.path} yet, so there is nothing to back up",
            hint="an order's own shelf is found with '--order DIR'",
        )
    if is_same_file(path, database.path):
        raise OrderError.of(
            "backup-onto-itself",
            f"{path} is the shelf itself",
            hint="name another file for the backup",
        )
    database.copy_to(path)


def restore(
    database: Database, path: Path, *, at: datetime.datetime, waiting: Callable[[], None]
) -> Path | None:
    """Put a backup in the place of the shelf, in one transaction.

    ``waiting`` is called once where another run is writing. Returns where the shelf as it was
    before was copied to, under a name of this moment; None if it held nothing. Raises FileError,
    having changed nothing, when the backup is not a sound shelf, or others write for too long.
    """
    with _sound_copy(path) as backup:
        before = database.free_name(f"before-restore-{at:%Y%m%d-%H%M%S}")
        while True:
            held = _holds_sheets(database)
            try:
                _put_in_place(backup, database, before if held else None, waiting)
            except _WrittenMeanwhileError:
                continue
            return before if held else None


class _WrittenMeanwhileError(Exception):
    """Something came onto the shelf after it was copied: the copy is not what is replaced."""


def _put_in_place(
    backup: Database, database: Database, keep: Path | None, waiting: Callable[[], None]
) -> None:
    """Copy the shelf as it is, then a backup over it, unless anything was written in between."""
    with database.raw() as watching, backup.raw() as source, database.raw() as target:
        as_copied = _writes_seen(watching)
        if keep is not None:
            database.copy_to(keep)
        told, give_up = False, time.monotonic() + database.wait_s

        def step(status: int, left: int, pages: int) -> None:
            nonlocal told
            del left, pages
            if status & 0xFF in {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}:
                if not told:
                    told = True
                    waiting()
                if time.monotonic() > give_up:
                    raise database.busy()
            elif status == sqlite3.SQLITE_OK and _writes_seen(watching) != as_copied:
                raise _WrittenMeanwhileError

        # Short, since each step says how it went; and a page a step, so that the first one that
        # has the lock comes before the last.
        target.execute(f"PRAGMA busy_timeout = {_LOOK_MS}")
        try:
            source.backup(target, pages=1, progress=step, sleep=_LOOK_MS / 1000)
        except BaseException:
            if keep is not None:
                keep.unlink(missing_ok=True)  # a copy of what is still there
            raise
        finally:
            target.execute(f"PRAGMA busy_timeout = {round(database.wait_s * 1000)}")


def _writes_seen(connection: sqlite3.Connection) -> object:
    """Return a number that changes with every change that others make."""
    return connection.execute("PRAGMA data_version").fetchone()


def _holds_sheets(database: Database) -> bool:
    """Tell whether there is anything to keep; what can't be read may be worth it."""
    try:
        with database.reading() as connection:
            kept = "SELECT 1 FROM sheets UNION ALL SELECT 1 FROM book LIMIT 1"
            return connection.exec_driver_sql(kept).first() is not None
    except FileError:
        return True


@contextlib.contextmanager
def _sound_copy(path: Path) -> Iterator[Database]:
    """Give a copy of a backup, brought up to date and looked through; the backup stays as is."""
    read_bytes(path)
    with working_folder() as folder:
        copy = folder / "shelf.sqlite"
        shutil.copyfile(path, copy)
        backup = Database(copy)
        try:
            with backup.reading() as connection:
                if not connection.exec_driver_sql("SELECT 1 FROM sqlite_master").first():
                    raise FileError.of("not-a-shelf", "the file holds nothing")
            backup.prepare()
            if wrong := verify(backup):
                raise FileError(wrong)
            yield backup
        except InkaccordError as problem:
            raise FileError(
                finding.model_copy(update={"place": Place(file=str(path))})
                if finding.place.file in {None, str(copy)}
                else finding
                for finding in problem.findings
            ) from problem
        finally:
            backup.close()


def verify(database: AnyDatabase) -> tuple[Diagnostic, ...]:
    """Look for damage: of the file, of what its rows refer to, of what they say.

    The first two a server sees to itself.
    """
    place = database.place
    with database.reading() as connection:
        if not isinstance(database, Database):
            return tuple(_damage(what, place) for what in _wrong_content(connection))
        said = connection.exec_driver_sql("PRAGMA integrity_check").scalars().all()
        if said != ["ok"]:
            return tuple(_damage(str(line), place) for line in said)
        dangling = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
        if dangling:
            return tuple(
                _damage(f"a row of {row[0]} refers to a missing row of {row[2]}", place)
                for row in dangling
            )
        return tuple(_damage(what, place) for what in _wrong_content(connection))


def _damage(what: str, place: Place) -> Diagnostic:
    return error(
        "damaged-shelf",
        f"the shelf is damaged: {what}",
        place=place,
        hint="restore a backup: 'inkaccord shelf restore FILE'",
    )


def _wrong_content(connection: sa.Connection) -> Iterator[str]:
    """Read every row back as a value, and compare it with the digest that it is kept under."""
    try:
        kept = queries.sheets_of(connection, None, retired=True)
        sheets = [each.sheet for each in kept]
        for record in queries.readings_of_sheets(connection, sheets, retired=True):
            if rows.digest_of(record.readings) != record.digest:
                yield f"readings {record.digest[:8]} of sheet {record.sheet.id} were changed"
        for pick in queries.picks_of_sheets(connection, sheets):
            if rows.digest_of(pick.pick) != pick.digest:
                yield f"the pick of {pick.pick.colour} on sheet {pick.sheet.id} was changed"
        queries.served_of(connection, None)
        for name in book.changed_editions(connection):
            yield f"what the book says of {name} was changed"
        book.editions_in(connection)
    except ValueError as problem:  # pydantic's and json's errors are ValueErrors
        yield f"a row holds what no sheet or reading can ({problem})"
