"""Keeping a deck as cards on a ring: cards laid on sheets so that a guillotine can part them.

A card is a page of the deck with a tab at its head for the ring's hole. Cards are laid to cut
and stack: when the printed sheets are cut as one pile, the small piles put on top of each other
are already in order.
"""

from typing import Annotated, Self

from pydantic import Field

from inkaccord.models import Frozen
from inkaccord.sheets.drawing.side_by_side import SideBySide, lay_side_by_side
from inkaccord.sheets.settings import SheetFormat, SheetSettings
from inkaccord.sizes import Sides, Size
from inkaccord.units import PT_PER_MM


class RingCards(Frozen):
    """The cards' size, and the hole for the ring."""

    size: Size
    tab_pt: Annotated[float, Field(gt=0)] = 16 * PT_PER_MM
    """Height of the tab: the deck's own print begins below it."""
    hole_x_pt: Annotated[float, Field(gt=0)] = 10 * PT_PER_MM
    """From the card's left edge to the centre of the hole."""
    hole_y_pt: Annotated[float, Field(gt=0)] = 8 * PT_PER_MM
    """From its upper edge."""
    hole_pt: Annotated[float, Field(gt=0)] = 6 * PT_PER_MM
    """Diameter: that of a common punch (ISO 838)."""

    @classmethod
    def four_on(cls, page: Size) -> Self:
        """Return cards four of which fill a page."""
        return cls(size=Size(width_pt=page.width_pt / 2, height_pt=page.height_pt / 2))

    def page(self) -> SheetFormat:
        """Return the page that the deck is planned on."""
        return SheetFormat(size=self.size, unprintable=Sides(top=self.tab_pt))


def lay_cards(cards: RingCards, count: int, on: SheetFormat, settings: SheetSettings) -> SideBySide:
    """Lay cards side by side on as few sheets as hold them.

    Raises OrderError ``sheet-too-small`` when none fits.
    """
    return lay_side_by_side(cards.size, _insets(cards, settings), count, on)


def _insets(cards: RingCards, settings: SheetSettings) -> Sides:
    """Return how far a card's print, its hole's guide included, stays from its edges."""
    safe = settings.safe_pt
    return Sides(
        left=min(safe, cards.hole_x_pt - cards.hole_pt / 2),
        bottom=safe,
        right=safe,
        top=cards.hole_y_pt - cards.hole_pt / 2,
    )
