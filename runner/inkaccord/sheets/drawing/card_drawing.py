"""Drawing the sheets that cards on a ring are cut from.

A card is a page of the set with a tab at its head for the ring's hole. Cards are laid to cut
and stack: when the printed sheets are cut as one pile, the small piles put on top of each other
are already in order.
"""

from collections.abc import Sequence

from inkaccord.drawing.canvas import BOLD, Drawing, fit_text, text_width
from inkaccord.errors import OrderError
from inkaccord.sheets.drawing.card_plan import cut_plan_pages
from inkaccord.sheets.drawing.drawn import DrawnSheet, Placed, pages_of, with_pages
from inkaccord.sheets.drawing.pens import Pen
from inkaccord.sheets.drawing.side_by_side import SideBySide, draw_cut_marks, lay_side_by_side
from inkaccord.sheets.keeping import RingCards
from inkaccord.sheets.model import SampleSheet
from inkaccord.sheets.settings import SheetFormat, SheetSettings
from inkaccord.sizes import Sides

_HOLE_GUIDE_PT = 5.0


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


def lay_set_cards(
    drawn: Sequence[DrawnSheet], cards: RingCards, on: SheetFormat, *, notes: Sequence[str] = ()
) -> bytes:
    """Return one PDF: the cut plan, then the sheets that the cards are cut from.

    Several sheets, a swatch set and its additions, are cut together. All must have been planned on
    ``cards.page()``. Raises OrderError when one was not, or when no card fits.
    """
    for sheet, _ in drawn:
        if not sheet.size.same_as(cards.size):
            raise OrderError.of(
                "not-a-card",
                f"the set {sheet.id} has pages of {sheet.size}, not cards of {cards.size}",
                hint="plan the set on the cards' own size",
            )
    first = drawn[0].sheet
    pages = list(pages_of(drawn))
    laid = lay_cards(cards, len(pages), on, first.settings)
    on = laid.on
    names = ", ".join(sheet.id for sheet, _ in drawn)
    drawing = Drawing(on.media, title=f"Cards of swatch set {names}", subject=str(first.pair))
    pen = Pen(drawing.canvas, first.drive)
    places: list[list[Placed]] = []
    for draw_page in cut_plan_pages(laid, cards, names, len(pages), notes, first.settings):
        drawing.page(on.media, trim_pt=on.trim_pt, bleed_pt=on.bleed_pt)
        draw_page(pen)
        drawing.canvas.showPage()
        places.append([])
    for pile in range(laid.sheets):
        drawing.page(on.media, trim_pt=on.trim_pt, bleed_pt=on.bleed_pt)
        drawing.canvas.translate(on.bleed_pt, on.bleed_pt)
        draw_cut_marks(pen, laid)
        here: list[Placed] = []
        for place in range(laid.places):
            card = laid.number(pile, place)
            if card > len(pages):
                continue
            page = pages[card - 1]
            x, y = laid.corner(place)
            drawing.canvas.saveState()
            drawing.canvas.translate(x, y)
            _draw_tab(pen, page.sheet, cards, page.page + 1)
            drawing.canvas.restoreState()
            here.append((page, x + on.bleed_pt, y + on.bleed_pt))
        drawing.canvas.showPage()
        places.append(here)
    return with_pages(drawing.bytes(), places)


def _draw_tab(pen: Pen, sheet: SampleSheet, cards: RingCards, card: int) -> None:
    """Draw the guide of the ring's hole, what the card holds, and its code."""
    width, height = cards.size.width_pt, cards.size.height_pt
    x, y = cards.hole_x_pt, height - cards.hole_y_pt
    pen.black()
    pen.ring(x, y, cards.hole_pt / 2, 0.3)
    pen.cross(x, y, _HOLE_GUIDE_PT, 0.3)
    code = f"{sheet.id}/{card}"
    right = width - cards.hole_x_pt
    start = x + cards.hole_pt + 6
    pen.text_right(right, y - 4.5, code, 13, BOLD)
    titles = sheet.page_titles
    title = titles[card - 1] if card <= len(titles) else sheet.order or str(sheet.pair)
    end = right - text_width(code, 13, BOLD) - 8
    pen.text(start, y - 4.5, fit_text(title.partition(",")[0], end - start, 11), 11)
