"""Where printed sheets went."""

import sqlalchemy as sa
from alembic import op

from inkaccord.shelf.schema import TEXT

revision, down_revision = "7", "6"


def upgrade() -> None:
    """Add a row for each time."""
    op.create_table(
        "moves",
        sa.Column("sheet_id", TEXT, sa.ForeignKey("sheets.id"), primary_key=True),
        sa.Column("at", TEXT, primary_key=True),
        sa.Column("kind", TEXT, primary_key=True),
        sa.Column("place", TEXT, nullable=False),
        sa.Column("by", TEXT, nullable=False),
    )
