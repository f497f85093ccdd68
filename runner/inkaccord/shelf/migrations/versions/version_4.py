"""Sheets are printed, and withdrawn when their order no longer asks for them."""

import sqlalchemy as sa
from alembic import op

from inkaccord.shelf.schema import TEXT

revision, down_revision = "4", "3"


def upgrade() -> None:
    """Add when, and why."""
    for column in ("printed_at", "withdrawn_at", "withdrawn_why"):
        op.add_column("sheets", sa.Column(column, TEXT))
