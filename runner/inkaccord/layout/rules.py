"""What the person who lays an order can choose about its files."""

from inkaccord.layout.marks import MarkRules
from inkaccord.models import Frozen


class ImposeRules(Frozen):
    """What the file of sheets holds."""

    marks: MarkRules | None = None
    slugs: tuple[tuple[str, ...], ...] = ()
    """The slug line of each side of each layout, in place of the marks' own."""
    pdf_version: str = "1.7"
    title: str = ""
