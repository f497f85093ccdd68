"""Single readings are retired too."""

import sqlalchemy as sa
from alembic import op

from inkaccord.shelf.schema import TEXT

revision, down_revision = "2", None


def upgrade() -> None:
    """Add when, by whom and why."""
    for column in ("retired_at", "retired_by", "retired_why"):
        op.add_column("records", sa.Column(column, TEXT))
