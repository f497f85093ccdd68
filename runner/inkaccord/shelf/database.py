"""Opening the SQLite file: where it lies, how it is locked, and what may go wrong with it."""

import contextlib
import itertools
import os
import sqlite3
import time
from collections.abc import Iterator
from functools import cached_property
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy import event

from inkaccord.diagnostics import Place
from inkaccord.errors import FileError
from inkaccord.files import check_is_file, replacing
from inkaccord.shelf import migrations
from inkaccord.shelf.guarded import WAIT_S, GuardedDatabase
from inkaccord.shelf.schema import SCHEMA_VERSION

_MAGIC = b"SQLite format 3\0"
_MOST_COPIES = 1000


class Database(GuardedDatabase):
    """One SQLite file in write-ahead mode, with foreign keys on.

    Readers never wait. A writer takes the write lock at the beginning of its transaction, so
    two runs at once follow each other and neither builds on what the other is changing.

    A file that is not there comes into being with the first change. Until then its readers see an
    empty shelf, so that a command that fails leaves none behind.

    Where nothing may be written beside the file, it is read as it lies, and never changed.
    """

    _elsewhere = "choose another file with --shelf"

    def __init__(self, path: Path, wait_s: float = WAIT_S) -> None:
        super().__init__(wait_s)
        self.path = path
        self._absent, self._is_closed = False, False
        self._engine = sa.create_engine(
            sa.URL.create("sqlite", database=str(path)),
            # isolation_level None: transactions begin where we say, not at the first change
            connect_args={"timeout": wait_s, "isolation_level": None},
        )
        event.listen(self._engine, "connect", _connected)
        event.listen(self._engine, "begin", _begin)

    @property
    def place(self) -> Place:
        """Where it is, as messages name it."""
        return Place(file=str(self.path))

    def _to_read(self) -> sa.Engine:
        if self._absent and self.path.exists():
            self._open_file()  # another run made it meanwhile
        return self._nothing_yet if self._absent else self._engine

    @contextlib.contextmanager
    def _to_write(self) -> Iterator[sa.Connection]:
        """Give a connection in a transaction that is kept whole or not at all.

        Raises FileError, for instance when the disk is full or the file may not be written.
        """
        if self._is_closed:
            raise FileError.of(
                "shelf-read-only",
                "this shelf can be looked at, not changed: nothing may be written in "
                f"{self._folder}",
                place=self.place,
                hint="choose another file with --shelf, or see to the rights of the folder",
            )
        if self._absent:
            self._open_file()
        engine = self._engine.execution_options(begin="BEGIN IMMEDIATE")
        with self._guarded(), engine.begin() as connection:
            yield connection

    @contextlib.contextmanager
    def raw(self) -> Iterator[sqlite3.Connection]:
        """Give the driver's own connection, for SQLite's backup. Raises FileError."""
        if self._absent:
            self._open_file()
        with self._guarded(), contextlib.closing(self._engine.raw_connection()) as proxy:
            driver = proxy.driver_connection
            assert isinstance(driver, sqlite3.Connection)  # noqa: S101 -- tells the type checker
            yield driver

    def copy_to(self, path: Path) -> None:
        """Copy the whole, as it is at this moment, to a file that is complete in itself.

        It has its name only when it is whole. Raises FileError.
        """
        with (
            replacing(path) as temporary,
            self.raw() as ours,
            contextlib.closing(sqlite3.connect(temporary)) as copy,
        ):
            ours.backup(copy)
            copy.execute("PRAGMA journal_mode = DELETE")  # no side files

    def free_name(self, what: str) -> Path:
        """Return a name for a copy beside the file that no earlier copy has."""
        wanted = self.path.with_name(f"{self.path.name}.{what}")
        others = (wanted.with_name(f"{wanted.name}-{number}") for number in itertools.count(2))
        names = (wanted, *itertools.islice(others, _MOST_COPIES))
        return next(it for it in names if not it.exists())

    def close(self) -> None:
        """Close every connection."""
        super().close()
        if "_nothing_yet" in vars(self):
            self._nothing_yet.dispose()

    def prepare(self) -> None:
        """Check that the file, where there is one, is a shelf, and bring it up to date.

        Raises FileError, having changed nothing, when the file is something else, belongs to
        another program, is damaged, or was written by a newer version, and when there is none and
        none can be made.
        """
        with self._guarded():
            self._absent = not self.path.exists()
        if self._absent:
            self._refuse_closed_folder()
            return
        self._refuse_foreign_file()
        lies = self._as_it_lies()
        if lies is None:
            self._open_file()
        else:
            self._open_closed(lies)

    @cached_property
    def _nothing_yet(self) -> sa.Engine:
        """An empty shelf in memory, for those who look before there is a file."""
        engine = sa.create_engine("sqlite://", poolclass=sa.StaticPool)
        with engine.begin() as connection:
            migrations.create(connection)
        return engine

    def _open_file(self) -> None:
        self._absent = False
        with self._guarded():
            self.path.parent.mkdir(parents=True, exist_ok=True)
        version = self._version_here()
        self._turn_to_wal()
        if version < SCHEMA_VERSION:
            self._bring_up_to_date()

    @property
    def _folder(self) -> Path:
        return self.path.resolve().parent

    def _as_it_lies(self) -> bytes | None:
        """Return a file that can't be read otherwise, since SQLite writes beside what it reads.

        None where that may be, and where somebody else is writing to it.
        """
        if os.access(self._folder, os.W_OK):
            return None
        with self._guarded():
            before = self.path.stat()
            data = self.path.read_bytes()
            after = self.path.stat()
        waits = self._folder / f"{self.path.resolve().name}-wal"
        is_whole = not waits.exists() or waits.stat().st_size == 0
        same = (before.st_size, before.st_mtime_ns) == (after.st_size, after.st_mtime_ns)
        return data if is_whole and same else None

    def _open_closed(self, data: bytes) -> None:
        self._is_closed = True
        copy = sqlite3.connect(":memory:", check_same_thread=False, isolation_level=None)
        # The copy has no side files, as its head must say (SQLite's file format, 1.3.3).
        copy.deserialize(data[:18] + b"\1\1" + data[20:])
        self._engine = sa.create_engine("sqlite://", creator=lambda: copy, poolclass=sa.StaticPool)
        event.listen(self._engine, "begin", _begin)
        if self._version_here() < SCHEMA_VERSION:
            self._bring_up_to_date()  # which says why not

    def _keep_copy(self) -> None:
        self.copy_to(self.free_name(f"before-version-{SCHEMA_VERSION}"))

    def _refuse_foreign_file(self) -> None:
        with self._guarded():
            check_is_file(self.path)
            with self.path.open("rb") as file:
                head = file.read(len(_MAGIC))
        if head not in (b"", _MAGIC):
            raise FileError.of(
                "not-a-shelf",
                "this file is not a shelf; nothing in it was touched",
                place=self.place,
                hint=self._elsewhere,
            )

    def _refuse_closed_folder(self) -> None:
        folder = next(it for it in self.path.absolute().parents if it.exists())
        if not folder.is_dir() or not os.access(folder, os.W_OK):
            raise FileError.of(
                "shelf-trouble",
                f"the shelf cannot be made: nothing may be written in {folder}",
                place=self.place,
                hint="choose another file with --shelf, or see to the rights of the folder",
            )

    def _turn_to_wal(self) -> None:
        """Turn write-ahead mode on, once. Another run may be doing the same at this moment."""
        give_up = time.monotonic() + self.wait_s
        with self.raw() as connection:
            while connection.execute("PRAGMA journal_mode").fetchone() != ("wal",):
                try:
                    connection.execute("PRAGMA journal_mode = WAL")
                except sqlite3.OperationalError as problem:
                    # SQLite does not wait for a lock here, so we do
                    if "locked" not in str(problem) or time.monotonic() > give_up:
                        raise
                    time.sleep(0.02)

    @contextlib.contextmanager
    def _guarded(self) -> Iterator[None]:
        """Turn the database's and the file system's complaints into ours."""
        try:
            yield
        except sa.exc.IntegrityError:
            raise  # a rule of the tables broken by us is a mistake in the program
        except (sa.exc.DBAPIError, sqlite3.Error, OSError) as problem:
            cause = problem.orig if isinstance(problem, sa.exc.DBAPIError) else problem
            if is_busy(cause):
                raise self.busy() from problem
            raise FileError.of(
                "shelf-trouble",
                f"the shelf cannot be read or written: {cause}",
                place=self.place,
                hint="check disk space and permissions; 'inkaccord shelf verify' looks for damage",
            ) from problem


def is_busy(problem: BaseException | None) -> bool:
    """Tell whether another one holds a lock, for whatever reason SQLite has for that."""
    code = getattr(problem, "sqlite_errorcode", None)
    return code is not None and code & 0xFF in {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}


def _connected(connection: sqlite3.Connection, _record: Any) -> None:
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA synchronous = FULL")


def _begin(connection: sa.Connection) -> None:
    connection.exec_driver_sql(connection.get_execution_options().get("begin", "BEGIN"))
