"""Printed sheets are lent and come home, in so many copies, and may lie in the light."""

import sqlalchemy as sa
from alembic import op

revision, down_revision = "10", "9"


def upgrade() -> None:
    """Let a move say of how many copies, and whether they lie in the light."""
    op.add_column("moves", sa.Column("copies", sa.Integer(), nullable=True))
    op.add_column("moves", sa.Column("in_light", sa.Boolean(), nullable=True))
