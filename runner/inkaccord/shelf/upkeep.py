"""Backing up, restoring, and looking for damage."""

import contextlib
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from pathlib import Path

import sqlalchemy as sa

from inkaccord.diagnostics import Diagnostic, Place, error
from inkaccord.errors import FileError, InkaccordError, OrderError
from inkaccord.files import read_bytes, replacing
from inkaccord.shelf import queries, rows
from inkaccord.shelf.database import Database


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
    if path.exists() and path.samefile(database.path):
        raise OrderError.of(
            "backup-onto-itself",
            f"{path} is the shelf itself",
            hint="name another file for the backup",
        )
    with (
        replacing(path) as temporary,
        database.raw() as ours,
        contextlib.closing(sqlite3.connect(temporary)) as copy,
    ):
        ours.backup(copy)
        copy.execute("PRAGMA journal_mode = DELETE")  # one file, complete in itself


def restore(database: Database, path: Path) -> Path | None:
    """Put a backup in the place of the shelf, in one transaction.

    Returns where the shelf as it was before was copied to, None if it held nothing. Raises
    FileError, having changed nothing, when the backup is not a sound shelf.
    """
    with _sound_copy(path) as backup:
        with database.reading() as connection:
            empty = not queries.sheets_of(connection, None, retired=True)
        before = database.path.with_name(f"{database.path.name}.before-restore")
        if not empty:
            back_up(database, before)
        with backup.raw() as source, database.raw() as target:
            source.backup(target)
    return None if empty else before


@contextlib.contextmanager
def _sound_copy(path: Path) -> Iterator[Database]:
    """Give a copy of a backup, brought up to date and looked through; the backup stays as is."""
    read_bytes(path)
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "shelf.sqlite"
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


def verify(database: Database) -> tuple[Diagnostic, ...]:
    """Look for damage: of the file, of what its rows refer to, of what they say."""
    place = Place(file=str(database.path))
    with database.reading() as connection:
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
    except ValueError as problem:  # pydantic's and json's errors are ValueErrors
        yield f"a row holds what no sheet or reading can ({problem})"
