"""What the two kinds of database have in common: readers see one state, and waiting has an end."""

import contextlib
from abc import ABC, abstractmethod
from collections.abc import Iterator

import sqlalchemy as sa

from inkaccord.diagnostics import Place
from inkaccord.errors import FileError
from inkaccord.shelf.refusals import busy

WAIT_S = 30
"""How long one run waits for another that is writing, or for a server that does not answer."""


class GuardedDatabase(ABC):
    """A database that holds a shelf, and says in our words what goes wrong with it."""

    _engine: sa.Engine

    def __init__(self, wait_s: float) -> None:
        self.wait_s = wait_s
        self._seen: sa.Connection | None = None
        """The connection of those who are reading."""

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

    def close(self) -> None:
        """Close every connection."""
        self._engine.dispose()

    def busy(self) -> FileError:
        """Return what is said when another one has kept the lock for too long."""
        return busy(self.wait_s, self.place)

    @abstractmethod
    def _to_read(self) -> sa.Engine:
        """Return what those who read connect with."""

    @abstractmethod
    def _guarded(self) -> contextlib.AbstractContextManager[None]:
        """Turn its complaints into ours."""
