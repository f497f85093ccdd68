"""What the two kinds of database have in common: readers see one state, and waiting has an end."""

import contextlib
from abc import ABC, abstractmethod
from collections.abc import Iterator

import sqlalchemy as sa

from inkaccord.diagnostics import Place
from inkaccord.errors import FileError
from inkaccord.shelf import changes, migrations
from inkaccord.shelf.changes import Change
from inkaccord.shelf.refusals import another_programs, busy, newer, spoilt
from inkaccord.shelf.schema import SCHEMA_VERSION

WAIT_S = 30
"""How long one run waits for another that is writing, or for a server that does not answer."""


class GuardedDatabase(ABC):
    """A database that holds a shelf, and says in our words what goes wrong with it."""

    _engine: sa.Engine
    _elsewhere: str
    """How one who named another program's database can mend it."""

    def __init__(self, wait_s: float) -> None:
        self.wait_s = wait_s
        self._seen: sa.Connection | None = None
        """The connection of those who are reading."""
        self._noted: list[Change] | None = None
        """What was changed, where that is noted."""

    @property
    @abstractmethod
    def place(self) -> Place:
        """Where it is, as messages name it."""

    @contextlib.contextmanager
    def reading(self) -> Iterator[sa.Connection]:
        """Give a connection that sees one state throughout. Raises FileError.

        Inside it another one sees that same state.
        """
        if self._seen is not None:
            yield self._seen
            return
        engine = self._to_read()
        with self._guarded(), engine.begin() as connection:
            self._seen = connection
            try:
                yield connection
            finally:
                self._seen = None

    @contextlib.contextmanager
    def supposing(self) -> Iterator[sa.Connection]:
        """Give a connection whose changes those who read inside see, and which is undone then."""
        with self._to_write() as connection:
            self._seen = connection
            try:
                yield connection
            finally:
                self._seen = None
                connection.get_transaction().rollback()  # type: ignore[union-attr]

    @contextlib.contextmanager
    def writing(self) -> Iterator[sa.Connection]:
        """Give a connection in a transaction that is kept whole or not at all. Raises FileError."""
        with self._to_write() as connection:
            if self._noted is None:
                yield connection
                return
            changed = changes.watched(connection)
            yield connection
            change = changed()
        if change:
            self._noted.append(change)

    @contextlib.contextmanager
    def noting(self) -> Iterator[list[Change]]:
        """Note what each transaction inside changes."""
        noted: list[Change] = []
        self._noted = noted
        try:
            yield noted
        finally:
            self._noted = None

    @abstractmethod
    def _to_write(self) -> contextlib.AbstractContextManager[sa.Connection]:
        """Give a connection in a transaction of its own, for which others who write wait."""

    def version(self, connection: sa.Connection) -> int:
        """Return the version of the shelf, 0 where there is nothing. Raises FileError."""
        try:
            version = migrations.version_of(connection)
        except ValueError as problem:
            raise spoilt(self.place) from problem
        if version is None:
            raise another_programs(self.place, self._elsewhere)
        if version > SCHEMA_VERSION:
            raise newer(version, self.place)
        return version

    def close(self) -> None:
        """Close every connection."""
        self._engine.dispose()

    def busy(self) -> FileError:
        """Return what is said when another one has kept the lock for too long."""
        return busy(self.wait_s, self.place)

    def _version_here(self) -> int:
        with self._guarded(), self._engine.begin() as connection:
            return self.version(connection)

    def _bring_up_to_date(self) -> None:
        with self._to_write() as connection:
            # another one may have been first while we waited for the lock
            version = self.version(connection)
            if version == 0:
                migrations.create(connection)
            elif version < SCHEMA_VERSION:
                self._keep_copy()
                migrations.migrate(connection, version)

    @abstractmethod
    def _keep_copy(self) -> None:
        """Keep a copy of an older shelf before it is changed, where that is ours to do."""

    @abstractmethod
    def _to_read(self) -> sa.Engine:
        """Return what those who read connect with."""

    @abstractmethod
    def _guarded(self) -> contextlib.AbstractContextManager[None]:
        """Turn its complaints into ours."""
