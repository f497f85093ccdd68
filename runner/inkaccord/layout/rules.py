"""What the person who lays an order can choose about its files."""

from enum import StrEnum
from typing import Literal

from inkaccord.layout.marks import MarkRules
from inkaccord.models import Frozen


class RecordOrder(StrEnum):
    """Where the next record lies, when every copy of a piece has its own page."""

    ACROSS = "across"
    """Next to the last one on the same sheet."""
    STACKS = "stacks"
    """Under the last one: when the sheets are cut, every pile is in order."""


class ImposeRules(Frozen):
    """What the file of sheets holds."""

    marks: MarkRules | None = None
    side: Literal[1, 2] | None = None
    """Only this side; None writes fronts and backs in turn."""
    repeat: bool = False
    """Write every sheet of a run as a page, not one for each layout."""
    records: RecordOrder = RecordOrder.STACKS
    pdf_version: str = "1.7"
    title: str = ""
