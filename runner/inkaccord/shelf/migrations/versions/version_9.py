"""A set of many swatches has another name among the purposes of sheets."""

import sqlalchemy as sa
from alembic import op

revision, down_revision = "9", "8"


def upgrade() -> None:
    """Rename the purpose."""
    sheets = sa.table("sheets", sa.column("purpose"))
    op.execute(sa.update(sheets).where(sheets.c.purpose == "deck").values(purpose="swatch-set"))
