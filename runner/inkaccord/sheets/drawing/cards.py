"""Keeping a deck as cards on a ring: cards laid on sheets so that a guillotine can part them.

A card is a page of the deck with a tab at its head for the ring's hole. Cards are laid to cut
and stack: when the printed sheets are cut as one pile, the small piles put on top of each other
are already in order.
"""

from typing import Annotated

from pydantic import Field

from inkaccord.errors import OrderError
from inkaccord.layout.model import (
    Axis,
    Block,
    Duplex,
    Margins,
    Placement,
    SheetLayout,
    SheetStock,
)
from inkaccord.layout.model import Box as LayoutBox
from inkaccord.models import Frozen
from inkaccord.sheets.settings import Edges, SheetFormat, SheetSettings
from inkaccord.sizes import Size
from inkaccord.units import PT_PER_MM

_SLACK_PT = 0.01
_NARROWEST_STRIP_PT = 3 * PT_PER_MM
"""Narrower strips are hard to cut off square. Common practice, no source."""


class RingCards(Frozen):
    """The cards' size, and the hole for the ring.

    Four cards of 4.25 × 5.5 in fill a letter sheet; four of A6 fill an A4 sheet.
    """

    size: Size = Size(width_pt=306.0, height_pt=396.0)
    tab_pt: Annotated[float, Field(gt=0)] = 16 * PT_PER_MM
    """Height of the tab: the deck's own print begins below it."""
    hole_x_pt: Annotated[float, Field(gt=0)] = 10 * PT_PER_MM
    """From the card's left edge to the centre of the hole."""
    hole_y_pt: Annotated[float, Field(gt=0)] = 8 * PT_PER_MM
    """From its upper edge."""
    hole_pt: Annotated[float, Field(gt=0)] = 6 * PT_PER_MM
    """Diameter: that of a common punch (ISO 838)."""

    def page(self) -> SheetFormat:
        """Return the page that the deck is planned on."""
        return SheetFormat(size=self.size, unprintable=Edges(top=self.tab_pt))


class CardSheets(Frozen):
    """Which card lies where, on sheets of one size."""

    cards: RingCards
    on: SheetFormat
    columns: int
    rows: int
    left_pt: float
    bottom_pt: float
    sheets: int

    @property
    def places(self) -> int:
        """Cards on a sheet."""
        return self.columns * self.rows

    def corner(self, place: int) -> tuple[float, float]:
        """Return the lower left corner of a place, from 0, row by row from the top left."""
        row, column = divmod(place, self.columns)
        size = self.cards.size
        return (
            self.left_pt + column * size.width_pt,
            self.bottom_pt + (self.rows - 1 - row) * size.height_pt,
        )

    def card(self, sheet: int, place: int) -> int:
        """Return the number, from 1, of the card at a place of a sheet (both from 0)."""
        return place * self.sheets + sheet + 1

    @property
    def layout(self) -> SheetLayout:
        """The same as the imposition sees it, for the order of the cuts."""
        width, height = self.cards.size.width_pt, self.cards.size.height_pt
        placements = tuple(
            Placement(item="cards", x_pt=x, y_pt=y, width_pt=width, height_pt=height)
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
                margins=Margins(
                    left_pt=edges.left,
                    bottom_pt=edges.bottom,
                    right_pt=edges.right,
                    top_pt=edges.top,
                ),
            ),
            duplex=Duplex.ONE_SIDED,
            placements=placements,
            run=self.sheets,
            tree=tree,
        )


def lay_cards(cards: RingCards, count: int, on: SheetFormat, settings: SheetSettings) -> CardSheets:
    """Lay cards side by side, without gutters, on as few sheets as hold them.

    The sheet is turned where that holds more. Cards may reach its edge: only their own print has
    to lie in the printable area, and that keeps clear of their edges. They lie in the middle,
    unless that would leave strips too narrow to cut off well.
    Raises OrderError ``sheet-too-small`` when none fits.
    """
    columns, rows, sheet = max(
        (_fit(cards, sheet, settings) for sheet in (on, on.turned)),
        key=lambda fit: fit[0] * fit[1],
    )
    if not columns or not rows:
        raise OrderError.of(
            "sheet-too-small",
            f"no card of {cards.size} fits on a sheet of {on.size} with what the device prints",
            hint="choose smaller cards or a larger sheet",
        )
    inset, edges = _insets(cards, settings), sheet.unprintable
    spare_x = sheet.size.width_pt - columns * cards.size.width_pt
    spare_y = sheet.size.height_pt - rows * cards.size.height_pt
    above = _near_side(spare_y, inset.top, edges.top)
    return CardSheets(
        cards=cards,
        on=sheet,
        columns=columns,
        rows=rows,
        left_pt=round(_near_side(spare_x, inset.left, edges.left), 2),
        bottom_pt=round(spare_y - above, 2),
        sheets=-(-count // (columns * rows)),
    )


def _near_side(spare: float, inset: float, unprintable: float) -> float:
    """Return how much of the spare paper lies at the left or at the top."""
    narrow = spare / 2 < _NARROWEST_STRIP_PT
    return 0.0 if narrow and inset >= unprintable - _SLACK_PT else spare / 2


def _insets(cards: RingCards, settings: SheetSettings) -> Edges:
    """Return how far a card's print, its hole's guide included, stays from its edges."""
    safe = settings.safe_pt
    return Edges(
        left=min(safe, cards.hole_x_pt - cards.hole_pt / 2),
        bottom=safe,
        right=safe,
        top=cards.hole_y_pt - cards.hole_pt / 2,
    )


def _fit(
    cards: RingCards, on: SheetFormat, settings: SheetSettings
) -> tuple[int, int, SheetFormat]:
    """Return how many columns and rows of cards a sheet holds."""
    inset, edges = _insets(cards, settings), on.unprintable

    def fitting(length: float, card: float, near: float, far: float) -> int:
        number = int((length + _SLACK_PT) // card)
        while number and (length - number * card) / 2 + _SLACK_PT < max(near, far):
            number -= 1
        return number

    columns = fitting(
        on.size.width_pt, cards.size.width_pt, edges.left - inset.left, edges.right - inset.right
    )
    rows = fitting(
        on.size.height_pt, cards.size.height_pt, edges.bottom - inset.bottom, edges.top - inset.top
    )
    return columns, rows, on
