"""What imposing gives: print files, and how their sheets are printed and cut."""

from dataclasses import dataclass, field

from inkaccord.diagnostics import Diagnostic
from inkaccord.layout.model import Axis, Duplex, Edge, Way
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


class PrintedSide(Frozen):
    """One side of a run, and the page that shows it."""

    side: str
    """``front``, ``back``, or ``front and back`` of a forme that prints both."""
    path: str = ""
    """Of its file."""
    page: int = 1
    """The first page of that file that shows it, from 1."""
    inks: tuple[str, ...] = ()
    """The process inks that the pieces on it take."""
    separations: tuple[str, ...] = ()
    """Spots, foils and white that stay plates of their own."""
    mark_inks: tuple[str, ...] = ()
    """What marks and control swatches take besides."""
    converted: bool = False
    """Whether a colour on it has no inks of its own, so that the vendor's conversion finds them."""


class PrintRun(Frozen):
    """What a vendor prints in one go: sheets of one layout, or the copies of one piece."""

    number: int
    """Among its vendor's, from 1."""
    vendor: str
    device: str
    stock: str
    pieces: dict[str, int]
    """How many of each piece stand on it."""
    times: int
    """How many sheets or copies are printed."""
    pages: int
    """How many pages of the file belong to it."""
    each_once: bool = False
    """Whether every copy is another, so that each page is printed once."""
    width_mm: float
    height_mm: float
    """Of the page, which is the sheet where pieces are laid on one."""
    bleed_mm: float
    turning: Duplex | None = None
    """None where the vendor lays the pieces, and turns them as it likes."""
    gripper: Edge | None = None
    gripper_mm: float = 0.0
    side_lay: Edge | None = None
    grain: Axis | None = None
    """Which way it runs on the front, where that is known."""
    imposed: bool = False
    """Whether pieces are laid on sheets: then a sheet run of this number says how it is cut."""
    sides: tuple[PrintedSide, ...]


class SheetRun(Frozen):
    """One imposed sheet and how many of it are printed."""

    number: int
    """Among its vendor's runs."""
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


class WeighedWays(Frozen):
    """The ways to print the pieces of one pair that are laid together, with what each takes."""

    pair: str
    stated: bool
    """Whether the vendor's profile states the costs; else they are common practice, and the fewest
    sheets are printed whatever they say."""
    ways: tuple[Way, ...]


@dataclass(frozen=True)
class Imposed:
    """Print files, and what they say to the person who prints and cuts."""

    files: tuple[OutFile, ...] = ()
    runs: tuple[PrintRun, ...] = ()
    sheets: tuple[SheetRun, ...] = ()
    notes: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """Lines for a vendor's order sheet, by vendor."""
    bounds: tuple[str, ...] = ()
    """What is known of the best possible layout, in words."""
    ways: tuple[WeighedWays, ...] = ()
    failed: dict[str, str] = field(default_factory=dict)
    findings: tuple[Diagnostic, ...] = ()
