"""The version stands in a table of its own, where version 7 does not look."""

from alembic import op

revision, down_revision = "8", "7"


def upgrade() -> None:
    """Drop the table in which a server's shelf of version 7 said so."""
    op.execute("DROP TABLE IF EXISTS shelf")
