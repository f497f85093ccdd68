"""Drawing the sheets that cards are cut from, and the plan of the cuts."""

from collections.abc import Iterator, Sequence

from inkaccord.drawing.canvas import BOLD, REGULAR, Drawing, fit_text, text_width
from inkaccord.errors import OrderError
from inkaccord.layout.cutplan import BLADES, LIES, Cut, cut_plan
from inkaccord.layout.model import Axis
from inkaccord.sheets.drawing.cards import RingCards, lay_cards
from inkaccord.sheets.drawing.drawn import DrawnSheet, Placed, pages_of, with_pages
from inkaccord.sheets.drawing.pens import Pen
from inkaccord.sheets.drawing.side_by_side import SideBySide, cut_lines, draw_cut_marks
from inkaccord.sheets.model import SampleSheet
from inkaccord.sheets.settings import SheetFormat
from inkaccord.sizes import Box

_HOLE_GUIDE_PT = 5.0
_TITLE_PT = 15.0
_TEXT_PT = 9.0
_LEADING_PT = 13.0
_SHARE = 0.42  # of the height of the cut plan's page that its picture may take


def lay_deck_cards(
    drawn: Sequence[DrawnSheet], cards: RingCards, on: SheetFormat, *, notes: Sequence[str] = ()
) -> bytes:
    """Return one PDF: the cut plan, then the sheets that the cards are cut from.

    Several sheets, a deck and its additions, are cut together. All of them must have been planned
    on ``cards.page()``. Raises OrderError when one was not, or when no card fits.
    """
    for sheet, _ in drawn:
        if not sheet.size.same_as(cards.size):
            raise OrderError.of(
                "not-a-card",
                f"the deck {sheet.id} has pages of {sheet.size}, not cards of {cards.size}",
                hint="plan the deck on the cards' own size",
            )
    first = drawn[0].sheet
    pages = list(pages_of(drawn))
    laid = lay_cards(cards, len(pages), on, first.settings)
    on = laid.on
    names = ", ".join(sheet.id for sheet, _ in drawn)
    drawing = Drawing(on.media, title=f"Cards of deck {names}", subject=str(first.pair))
    pen = Pen(drawing.canvas, first.drive)
    drawing.page(on.media, trim_pt=on.trim_pt, bleed_pt=on.bleed_pt)
    _draw_cut_plan(pen, names, len(pages), laid, cards, first.settings.live_area(on), notes)
    drawing.canvas.showPage()
    places: list[list[Placed]] = [[]]
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
    pen.line(x - _HOLE_GUIDE_PT, y, x + _HOLE_GUIDE_PT, y, 0.3)
    pen.line(x, y - _HOLE_GUIDE_PT, x, y + _HOLE_GUIDE_PT, 0.3)
    code = f"{sheet.id}/{card}"
    right = width - cards.hole_x_pt
    start = x + cards.hole_pt + 6
    pen.text_right(right, y - 4.5, code, 13, BOLD)
    titles = sheet.page_titles
    title = titles[card - 1] if card <= len(titles) else sheet.order
    end = right - text_width(code, 13, BOLD) - 8
    pen.text(start, y - 4.5, fit_text(title.partition(",")[0], end - start, 11), 11)


def _draw_cut_plan(
    pen: Pen,
    names: str,
    count: int,
    laid: SideBySide,
    cards: RingCards,
    live: Box,
    notes: Sequence[str],
) -> None:
    left, bottom, right, top = live
    cuts = cut_plan(laid.layout)
    pen.black()
    y = top - _TITLE_PT
    pen.text(left, y, f"Cut plan of {names}", _TITLE_PT, BOLD)
    y -= _LEADING_PT * 1.4
    about = (
        f"{count} cards of {laid.size} from {laid.sheets} sheets of {laid.on.size}. "
        "Pile the sheets with number 1 on top, all the same way up, and cut the pile as one."
    )
    for text in (*notes, about):
        y = _paragraph(pen, text, left, y, right - left)
    picture_top = y - 4
    picture = Box(left, picture_top - (top - bottom) * _SHARE, right, picture_top)
    _draw_picture(pen, laid, cards, count, cuts, picture)
    y = picture.bottom - _LEADING_PT * 1.6
    for text in (
        LIES,
        *(str(cut.model_copy(update={"piles": "", "frees": ""})) for cut in cuts),
        "Then put the piles on each other in the order of the letters, A on top: the cards are in "
        "order. Punch the holes where the ring is drawn.",
    ):
        y = _paragraph(pen, text, left, y, right - left) - 2
    y = _paragraph(pen, "Blades", left, y - 6, right - left, BOLD)
    _paragraph(pen, BLADES, left, y, right - left)


def _paragraph(
    pen: Pen, text: str, left: float, y: float, width: float, font: str = REGULAR
) -> float:
    """Set wrapped lines from y downwards; return where the next line would stand."""
    for line in wrapped(text, width, _TEXT_PT, font):
        pen.text(left, y, line, _TEXT_PT, font)
        y -= _LEADING_PT
    return y


def wrapped(text: str, width: float, size: float, font: str = REGULAR) -> Iterator[str]:
    """Yield the lines of a text broken at spaces to a width."""
    line = ""
    for word in text.split():
        longer = f"{line} {word}".strip()
        if line and text_width(longer, size, font) > width:
            yield line
            line = word
        else:
            line = longer
    if line:
        yield line


def _draw_picture(
    pen: Pen, laid: SideBySide, cards: RingCards, count: int, cuts: tuple[Cut, ...], room: Box
) -> None:
    """Draw the sheet small, with its cuts numbered in their order and its piles lettered."""
    size = laid.on.size
    inset = 16.0
    scale = min(
        (room[2] - room[0] - 2 * inset) / size.width_pt,
        (room[3] - room[1] - 2 * inset) / size.height_pt,
    )
    x0 = (room[0] + room[2] - size.width_pt * scale) / 2
    y0 = (room[1] + room[3] - size.height_pt * scale) / 2
    pen.frame(x0, y0, size.width_pt * scale, size.height_pt * scale, 0.6)
    for place in range(laid.places):
        x, y = laid.corner(place)
        card = laid.size
        middle_x = x0 + (x + card.width_pt / 2) * scale
        middle_y = y0 + (y + card.height_pt / 2) * scale
        pen.text_middle(middle_x, middle_y, chr(ord("A") + place), 13, BOLD)
        first, last = laid.number(0, place), min(laid.number(laid.sheets - 1, place), count)
        if first <= count:
            pen.text_middle(middle_x, middle_y - 12, f"cards {first} to {last}", 7.5)
        hole_x = x0 + (x + cards.hole_x_pt) * scale
        hole_y = y0 + (y + card.height_pt - cards.hole_y_pt) * scale
        pen.ring(hole_x, hole_y, cards.hole_pt / 2 * scale, 0.4)
    upright, level = cut_lines(laid)
    for x in upright:
        pen.line(x0 + x * scale, y0 + level[0] * scale, x0 + x * scale, y0 + level[-1] * scale)
    for y in level:
        pen.line(x0 + upright[0] * scale, y0 + y * scale, x0 + upright[-1] * scale, y0 + y * scale)
    for cut in cuts:
        paper, where = cut.papers[0], cut.places[0]
        if cut.runs is Axis.UPRIGHT:
            x, y = x0 + where * scale, y0 + size.height_pt * scale
            pen.line(x, y0 + paper.bottom * scale, x, y0 + paper.top * scale, 0.7)
            pen.text_middle(x, y + 4, str(cut.number), 8, BOLD)
        else:
            y = y0 + where * scale
            pen.line(x0 + paper.left * scale, y, x0 + paper.right * scale, y, 0.7)
            pen.text_right(x0 - 4, y - 3, str(cut.number), 8, BOLD)
