"""A shelf of the first version, as it was written then."""

import sqlite3
from pathlib import Path

import sqlalchemy as sa
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext

from inkaccord.shelf.schema import APPLICATION_ID, metadata

PICK_DIGEST = "1fd10dca7ae3d177b8f31596e218d48b9620e5bd7a222bc8a315f1fa4a2243de"
"""As versions 1 to 4 named this pick."""
VERSION_1 = """
CREATE TABLE sheets (id TEXT NOT NULL PRIMARY KEY, pair TEXT NOT NULL, drive TEXT NOT NULL,
    purpose TEXT NOT NULL, layout TEXT NOT NULL, order_name TEXT NOT NULL, date TEXT NOT NULL,
    added_at TEXT NOT NULL, added_by TEXT NOT NULL, retired_at TEXT, retired_by TEXT,
    retired_why TEXT);
CREATE TABLE swatches (sheet_id TEXT NOT NULL REFERENCES sheets (id), id TEXT NOT NULL,
    position INTEGER NOT NULL, v1 FLOAT NOT NULL, v2 FLOAT NOT NULL, v3 FLOAT NOT NULL, v4 FLOAT,
    control BOOLEAN NOT NULL, colour TEXT, page INTEGER NOT NULL, left_pt FLOAT, bottom_pt FLOAT,
    right_pt FLOAT, top_pt FLOAT, PRIMARY KEY (sheet_id, id),
    CONSTRAINT uq_swatches_sheet_id_position UNIQUE (sheet_id, position));
CREATE TABLE records (digest TEXT NOT NULL PRIMARY KEY,
    sheet_id TEXT NOT NULL REFERENCES sheets (id), illuminant TEXT NOT NULL,
    observer TEXT NOT NULL, mode TEXT, backing TEXT, wavelengths_nm TEXT, noise FLOAT NOT NULL,
    device TEXT NOT NULL, read_on TEXT, source TEXT NOT NULL, source_sha256 TEXT NOT NULL,
    recorded_at TEXT NOT NULL, recorded_by TEXT NOT NULL);
CREATE TABLE readings (record TEXT NOT NULL REFERENCES records (digest),
    position INTEGER NOT NULL, sheet_id TEXT NOT NULL, swatch_id TEXT NOT NULL,
    lab_l FLOAT NOT NULL, lab_a FLOAT NOT NULL, lab_b FLOAT NOT NULL, spectrum BLOB,
    PRIMARY KEY (record, position),
    CONSTRAINT uq_readings_record_swatch_id UNIQUE (record, swatch_id),
    FOREIGN KEY (sheet_id, swatch_id) REFERENCES swatches (sheet_id, id));
CREATE TABLE picks (digest TEXT NOT NULL PRIMARY KEY, sheet_id TEXT NOT NULL,
    swatch_id TEXT NOT NULL, between_id TEXT, colour TEXT NOT NULL, nudge TEXT,
    picked_by TEXT NOT NULL, light TEXT NOT NULL, sure FLOAT NOT NULL, picked_on TEXT,
    recorded_at TEXT NOT NULL, recorded_by TEXT NOT NULL,
    FOREIGN KEY (sheet_id, swatch_id) REFERENCES swatches (sheet_id, id),
    FOREIGN KEY (sheet_id, between_id) REFERENCES swatches (sheet_id, id));
CREATE TABLE served (pair TEXT NOT NULL, order_name TEXT NOT NULL, colour TEXT NOT NULL,
    served_at TEXT NOT NULL, PRIMARY KEY (pair, order_name, colour));
CREATE INDEX ix_sheets_pair ON sheets (pair);
CREATE INDEX ix_records_sheet_id ON records (sheet_id);
CREATE INDEX ix_picks_sheet_id ON picks (sheet_id);
INSERT INTO sheets VALUES ('K7Q-XM3', 'laser@kraft', 'cmyk', 'scouting',
    '{"size": {"width_pt": 100.0, "height_pt": 200.0}}', 'autumn', '2026-03-14',
    '2026-03-14T09:00:00+00:00', 'Ida', NULL, NULL, NULL);
INSERT INTO swatches VALUES ('K7Q-XM3', 'B7', 0, 85, 20, 60, 30, FALSE, NULL, 1, 1, 2,
    3, 4);
INSERT INTO records VALUES ('00ff', 'K7Q-XM3', 'D50', '2', 'M1', NULL, NULL, 0.3, 'spectro', NULL,
    'f.txt', 'aa', '2026-03-15T09:00:00+00:00', 'Ida');
INSERT INTO picks VALUES ('PICKDIGEST', 'K7Q-XM3', 'B7', NULL, 'kelp', 'darker', 'Ida',
    'window', 0.75, '2026-03-16', '2026-03-16T09:00:00+00:00', 'Ida');
INSERT INTO readings VALUES ('00ff', 0, 'K7Q-XM3', 'B7', 41.5, -22.25, 9.0, NULL);
"""


VERSION_4 = Path(__file__).parent / "shelf" / "version_4.sql"
"""What version 4 wrote for a sheet of 15 swatches, its readings and two picks."""


def old_shelf(path: Path, version: int = 1, sql: str = VERSION_1) -> None:
    connection = sqlite3.connect(path)
    connection.executescript(sql.replace("PICKDIGEST", PICK_DIGEST))
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    connection.execute(f"PRAGMA user_version = {version}")
    connection.commit()
    connection.close()


def differences(connection: sa.Connection) -> list[object]:
    """Return how the tables of a shelf differ from those of :mod:`inkaccord.shelf.schema`."""
    how = {"version_table": "none", "target_metadata": metadata}
    return list(compare_metadata(MigrationContext.configure(connection, opts=how), metadata))
