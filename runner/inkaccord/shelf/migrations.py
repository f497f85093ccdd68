"""Bringing an older shelf up to date, one version at a time, all steps or none."""

from collections.abc import Callable, Mapping

import sqlalchemy as sa

from inkaccord.shelf.schema import APPLICATION_ID, SCHEMA_VERSION, metadata

Step = Callable[[sa.Connection], None]


def _retire_single_readings(connection: sa.Connection) -> None:
    for column in ("retired_at", "retired_by", "retired_why"):
        connection.exec_driver_sql(f"ALTER TABLE records ADD COLUMN {column} TEXT")


def _sheets_of_controls(connection: sa.Connection) -> None:
    """Change no table: a sheet may now hold controls alone, a purpose that version 2 can't read."""
    del connection


def _printed_and_withdrawn(connection: sa.Connection) -> None:
    for column in ("printed_at", "withdrawn_at", "withdrawn_why"):
        connection.exec_driver_sql(f"ALTER TABLE sheets ADD COLUMN {column} TEXT")


_LOOKS = """
CREATE TABLE picks (
    digest TEXT NOT NULL, sheet_id TEXT NOT NULL, swatch_id TEXT, between_id TEXT, then_id TEXT,
    among TEXT, turn INTEGER, colour TEXT NOT NULL, nudge TEXT, picked_by TEXT NOT NULL,
    light TEXT NOT NULL, sure FLOAT NOT NULL, picked_on TEXT,
    v1 FLOAT, v2 FLOAT, v3 FLOAT, v4 FLOAT, error FLOAT,
    recorded_at TEXT NOT NULL, recorded_by TEXT NOT NULL,
    CONSTRAINT pk_picks PRIMARY KEY (digest),
    CONSTRAINT fk_picks_sheets FOREIGN KEY(sheet_id) REFERENCES sheets (id),
    CONSTRAINT fk_picks_swatches FOREIGN KEY(sheet_id, swatch_id)
        REFERENCES swatches (sheet_id, id),
    CONSTRAINT fk_picks_swatches_between FOREIGN KEY(sheet_id, between_id)
        REFERENCES swatches (sheet_id, id),
    CONSTRAINT fk_picks_swatches_then FOREIGN KEY(sheet_id, then_id)
        REFERENCES swatches (sheet_id, id)
)
"""
_KEPT = (
    "digest, sheet_id, swatch_id, between_id, colour, nudge, picked_by, light, sure, picked_on, "
    "recorded_at, recorded_by"
)


def _looks(connection: sa.Connection) -> None:
    """Let a look find no swatch right, name a second one, or be a scanner's.

    Which swatches are for the eye, and which ways they lead, is known of new sheets only.
    """
    connection.exec_driver_sql("ALTER TABLE swatches ADD COLUMN for_eye BOOLEAN")
    connection.exec_driver_sql("ALTER TABLE swatches ADD COLUMN ways TEXT")
    connection.exec_driver_sql("ALTER TABLE picks RENAME TO earlier_picks")
    connection.exec_driver_sql(_LOOKS)
    connection.exec_driver_sql(f"INSERT INTO picks ({_KEPT}) SELECT {_KEPT} FROM earlier_picks")  # noqa: S608
    connection.exec_driver_sql("DROP TABLE earlier_picks")
    connection.exec_driver_sql("CREATE INDEX ix_picks_sheet_id ON picks (sheet_id)")


def _book(connection: sa.Connection) -> None:
    connection.exec_driver_sql(
        "CREATE TABLE book (key TEXT NOT NULL, edition INTEGER NOT NULL, content TEXT NOT NULL, "
        "digest TEXT NOT NULL, added_at TEXT NOT NULL, added_by TEXT NOT NULL, "
        "CONSTRAINT pk_book PRIMARY KEY (key, edition))"
    )
    connection.exec_driver_sql(
        "CREATE TABLE book_uses (order_name TEXT NOT NULL, colour TEXT NOT NULL, "
        "key TEXT NOT NULL, edition INTEGER NOT NULL, "
        "CONSTRAINT pk_book_uses PRIMARY KEY (order_name, colour))"
    )


def _moves(connection: sa.Connection) -> None:
    connection.exec_driver_sql(
        "CREATE TABLE moves (sheet_id TEXT NOT NULL, at TEXT NOT NULL, kind TEXT NOT NULL, "
        "place TEXT NOT NULL, by TEXT NOT NULL, "
        "CONSTRAINT pk_moves PRIMARY KEY (sheet_id, at, kind), "
        "CONSTRAINT fk_moves_sheets FOREIGN KEY(sheet_id) REFERENCES sheets (id))"
    )


STEPS: Mapping[int, Step] = {
    1: _retire_single_readings,
    2: _sheets_of_controls,
    3: _printed_and_withdrawn,
    4: _looks,
    5: _book,
    6: _moves,
}
"""For each version the step that leads to the next one."""


def version_of(connection: sa.Connection) -> int:
    """Return the schema version that a database says it has; 0 for an empty one."""
    return int(connection.exec_driver_sql("PRAGMA user_version").scalar_one())


def application_of(connection: sa.Connection) -> int:
    """Return the mark in the database's header that says whose file it is."""
    return int(connection.exec_driver_sql("PRAGMA application_id").scalar_one())


def is_empty(connection: sa.Connection) -> bool:
    """Tell whether the database holds no table at all."""
    return not connection.exec_driver_sql("SELECT count(*) FROM sqlite_master").scalar_one()


def create(connection: sa.Connection) -> None:
    """Create every table and mark the file, inside the transaction that is open."""
    metadata.create_all(connection)
    connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")
    connection.exec_driver_sql(f"PRAGMA user_version = {SCHEMA_VERSION}")


def migrate(connection: sa.Connection, steps: Mapping[int, Step] = STEPS) -> None:
    """Take an older shelf to the present version, inside the transaction that is open."""
    for version in range(version_of(connection), SCHEMA_VERSION):
        steps[version](connection)
        connection.exec_driver_sql(f"PRAGMA user_version = {version + 1}")
