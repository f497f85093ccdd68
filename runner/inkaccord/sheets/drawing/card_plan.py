"""The plan of the cuts that part cards: what to do first, the sheet with its cuts, and the cuts."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from inkaccord.cautions import BLADES
from inkaccord.drawing.canvas import BOLD, REGULAR, text_width
from inkaccord.layout.cut_numbers import Ends, number_places
from inkaccord.layout.cutplan import LIES, Cut, cut_plan
from inkaccord.sheets.drawing.pens import Pen
from inkaccord.sheets.drawing.side_by_side import SideBySide
from inkaccord.sheets.keeping import RingCards
from inkaccord.sheets.settings import SheetSettings
from inkaccord.sizes import Box
from inkaccord.words import counted

_TITLE_PT = 15.0
_TEXT_PT = 9.0
_LEADING_PT = 13.0
_DISC_PT = 5.0
_SHARE = 0.42
"""Of the height of the plan's page that its picture may take."""
_APART = (
    "Where a line names several piles, cut them side by side or one after another, never on one "
    "another."
)
_AFTER = (
    "Then put the piles on each other in the order of the letters, A on top: the cards are in "
    "order. Punch the holes where the ring is drawn."
)

DrawPage = Callable[[Pen], None]


def cut_plan_pages(
    laid: SideBySide,
    cards: RingCards,
    names: str,
    count: int,
    notes: Sequence[str],
    settings: SheetSettings,
) -> Iterator[DrawPage]:
    """Yield what draws each page of the plan: one, or more where the list of cuts is long.

    Parameters
    ----------
    names
        Of the sheets whose pages the cards are.
    count
        How many cards there are.
    notes
        What is said besides.
    """
    plan = _Plan(laid, cards, count, settings.live_area(laid.on))
    about = (
        f"{counted(count, 'card')} of {laid.size} from {counted(laid.sheets, 'sheet')} of "
        f"{laid.on.size}. "
        "Pile the sheets with number 1 on top, all the same way up, and cut the pile as one."
    )
    cuts = cut_plan(laid.layout)
    said = [str(cut.model_copy(update={"frees": ""})) for cut in cuts]
    top = [
        line for text in (BLADES, *notes, about, f"{LIES} {_APART}") for line in plan.broken(text)
    ]
    lines = [line for text in (*said, _AFTER) for line in plan.broken(text)]
    title = f"Cut plan of {names}"
    picture_top = plan.live.top - _TITLE_PT - _LEADING_PT * (1.4 + len(top))
    picture = Box(
        plan.live.left, picture_top - plan.live.height * _SHARE, plan.live.right, picture_top
    )
    begin = picture.bottom - _LEADING_PT * 1.2
    room = max(0, int((begin - plan.live.bottom) // _LEADING_PT) + 1)

    def draw_first(pen: Pen) -> None:
        plan.head(pen, title)
        plan.set_lines(pen, top, plan.live.top - _TITLE_PT - _LEADING_PT * 1.4)
        plan.draw(pen, cuts, picture)
        plan.set_lines(pen, lines[:room], begin)

    yield draw_first
    rest = lines[room:]
    full = int((plan.live.height - _TITLE_PT) // _LEADING_PT) - len([*plan.broken(BLADES)]) - 2
    full = max(1, full)
    while rest:
        yield plan.further(f"{title}, continued", rest[:full])
        rest = rest[full:]


@dataclass(frozen=True)
class _Plan:
    """One plan on its page."""

    laid: SideBySide
    cards: RingCards
    count: int
    live: Box

    def broken(self, text: str) -> Iterator[str]:
        """Yield the lines of a text as they fill the page's width."""
        return wrapped(text, self.live.width, _TEXT_PT)

    def head(self, pen: Pen, title: str) -> None:
        pen.black()
        pen.text(self.live.left, self.live.top - _TITLE_PT, title, _TITLE_PT, BOLD)

    def further(self, title: str, lines: Sequence[str]) -> DrawPage:
        """Return what draws one more page of the list."""

        def draw_page(pen: Pen) -> None:
            self.head(pen, title)
            y = self.live.top - _TITLE_PT - _LEADING_PT * 1.4
            self.set_lines(pen, [*self.broken(BLADES), *lines], y)

        return draw_page

    def set_lines(self, pen: Pen, lines: Sequence[str], y: float) -> None:
        """Set lines from y downwards."""
        for number, line in enumerate(lines):
            pen.text(self.live.left, y - number * _LEADING_PT, line, _TEXT_PT)

    def draw(self, pen: Pen, cuts: Sequence[Cut], room: Box) -> None:
        """Draw the sheet small, with its cuts numbered in their order and its piles lettered."""
        laid, cards = self.laid, self.cards
        size, card = laid.on.size, laid.size
        rim = 2.5 * _DISC_PT
        scale = min(
            (room.width - 2 * rim) / size.width_pt, (room.height - 2 * rim) / size.height_pt
        )
        x0 = (room.left + room.right - size.width_pt * scale) / 2
        y0 = (room.bottom + room.top - size.height_pt * scale) / 2
        pen.frame(x0, y0, size.width_pt * scale, size.height_pt * scale, 0.6)
        names = []
        for place in range(laid.places):
            x, y = laid.corner(place)
            middle_x = x0 + (x + card.width_pt / 2) * scale
            middle_y = y0 + (y + card.height_pt / 2) * scale
            letter_pt = min(13.0, 0.3 * card.height_pt * scale)
            pen.text_middle(middle_x, middle_y, letters(place), letter_pt, BOLD)
            first = laid.number(0, place)
            last = min(laid.number(laid.sheets - 1, place), self.count)
            held = f"cards {first} to {last}" if last > first else f"card {first}"
            wide = max(text_width(held, 7.5), letter_pt) / 2
            if first <= self.count and 2 * wide < card.width_pt * scale - 4:
                pen.text_middle(middle_x, middle_y - 0.9 * letter_pt, held, 7.5)
            names.append(
                Box(middle_x - wide, middle_y - letter_pt, middle_x + wide, middle_y + letter_pt)
            )
            hole_x = x0 + (x + cards.hole_x_pt) * scale
            hole_y = y0 + (y + card.height_pt - cards.hole_y_pt) * scale
            pen.ring(hole_x, hole_y, cards.hole_pt / 2 * scale, 0.4)
        sheet = Box(x0, y0, x0 + size.width_pt * scale, y0 + size.height_pt * scale)
        drawn = {cut.number: [_within(ends, sheet, scale) for ends in cut.ends] for cut in cuts}
        for group in drawn.values():
            for line in group:
                pen.line(*line, 0.7)
        self._number(pen, drawn, sheet, names)

    def _number(
        self, pen: Pen, drawn: dict[int, list[Ends]], sheet: Box, names: Sequence[Box]
    ) -> None:
        """Set each cut's number beside its line, smaller where there is little room."""
        for share in (1.0, 0.8, 0.6, 0.45):
            radius = share * _DISC_PT
            places = number_places(drawn, sheet, radius, names)
            if places is not None:
                break
        else:
            return
        for number, place in places.items():
            if place.tip is not None:
                pen.line(*place.tip, place.x, place.y, 0.4)
            pen.text_middle(place.x, place.y - 0.55 * radius, str(number), 1.5 * radius, BOLD)


def letters(place: int) -> str:
    """Return the letters of a pile, from 0: A to Z, then AA, AB and so on."""
    before, last = divmod(place, 26)
    return (letters(before - 1) if before else "") + chr(ord("A") + last)


def _within(ends: Ends, sheet: Box, scale: float) -> Ends:
    x1, y1, x2, y2 = ends
    left, bottom = sheet.left, sheet.bottom
    return left + x1 * scale, bottom + y1 * scale, left + x2 * scale, bottom + y2 * scale


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
