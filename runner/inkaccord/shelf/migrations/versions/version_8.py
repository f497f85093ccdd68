"""The version stands in a table of its own, where version 7 does not look."""

revision, down_revision = "8", "7"


def upgrade() -> None:
    """Change no table."""
