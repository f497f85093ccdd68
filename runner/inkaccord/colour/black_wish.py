"""What may be asked of a colour's black."""

from enum import StrEnum


class BlackWish(StrEnum):
    """What a designer asks of one colour's black."""

    KEEP = "keep"
    """The black that the artwork has: type in black alone stays one ink, with no edge out of
    register; in a mixture its share stays."""
    LEAST = "least"
    """As little as the colour allows."""
    MOST = "most"
    """As much as the colour allows."""
