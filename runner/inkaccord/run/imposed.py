"""What imposing gives: print files, and how their sheets are printed and cut."""

from dataclasses import dataclass, field

from inkaccord.diagnostics import Diagnostic
from inkaccord.models import Frozen
from inkaccord.run.files import OutFile

BoxMm = tuple[float, float, float, float]
"""Left, bottom, right, top, from the sheet's lower left corner; of a line from (x, y) to (x, y)."""


class LaidTrim(Frozen):
    """One copy of a piece on a sheet, seen from the front."""

    piece: str
    box_mm: BoxMm
    bleed_mm: BoxMm
    """The same with its bleed."""
    folds_mm: tuple[BoxMm, ...] = ()
    """Where it is folded, from end to end."""


class CutLine(Frozen):
    """One cut of the cut plan, where it lies on the sheet."""

    number: int
    """Of its line in the plan; papers that are cut at one setting have a cut each."""
    ends_mm: BoxMm
    """From (x, y) to (x, y): across the paper that then lies on the table."""


class SheetRun(Frozen):
    """One imposed sheet and how many of it are printed."""

    vendor: str
    device: str
    stock: str
    pieces: dict[str, int]
    """How many of each piece stand on one sheet."""
    run: int
    width_mm: float
    height_mm: float
    printable_mm: BoxMm
    """What the device prints of it."""
    used: float
    """Share of the sheet that becomes pieces, 0 to 1."""
    path: str
    cut_plan: tuple[str, ...] = ()
    turns: int = 0
    """How often the pile is turned while it is cut."""
    trims: tuple[LaidTrim, ...] = ()
    cuts: tuple[CutLine, ...] = ()


@dataclass(frozen=True)
class Imposed:
    """Print files, and what they say to the person who prints and cuts."""

    files: tuple[OutFile, ...] = ()
    sheets: tuple[SheetRun, ...] = ()
    notes: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """Lines for a vendor's order sheet, by vendor."""
    bounds: tuple[str, ...] = ()
    """What is known of the best possible layout, in words."""
    failed: dict[str, str] = field(default_factory=dict)
    findings: tuple[Diagnostic, ...] = ()
