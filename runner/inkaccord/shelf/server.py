"""A shelf on a PostgreSQL server: opening it, who waits for whom, and what may go wrong."""

import contextlib
import importlib.util
from collections.abc import Iterator

import sqlalchemy as sa

from inkaccord.diagnostics import Place
from inkaccord.errors import FileError
from inkaccord.shelf.guarded import WAIT_S, GuardedDatabase
from inkaccord.shelf.place import Server
from inkaccord.shelf.refusals import for_its_owner
from inkaccord.shelf.schema import SCHEMA_VERSION

_LOCK = 0x696E6B61
_BUSY = "55P03"
_NO_RIGHT = {"42501", "3F000"}
"""PostgreSQL, appendix A, error codes: lock_not_available; insufficient_privilege, and
invalid_schema_name, which who may not use a schema is told as if there were none."""
_READ_ONLY = "shelf-read-only"


class ServerDatabase(GuardedDatabase):
    """A database on a server, or one of its schemas, which holds a shelf and nothing else.

    As with a file, readers never wait and see one state; those who write follow each other.
    """

    _elsewhere = "make an empty database or schema for the shelf"

    def __init__(self, server: Server) -> None:
        super().__init__(WAIT_S)
        self.server = server
        if importlib.util.find_spec("psycopg") is None:
            raise FileError.of(
                "no-driver",
                "a shelf on a server needs a library that is not installed",
                place=self.place,
                hint="pip install 'inkaccord[postgres]'",
            )
        self._engine = sa.create_engine(
            sa.make_url(server.address).set(drivername="postgresql+psycopg"),
            pool_pre_ping=True,  # a server that was restarted meanwhile is no trouble
            connect_args={
                "connect_timeout": WAIT_S,
                "tcp_user_timeout": WAIT_S * 1000,
                "application_name": "inkaccord",
            },
        )

    @property
    def place(self) -> Place:
        """Where it is, as messages name it."""
        return Place(file=str(self.server))

    def _to_read(self) -> sa.Engine:
        return self._engine.execution_options(
            isolation_level="REPEATABLE READ", postgresql_readonly=True
        )

    @contextlib.contextmanager
    def _to_write(self) -> Iterator[sa.Connection]:
        """Give a connection in a transaction that is kept whole or not at all. Raises FileError.

        It waits until nobody else writes, and then sees all that was written.
        """
        with self._guarded(changing=True), self._engine.begin() as connection:
            wait = sa.select(sa.func.set_config("lock_timeout", f"{self.wait_s * 1000:.0f}", True))
            connection.execute(wait)
            schema = sa.func.hashtext(sa.func.current_schema())
            connection.execute(sa.select(sa.func.pg_advisory_xact_lock(_LOCK, schema)))
            yield connection

    def prepare(self) -> None:
        """Make a shelf of an empty database, or bring an older one up to date.

        Raises FileError, having changed nothing, when the database is another program's, or was
        written by a newer version.
        """
        version = self._version_here()
        if version < SCHEMA_VERSION:
            try:
                self._bring_up_to_date()
            except FileError as problem:
                if problem.findings[0].code == _READ_ONLY:
                    raise for_its_owner(version, self.place) from problem
                raise

    def _keep_copy(self) -> None:
        """Keep none: the server's own back-up has it."""

    @contextlib.contextmanager
    def _guarded(self, *, changing: bool = False) -> Iterator[None]:
        """Turn the server's complaints into ours."""
        try:
            yield
        except sa.exc.IntegrityError:
            raise  # a rule of the tables broken by us is a mistake in the program
        except (sa.exc.DBAPIError, sa.exc.ArgumentError) as problem:
            raise self._trouble(problem, changing) from problem

    def _trouble(self, problem: sa.exc.SQLAlchemyError, changing: bool) -> FileError:
        cause = problem.orig if isinstance(problem, sa.exc.DBAPIError) else problem
        state = getattr(cause, "sqlstate", None)
        said = str(cause).strip().partition("\n")[0]
        if state == _BUSY:
            return self.busy()
        if state in _NO_RIGHT and changing:
            code, what = _READ_ONLY, f"you may read this shelf, not change it: {said}"
            hint = "ask whoever keeps the server for the right to record; nothing was changed"
        elif state in _NO_RIGHT:
            code, what = "shelf-closed", f"you may not read this shelf: {said}"
            hint = "ask whoever keeps the server for the right to"
        elif isinstance(problem, sa.exc.OperationalError):
            code, what = "no-server", f"there is no connection to the shelf's server: {said}"
            hint = (
                "see to the address, the password (~/.pgpass, PGPASSWORD) or the server, then do "
                "this again: nothing was half kept"
            )
        else:
            code, what = "shelf-trouble", f"the shelf cannot be read or written: {said}"
            hint = "nothing was half kept; 'inkaccord shelf verify' looks for damage"
        return FileError.of(code, what, place=self.place, hint=hint)
