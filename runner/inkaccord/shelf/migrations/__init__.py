"""Making a shelf's tables, and bringing older ones up to date, one version at a time."""

import threading

import sqlalchemy as sa

from inkaccord.shelf.schema import APPLICATION_ID, SCHEMA_VERSION, metadata, versions

_ALEMBIC = threading.Lock()
"""It has one context for the whole process."""


def version_of(connection: sa.Connection) -> int | None:
    """Return the version of a shelf's tables; 0 where there are none, None where others' are.

    Raises ValueError where the table that says it was spoilt.
    """
    names = sa.inspect(connection).get_table_names()
    if not names:
        return 0
    if _is_file(connection) and _pragma(connection, "application_id") != APPLICATION_ID:
        return None
    if versions.name in names:
        (said,) = connection.execute(sa.select(versions.c.version_num)).scalars()
        return int(said)
    if _is_file(connection):
        return _pragma(connection, "user_version")
    # a server's shelf of version 7, the first that there was, has a table 'shelf' that says so
    return 7 if {"shelf", "sheets", "moves"} <= {*names} else None


def create(connection: sa.Connection) -> None:
    """Create every table, inside the transaction that is open."""
    metadata.create_all(connection)
    connection.execute(sa.insert(versions), {"version_num": str(SCHEMA_VERSION)})
    _mark(connection)


def migrate(connection: sa.Connection, version: int) -> None:
    """Take an older shelf to the present version, inside the transaction that is open."""
    # loaded for this alone: it takes longer than opening a shelf
    from alembic import command  # noqa: PLC0415
    from alembic.config import Config  # noqa: PLC0415

    how = Config()
    how.set_main_option("script_location", "inkaccord.shelf:migrations")
    how.attributes["connection"] = connection
    with _ALEMBIC:
        if not sa.inspect(connection).has_table(versions.name):
            # there is no revision that makes the tables of version 1
            command.stamp(how, str(version) if version > 1 else "base")
        command.upgrade(how, "head")
    _mark(connection)


def _mark(connection: sa.Connection) -> None:
    """Say in a file's header whose it is, and its version too: earlier programs look there."""
    if _is_file(connection):
        connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.exec_driver_sql(f"PRAGMA user_version = {SCHEMA_VERSION}")


def _is_file(connection: sa.Connection) -> bool:
    return connection.dialect.name == "sqlite"


def _pragma(connection: sa.Connection, name: str) -> int:
    return int(connection.exec_driver_sql(f"PRAGMA {name}").scalar_one())
