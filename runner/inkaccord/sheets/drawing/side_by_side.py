"""Equal parts side by side on larger sheets, without gutters, so that one cut parts two of them."""

from inkaccord.errors import OrderError
from inkaccord.layout.model import Axis, Block, Duplex, Placement, SheetLayout, SheetStock
from inkaccord.models import Frozen
from inkaccord.sheets.drawing.pens import Pen
from inkaccord.sheets.settings import SheetFormat
from inkaccord.sizes import Box as LayoutBox
from inkaccord.sizes import Sides, Size
from inkaccord.units import PT_PER_MM

_SLACK_PT = 0.01
_NARROWEST_STRIP_PT = 3 * PT_PER_MM
"""Narrower strips are hard to cut off square. Common practice, no source."""
_TICK_PT = 9.0
_CROSS_PT = 2.5


class SideBySide(Frozen):
    """Which part lies where, on sheets of one size: cards of a swatch set, or sample sheets."""

    size: Size
    """Of a part."""
    on: SheetFormat
    columns: int
    rows: int
    left: float
    bottom: float
    sheets: int

    @property
    def places(self) -> int:
        """Parts on a sheet."""
        return self.columns * self.rows

    def corner(self, place: int) -> tuple[float, float]:
        """Return the lower left corner of a place, from 0, row by row from the top left."""
        row, column = divmod(place, self.columns)
        size = self.size
        return (
            self.left + column * size.width_pt,
            self.bottom + (self.rows - 1 - row) * size.height_pt,
        )

    def number(self, sheet: int, place: int) -> int:
        """Return the number, from 1, of the part at a place of a sheet (both from 0).

        They are laid to cut and stack: cut as one pile, the small piles put on each other are in
        order.
        """
        return place * self.sheets + sheet + 1

    @property
    def layout(self) -> SheetLayout:
        """The same as the imposition sees it, for the order of the cuts."""
        width, height = self.size.width_pt, self.size.height_pt
        placements = tuple(
            Placement(item="parts", x_pt=x, y_pt=y, width_pt=width, height_pt=height)
            for x, y in map(self.corner, range(self.places))
        )

        def box(first: int, last: int) -> LayoutBox:
            return placements[first].trim.around(placements[last].trim)

        def leaf(place: int) -> Block:
            return Block(box=placements[place].trim, placement=place)

        strips = []
        for row in reversed(range(self.rows)):
            first, last = row * self.columns, (row + 1) * self.columns - 1
            strips.append(
                leaf(first)
                if self.columns == 1
                else Block(
                    box=box(first, last),
                    cut=Axis.UPRIGHT,
                    parts=tuple(leaf(place) for place in range(first, last + 1)),
                )
            )
        tree = (
            strips[0]
            if self.rows == 1
            else Block(box=box(0, self.places - 1), cut=Axis.LEVEL, parts=tuple(strips))
        )
        edges = self.on.unprintable
        return SheetLayout(
            sheet=SheetStock(
                name="sheet",
                size=self.on.size,
                margins=Sides(
                    left=edges.left,
                    bottom=edges.bottom,
                    right=edges.right,
                    top=edges.top,
                ),
            ),
            duplex=Duplex.ONE_SIDED,
            placements=placements,
            run=self.sheets,
            tree=tree,
        )


def lay_side_by_side(size: Size, inset: Sides, count: int, on: SheetFormat) -> SideBySide:
    """Lay parts side by side on as few sheets as hold them.

    The sheet is turned where that holds more. Where one sheet holds them all, no more places are
    made than needed. Parts may reach its edge: only their own print has
    to lie in the printable area, and that keeps ``inset`` clear of their edges. They lie in the
    middle, unless that would leave strips too narrow to cut off well.
    Raises OrderError ``sheet-too-small`` when none fits.
    """
    columns, rows, sheet = max(
        (_fit(size, inset, sheet) for sheet in (on, on.turned)),
        key=lambda fit: min(count, fit[0] * fit[1]),
    )
    if not columns or not rows:
        raise OrderError.of(
            "sheet-too-small",
            f"no card of {size} fits on a sheet of {on.size} with what the device prints",
            hint="choose smaller cards or a larger sheet",
        )
    columns = min(columns, count)
    rows = min(rows, -(-count // columns))
    edges = sheet.unprintable
    spare_x = sheet.size.width_pt - columns * size.width_pt
    spare_y = sheet.size.height_pt - rows * size.height_pt
    above = _near_side(spare_y, inset.top, edges.top)
    return SideBySide(
        size=size,
        on=sheet,
        columns=columns,
        rows=rows,
        left=round(_near_side(spare_x, inset.left, edges.left), 2),
        bottom=round(spare_y - above, 2),
        sheets=-(-count // (columns * rows)),
    )


def _near_side(spare: float, inset: float, unprintable: float) -> float:
    """Return how much of the spare paper lies at the left or at the top."""
    narrow = spare / 2 < _NARROWEST_STRIP_PT
    return 0.0 if narrow and inset >= unprintable - _SLACK_PT else spare / 2


def _fit(size: Size, inset: Sides, on: SheetFormat) -> tuple[int, int, SheetFormat]:
    """Return how many columns and rows of parts a sheet holds."""
    edges = on.unprintable

    def fitting(length: float, part: float, near: float, far: float) -> int:
        number = int((length + _SLACK_PT) // part)
        while number and (length - number * part) / 2 + _SLACK_PT < max(near, far):
            number -= 1
        return number

    columns = fitting(
        on.size.width_pt, size.width_pt, edges.left - inset.left, edges.right - inset.right
    )
    rows = fitting(
        on.size.height_pt, size.height_pt, edges.bottom - inset.bottom, edges.top - inset.top
    )
    return columns, rows, on


def cut_lines(laid: SideBySide) -> tuple[list[float], list[float]]:
    """Return where the cuts run: x of the upright ones and y of the level ones."""
    size = laid.size
    return (
        [laid.left + n * size.width_pt for n in range(laid.columns + 1)],
        [laid.bottom + n * size.height_pt for n in range(laid.rows + 1)],
    )


def draw_cut_marks(pen: Pen, laid: SideBySide) -> None:
    """Draw ticks at the sheet's edges along every cut, and crosses where cuts meet.

    A cut outside the printable area has no ticks; the cut plan gives its measure.
    """
    pen.black()
    size, edges = laid.on.size, laid.on.unprintable
    upright, level = cut_lines(laid)
    inner_x = [x for x in upright if edges.left < x < size.width_pt - edges.right]
    inner_y = [y for y in level if edges.bottom < y < size.height_pt - edges.top]
    for x in inner_x:
        pen.line(x, edges.bottom, x, edges.bottom + _TICK_PT, 0.25)
        pen.line(x, size.height_pt - edges.top, x, size.height_pt - edges.top - _TICK_PT, 0.25)
    for y in inner_y:
        pen.line(edges.left, y, edges.left + _TICK_PT, y, 0.25)
        pen.line(size.width_pt - edges.right, y, size.width_pt - edges.right - _TICK_PT, y, 0.25)
    for x in inner_x:
        for y in inner_y:
            pen.cross(x, y, _CROSS_PT, 0.25)
