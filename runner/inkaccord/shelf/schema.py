"""The tables of the shelf, and the version that says which tables a file holds."""

import sqlalchemy as sa

APPLICATION_ID = 0x696E6B61
"""Marks an SQLite file as a shelf ('inka'), in the file's own header."""
SCHEMA_VERSION = 10
"""Raised with every change that an older version can't read, of tables or of the words in them,
together with a revision in :mod:`.migrations`."""

metadata = sa.MetaData(
    naming_convention={
        "pk": "pk_%(table_name)s",
        "fk": "fk_%(table_name)s_%(referred_table_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    }
)


TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
"""In the same order everywhere."""


def _text(name: str, *, optional: bool = False) -> sa.Column[str]:
    return sa.Column(name, TEXT, nullable=optional)


def _real(name: str, *, optional: bool = False) -> sa.Column[float]:
    return sa.Column(name, sa.Float, nullable=optional)


sheets = sa.Table(
    "sheets",
    metadata,
    sa.Column("id", TEXT, primary_key=True),
    _text("pair"),
    _text("drive"),
    _text("purpose"),
    _text("layout"),
    _text("order_name"),
    _text("date"),
    _text("added_at"),
    _text("added_by"),
    _text("retired_at", optional=True),
    _text("retired_by", optional=True),
    _text("retired_why", optional=True),
    _text("printed_at", optional=True),
    _text("withdrawn_at", optional=True),
    _text("withdrawn_why", optional=True),
    sa.Index(None, "pair"),
)
"""Sample sheets. Dates are ISO 8601 text; moments are UTC; the layout is JSON."""

swatches = sa.Table(
    "swatches",
    metadata,
    sa.Column("sheet_id", TEXT, sa.ForeignKey(sheets.c.id), primary_key=True),
    sa.Column("id", TEXT, primary_key=True),
    sa.Column("position", sa.Integer, nullable=False),
    _real("v1"),
    _real("v2"),
    _real("v3"),
    _real("v4", optional=True),
    sa.Column("control", sa.Boolean, nullable=False),
    _text("colour", optional=True),
    sa.Column("for_eye", sa.Boolean, nullable=True),
    _text("ways", optional=True),
    sa.Column("page", sa.Integer, nullable=False),
    _real("left_pt", optional=True),
    _real("bottom_pt", optional=True),
    _real("right_pt", optional=True),
    _real("top_pt", optional=True),
    sa.UniqueConstraint("sheet_id", "position"),
)
"""Swatches in the order of their sheet. v1 to v4 are the build: C M Y K, or R G B and nothing."""

records = sa.Table(
    "records",
    metadata,
    sa.Column("digest", TEXT, primary_key=True),
    sa.Column("sheet_id", TEXT, sa.ForeignKey(sheets.c.id), nullable=False, index=True),
    _text("illuminant"),
    _text("observer"),
    _text("mode", optional=True),
    _text("backing", optional=True),
    _text("wavelengths_nm", optional=True),
    _real("noise"),
    _text("device"),
    _text("read_on", optional=True),
    _text("source"),
    _text("source_sha256"),
    _text("recorded_at"),
    _text("recorded_by"),
    _text("retired_at", optional=True),
    _text("retired_by", optional=True),
    _text("retired_why", optional=True),
)
"""One row for each time that a sheet was read; named by the digest of what was read."""

readings = sa.Table(
    "readings",
    metadata,
    sa.Column("record", TEXT, sa.ForeignKey(records.c.digest), primary_key=True),
    sa.Column("position", sa.Integer, primary_key=True),
    sa.Column("sheet_id", TEXT, nullable=False),
    sa.Column("swatch_id", TEXT, nullable=False),
    _real("lab_l"),
    _real("lab_a"),
    _real("lab_b"),
    sa.Column("spectrum", sa.LargeBinary, nullable=True),
    sa.UniqueConstraint("record", "swatch_id"),
    sa.ForeignKeyConstraint(["sheet_id", "swatch_id"], [swatches.c.sheet_id, swatches.c.id]),
)
"""One row for each swatch read. Spectra are little-endian 64-bit floats."""

picks = sa.Table(
    "picks",
    metadata,
    sa.Column("digest", TEXT, primary_key=True),
    sa.Column("sheet_id", TEXT, sa.ForeignKey(sheets.c.id), nullable=False),
    sa.Column("swatch_id", TEXT, nullable=True),
    _text("between_id", optional=True),
    _text("then_id", optional=True),
    _text("among", optional=True),
    sa.Column("turn", sa.Integer, nullable=True),
    _text("colour"),
    _text("nudge", optional=True),
    _text("picked_by"),
    _text("light"),
    _real("sure"),
    _text("picked_on", optional=True),
    _real("v1", optional=True),
    _real("v2", optional=True),
    _real("v3", optional=True),
    _real("v4", optional=True),
    _real("error", optional=True),
    _text("recorded_at"),
    _text("recorded_by"),
    sa.ForeignKeyConstraint(["sheet_id", "swatch_id"], [swatches.c.sheet_id, swatches.c.id]),
    sa.ForeignKeyConstraint(
        ["sheet_id", "between_id"],
        [swatches.c.sheet_id, swatches.c.id],
        name="fk_picks_swatches_between",
    ),
    sa.ForeignKeyConstraint(
        ["sheet_id", "then_id"],
        [swatches.c.sheet_id, swatches.c.id],
        name="fk_picks_swatches_then",
    ),
    sa.Index(None, "sheet_id"),
)
"""Looks at sheets. v1 to v4 are a build that was found on a scanner's glass."""

served = sa.Table(
    "served",
    metadata,
    sa.Column("pair", TEXT, primary_key=True),
    sa.Column("order_name", TEXT, primary_key=True),
    sa.Column("colour", TEXT, primary_key=True),
    _text("served_at"),
)
"""Which colours of which orders were translated with a pair's evidence."""

book = sa.Table(
    "book",
    metadata,
    sa.Column("key", TEXT, primary_key=True),
    sa.Column("edition", sa.Integer, primary_key=True, autoincrement=False),
    _text("content"),
    _text("digest"),
    _text("added_at"),
    _text("added_by"),
)
"""What the studio's book says of its colours, as JSON, an edition a row; no row is ever changed."""

book_uses = sa.Table(
    "book_uses",
    metadata,
    sa.Column("order_name", TEXT, primary_key=True),
    sa.Column("colour", TEXT, primary_key=True),
    _text("key"),
    sa.Column("edition", sa.Integer, nullable=False),
)
"""With which edition of a book's colour an order was first run."""

moves = sa.Table(
    "moves",
    metadata,
    sa.Column("sheet_id", TEXT, sa.ForeignKey(sheets.c.id), primary_key=True),
    sa.Column("at", TEXT, primary_key=True),
    sa.Column("kind", TEXT, primary_key=True),
    _text("place"),
    _text("by"),
    sa.Column("copies", sa.Integer, nullable=True),
    sa.Column("in_light", sa.Boolean, nullable=True),
)
"""Where printed sheets went: sent to be printed, come back, laid somewhere, lent, returned."""

versions = sa.Table(
    "shelf_version", metadata, sa.Column("version_num", sa.String(32), primary_key=True)
)
"""Alembic's table: one row with the version of the others. Up to 7 it stood in a file's header."""
