"""How printed sheets are kept: loose, in a binder, or on a ring; and the room that it takes."""

from typing import Annotated, Self

from pydantic import Field

from inkaccord.layout.punching import Holes
from inkaccord.models import Frozen
from inkaccord.sheets.settings import Hole, SheetFormat
from inkaccord.sizes import Sides, Size
from inkaccord.units import PT_PER_MM


class RingCards(Frozen):
    """The cards' size, and the hole for the ring."""

    size: Size
    tab_pt: Annotated[float, Field(gt=0)] = 16 * PT_PER_MM
    """Height of the tab: the set's own print begins below it."""
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
        """Return the page that the set is planned on."""
        return SheetFormat(size=self.size, unprintable=Sides(top=self.tab_pt))


Keeping = Holes | RingCards | None
"""How a swatch set is kept: loose, in a binder with such holes, or as cards on a ring."""


def kept_page(page: SheetFormat, keeping: Keeping) -> SheetFormat:
    """Return the page to plan a swatch set on: with a punch margin, or the card itself."""
    if isinstance(keeping, RingCards):
        return keeping.page()
    return punched(page, keeping) if keeping else page


def punched(page: SheetFormat, holes: Holes) -> SheetFormat:
    """Return the page with its left margin widened for the holes of a binder.

    Raises OrderError ``too-short-to-punch``.
    """
    edges = page.unprintable
    blank = edges.model_copy(update={"left": max(edges.left, holes.margin_pt)})
    marked = tuple(Hole(x, y, holes.guide_pt) for x, y in holes.centres(page.size))
    return page.model_copy(update={"unprintable": blank, "holes": marked})


def with_tab(page: SheetFormat) -> SheetFormat:
    """Return a page with a card's tab at its head, and the ring's hole to be punched in that."""
    card = RingCards(size=page.size)
    edges = page.unprintable
    hole = Hole(card.hole_x_pt, page.size.height_pt - card.hole_y_pt, 0.4 * card.hole_pt)
    blank = edges.model_copy(update={"top": max(edges.top, card.tab_pt)})
    return page.model_copy(update={"unprintable": blank, "holes": (hole,)})
