"""A look may find no swatch right, name a second one, or be a scanner's.

Which swatches are for the eye, and which ways they lead, is known of new sheets only.
"""

import sqlalchemy as sa
from alembic import op

from inkaccord.shelf.schema import TEXT

revision, down_revision = "5", "4"


def upgrade() -> None:
    """Add what such a look says; none needs a swatch."""
    op.add_column("swatches", sa.Column("for_eye", sa.Boolean))
    op.add_column("swatches", sa.Column("ways", TEXT))
    with op.batch_alter_table("picks") as picks:
        for column in ("then_id", "among"):
            picks.add_column(sa.Column(column, TEXT))
        picks.add_column(sa.Column("turn", sa.Integer))
        for column in ("v1", "v2", "v3", "v4", "error"):
            picks.add_column(sa.Column(column, sa.Float))
        picks.alter_column("swatch_id", existing_type=TEXT, nullable=True)
        picks.create_foreign_key("fk_picks_sheets", "sheets", ["sheet_id"], ["id"])
        picks.create_foreign_key(
            "fk_picks_swatches_then", "swatches", ["sheet_id", "then_id"], ["sheet_id", "id"]
        )
