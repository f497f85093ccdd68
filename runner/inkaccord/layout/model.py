"""The values of imposition: pieces to lay, sheets that take them, and the layout that results.

Every length is in points. A sheet is seen from its front with the origin at the lower left;
the back of a sheet is seen after it was turned over, again with the origin at the lower left.
"""

from enum import StrEnum
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from inkaccord.diagnostics import Diagnostic
from inkaccord.models import Frozen
from inkaccord.sizes import Box, Margins, Sides, SizeField

Rotation = Literal[0, 90, 180, 270]
"""Quarter turns against the clock, in degrees."""


class Edge(StrEnum):
    """An edge of a sheet or a piece, as its front is seen."""

    LEFT = "left"
    BOTTOM = "bottom"
    RIGHT = "right"
    TOP = "top"

    @property
    def opposite(self) -> "Edge":
        """The edge across."""
        return _OPPOSITE[self]


_OPPOSITE = {
    Edge.LEFT: Edge.RIGHT,
    Edge.RIGHT: Edge.LEFT,
    Edge.TOP: Edge.BOTTOM,
    Edge.BOTTOM: Edge.TOP,
}


class Axis(StrEnum):
    """The direction in which a line, a cut, a fold or the grain runs."""

    LEVEL = "level"
    """From left to right."""
    UPRIGHT = "upright"
    """From bottom to top."""

    @property
    def across(self) -> "Axis":
        """The other direction."""
        return Axis.UPRIGHT if self is Axis.LEVEL else Axis.LEVEL


class Duplex(StrEnum):
    """How a sheet gets its second side."""

    ONE_SIDED = "one-sided"
    SHEETWISE = "sheetwise"
    """Two formes, the same gripper edge."""
    WORK_AND_TURN = "work-and-turn"
    """One forme holds fronts and backs; turned over sideways, the same gripper edge."""
    WORK_AND_TUMBLE = "work-and-tumble"
    """One forme holds fronts and backs; turned head over heels, the other gripper edge."""
    LONG_EDGE = "long-edge"
    """The device turns the sheet about its long edge."""
    SHORT_EDGE = "short-edge"
    """The device turns the sheet about its short edge."""

    @property
    def one_forme(self) -> bool:
        """Whether the same forme prints both sides."""
        return self in {Duplex.WORK_AND_TURN, Duplex.WORK_AND_TUMBLE}


class Gutter(StrEnum):
    """What lies between two neighbours."""

    TOUCH = "touch"
    """Bleeds touch: the trims lie both bleeds apart, and two cuts part them."""
    SHARE = "share"
    """Bleeds share: the trims lie one bleed apart and each piece keeps half of its bleed there."""


class FoldKind(StrEnum):
    """What happens along a line across a piece."""

    FOLD = "fold"
    SCORE = "score"


class BackUp(StrEnum):
    """How a piece's back stands to its front."""

    HEAD_TO_HEAD = "head-to-head"
    """Turned over like a page of a book, it stands upright."""
    HEAD_TO_FOOT = "head-to-foot"
    """Turned over like a page of a wall calendar, it stands upright."""


class RecordOrder(StrEnum):
    """Where the next record lies, when every copy of a piece has its own page."""

    ACROSS = "across"
    """Next to the last one on the same sheet."""
    STACKS = "stacks"
    """Under the last one: when the sheets are cut, every pile is in order."""


class Fold(Frozen):
    """A fold or a score from edge to edge of a piece."""

    runs: Axis
    at_pt: Annotated[float, Field(gt=0)]
    """From the left edge of the trim (upright fold) or its bottom edge (level fold)."""
    kind: FoldKind = FoldKind.FOLD


class Item(Frozen):
    """One piece to be laid on sheets."""

    name: Annotated[str, Field(min_length=1)]
    trim: SizeField
    """Flat size, before folding."""
    bleed_pt: Annotated[float, Field(ge=0)] = 0.0
    quantity: Annotated[int, Field(ge=1)]
    """Copies to print, overs included."""
    sides: Literal[1, 2] = 1
    may_turn: bool = True
    """Whether it may lie a quarter turn round."""
    grain: Axis | None = None
    """Which way the grain must run in the piece."""
    folds: tuple[Fold, ...] = ()
    back_up: BackUp = BackUp.HEAD_TO_HEAD
    records: RecordOrder = RecordOrder.STACKS
    """Where the next record lies, if its artwork has a page for every copy."""

    @model_validator(mode="after")
    def _folds_lie_inside(self) -> Self:
        for fold in self.folds:
            span = self.trim.width_pt if fold.runs is Axis.UPRIGHT else self.trim.height_pt
            if fold.at_pt >= span:
                raise ValueError(f"{self.name}: the {fold.kind} lies outside the piece")
        return self


class Gripper(Frozen):
    """The edge by which a press takes the sheet, and how deep it holds it."""

    edge: Edge = Edge.BOTTOM
    depth_pt: Annotated[float, Field(gt=0)]


class SheetStock(Frozen):
    """A sheet size that a device takes."""

    name: Annotated[str, Field(min_length=1)]
    size: SizeField
    margins: Margins = Sides()
    gripper: Gripper | None = None
    side_lay: Edge | None = None
    """The edge that the press lays against its side guide, when it is known."""
    grain: Axis | None = None
    """Which way the grain runs in the sheet, when it is known."""

    @model_validator(mode="after")
    def _room_is_left(self) -> Self:
        if self.printable.width <= 0 or self.printable.height <= 0:
            raise ValueError(f"{self.name}: margins and gripper leave nothing of the sheet")
        return self

    @property
    def printable(self) -> Box:
        """The sheet without its unprintable margins and the gripper's strip."""
        box = self.margins.within(self.size)
        if self.gripper is None:
            return box
        depth = self.gripper.depth_pt
        held = {
            Edge.LEFT: Sides(left=depth),
            Edge.BOTTOM: Sides(bottom=depth),
            Edge.RIGHT: Sides(right=depth),
            Edge.TOP: Sides(top=depth),
        }[self.gripper.edge]
        return box.common(held.within(self.size))


Worth = Annotated[float, Field(ge=0)]


class Costs(Frozen):
    """What work costs, each in sheets' worth: paper, its printing and all.

    The figures that stand here are common practice, no source.
    """

    layout: Annotated[
        Worth, Field(description="one more layout: plates or a set-up, and what that spoils")
    ] = 10.0
    setting: Annotated[Worth, Field(description="one setting of the cutter")] = 0.5
    turn: Annotated[Worth, Field(description="one turn of the pile")] = 0.25
    mixed: Annotated[
        Worth, Field(description="a layout on which pieces lie in both directions")
    ] = 1.0

    def of_layout(self, settings: int, turns: int, *, mixed: bool) -> float:
        """Return what one layout costs, cut at so many settings with so many turns of the pile."""
        return self.layout + self.setting * settings + self.turn * turns + self.mixed * mixed


class LayoutRules(Frozen):
    """How pieces may be laid."""

    gutter: Gutter = Gutter.TOUCH
    between_pt: Annotated[float, Field(ge=0)] = 0.0
    """Least distance between two trims, where it is more than the gutter gives."""
    frame: Margins = Sides()
    """Room inside the printable area that pieces leave free for marks, slug line and swatches."""
    duplex: Duplex = Duplex.ONE_SIDED
    max_layouts: Annotated[int, Field(ge=1)] | None = None
    """The most different layouts that the order wants; None leaves it open."""
    costs: Costs | None = None
    """What work costs, to be weighed against paper; None: the fewest sheets, whatever the work."""


class Placement(Frozen):
    """One copy of a piece on a sheet."""

    item: str
    side: Literal[1, 2] = 1
    x_pt: float
    y_pt: float
    """Lower left corner of the trim as it lies on the sheet."""
    width_pt: float
    height_pt: float
    """Size of the trim as it lies on the sheet, turned or not."""
    rotation: Rotation = 0
    bleed_pt: float = 0.0

    @property
    def turned(self) -> bool:
        """Whether it lies a quarter turn round."""
        return self.rotation in {90, 270}

    @property
    def trim(self) -> Box:
        """The trim on the sheet."""
        return Box(self.x_pt, self.y_pt, self.x_pt + self.width_pt, self.y_pt + self.height_pt)

    @property
    def bleed(self) -> Box:
        """The trim with its bleed."""
        return self.trim.grown(self.bleed_pt)


class Block(Frozen):
    """A part of the sheet that straight cuts take apart.

    A leaf holds one placement (its index in the layout). Any other block is cut along ``cut``:
    upright cuts have their parts from left to right, level cuts from bottom to top.
    """

    box: Box
    """The trims that it holds, from outermost edge to outermost edge."""
    placement: int | None = None
    cut: Axis | None = None
    parts: tuple["Block", ...] = ()


class SheetLayout(Frozen):
    """One forme: what lies where on a sheet, and how many sheets are printed of it."""

    sheet: SheetStock
    duplex: Duplex
    placements: tuple[Placement, ...]
    """What the front shows. With work-and-turn or -tumble it holds the backs as well."""
    run: Annotated[int, Field(ge=1)]
    tree: Block

    def copies_of(self, item: str) -> int:
        """Return how many copies of a piece come from one sheet."""
        return sum(placed.item == item for placed in self.placements)

    @property
    def used(self) -> Box:
        """The smallest box that holds every bleed."""
        box = self.placements[0].bleed
        for placed in self.placements[1:]:
            box = box.around(placed.bleed)
        return box


class Way(Frozen):
    """One way to print an order, to be weighed against others."""

    layouts: int
    sheets: int
    settings: int
    """Of the cutter, all layouts together."""
    turns: int
    """Of the pile."""
    mixed: int
    """Layouts on which pieces lie in both directions."""
    cost: float
    """Of paper and work, in sheets."""
    chosen: bool = False

    def gains_on(self, other: "Way") -> bool:
        """Tell whether it is better than another in anything."""
        return self.sheets < other.sheets or self.cost - self.sheets < other.cost - other.sheets


class Imposition(Frozen):
    """Every layout of an order's pieces for one device and stock, with what was proved of it."""

    items: tuple[Item, ...]
    layouts: tuple[SheetLayout, ...]
    lower_bound: int
    """No cutting of edge-to-edge cuts needs fewer sheets."""
    method: str
    """How the bound was found, in a sentence."""
    ways: tuple[Way, ...] = ()
    """The ways that were weighed, the fewest sheets first."""
    findings: tuple[Diagnostic, ...] = ()

    @property
    def sheets(self) -> int:
        """Sheets to print."""
        return sum(layout.run for layout in self.layouts)

    @property
    def gap(self) -> int:
        """Sheets above the lower bound; 0 means that nothing needs fewer."""
        return self.sheets - self.lower_bound

    @property
    def printed(self) -> dict[str, int]:
        """How many copies of each piece the runs give."""
        return {
            item.name: sum(layout.run * layout.copies_of(item.name) for layout in self.layouts)
            for item in self.items
        }
