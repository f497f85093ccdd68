"""The studio's book of colours."""

import sqlalchemy as sa
from alembic import op

from inkaccord.shelf.schema import TEXT

revision, down_revision = "6", "5"


def upgrade() -> None:
    """Add its editions, and with which of them an order was first run."""
    op.create_table(
        "book",
        sa.Column("key", TEXT, primary_key=True),
        sa.Column("edition", sa.Integer, primary_key=True, autoincrement=False),
        *(
            sa.Column(name, TEXT, nullable=False)
            for name in ("content", "digest", "added_at", "added_by")
        ),
    )
    op.create_table(
        "book_uses",
        sa.Column("order_name", TEXT, primary_key=True),
        sa.Column("colour", TEXT, primary_key=True),
        sa.Column("key", TEXT, nullable=False),
        sa.Column("edition", sa.Integer, nullable=False),
    )
