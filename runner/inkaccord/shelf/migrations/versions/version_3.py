"""A sheet may hold controls alone, a purpose that version 2 can't read."""

revision, down_revision = "3", "2"


def upgrade() -> None:
    """Change no table."""
