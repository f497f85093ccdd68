"""What a person is asked beside a printed sheet: short questions, one after the other.

The words are for whoever shows them, a command or a page. Each answer is a look of its own, and is
kept as it comes.
"""

import datetime
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from inkaccord.colour.picks import LOOKS_A_SHEET
from inkaccord.colour.predictor import Predictor
from inkaccord.errors import OrderError
from inkaccord.knowledge.apart import FarApart, far_apart
from inkaccord.order.mistakes import suggest
from inkaccord.order.model import Order
from inkaccord.sheets.model import Pick, SampleSheet, Swatch
from inkaccord.sheets.reading.pick_text import in_words, parse_choice
from inkaccord.words import joined

ROWS = 3
"""Rows of a colour that are asked along, before its first look at all of them: its ladders stand
first."""
SHORTEST = 3
"""Swatches from which on a row is worth a question of its own."""

HOW_TO_ANSWER = (
    "Answer with a swatch: B7. Or with 'B7, then C7', 'between B7 and B8',",
    "'B7, a little darker'. '?' behind it: unsure; '!': certain.",
    "Where none is right, name the nearest on the whole sheet; or say 'none of them: yellower'.",
    "'skip' goes on, 'back' asks the last one again, 'stop' ends. Every answer is kept at once.",
)
"""To be said once, before the first question, in lines."""
WHO = "Who looks (a name, or nothing)?"
LIGHT = "Under which light (such as: north window)?"

_HOLD = "Hold {thing} right beside the swatches for {colour}, {where}."
_REST = "Rest your eyes on something grey, then hold {thing} beside {where} again."
_ALONG = "Along row {row}, {way}: which is nearest?"
_FIRST = "Of all of them, {where}: which is nearest?"
_AGAIN = "{colour} once more, {where}: which is nearest now?"
_LAST = "A last look at {colour}, {where}: which is nearest?"
_NAMED = "The scanner names {named}: which is nearest to {thing}?"
_BEYOND = (
    "{named} is not one of {colour}'s own swatches: taken as the nearest on the whole sheet. "
    "A slip? Say 'back'."
)
_NOT_YET = "Another swatch of the sheet comes nearer? Say 'back' and name it: that tells more."
_OF_TWO = "Look at {two} alone: which is nearer to {thing}?"


@dataclass(frozen=True)
class Question:
    """One look that is asked for.

    Attributes
    ----------
    colour
        Which brand colour it is about.
    text
        What to ask.
    before
        What to do before it; to be said where colour or turn are others than just before.
    turn
        Which look of the day at these swatches of the colour it is, from 1 on.
    among
        The swatches that it is about; None for all that the colour has.
    """

    colour: str
    text: str
    before: str
    turn: int = 1
    among: tuple[str, ...] | None = None

    def is_answered_by(self, look: Pick) -> bool:
        """Tell whether a look is an answer to it, of whomever and whenever."""
        asked = self.colour, self.among, self.turn
        return (look.colour, look.among, look.turn or 1) == asked


@dataclass(frozen=True)
class Looking:
    """A person beside a sheet.

    Attributes
    ----------
    sheet
        The sheet that lies before the person.
    by, light, day
        Who looks, under which light, and when.
    sure
        How sure an answer is that says nothing of it, 0 to 1.
    order
        Names the things that the colours are matched to, where it is known.
    scanned
        What a scanner said of things that lay with the sheet: the swatches that it named are asked
        of first.
    """

    sheet: SampleSheet
    by: str
    light: str
    day: datetime.date
    sure: float = 0.5
    order: Order | None = None
    scanned: tuple[Pick, ...] = ()

    def questions(self, colours: Sequence[str], after: int = 0) -> tuple[Question, ...]:
        """Return what is asked at one sitting: every colour once, then all of them again.

        The other colours come between two looks at one, so that the eye rests. A colour's first
        look of the day goes along each of its rows, and then over all of them. ``after`` is how
        many times all colours were looked at before, where a person goes on all the same.
        """
        last = after + LOOKS_A_SHEET
        return tuple(
            question
            for turn in range(after + 1, last + 1)
            for colour in colours
            for question in self._of_colour(colour, turn, is_last=turn == last)
        )

    def times_looked(self, looks: Sequence[Pick], colours: Sequence[str]) -> int:
        """Return how many times this person looked at any of some colours today."""
        return max((it.turn or 1 for it in self.own(looks) if it.colour in colours), default=0)

    def own(self, looks: Sequence[Pick]) -> tuple[Pick, ...]:
        """Return those of some looks at the sheet that this person had today."""
        mine = (self.by, self.day)
        return tuple(it for it in looks if (it.by, it.picked_on) == mine and it.build is None)

    def read(self, question: Question, answer: str) -> Pick:
        """Return an answer as the look that it is.

        Raises OrderError for one that can't be read, or that names a swatch which a question along
        a row, or of a few, is not about.
        """
        look = parse_choice(
            answer,
            self.sheet,
            colour=question.colour,
            by=self.by,
            light=self.light,
            sure=self.sure,
            picked_on=self.day,
            among=question.among,
        )
        self._check_asked(question, look)
        # The same answer on another turn counts once more.
        return look.model_copy(update={"turn": question.turn if question.turn > 1 else None})

    def swatches(self, question: Question) -> list[Swatch]:
        """Return the swatches that a question is about, in the order of the sheet."""
        if question.among is None:
            return _swatches_for(self.sheet, question.colour)
        return [it for it in self.sheet.swatches if it.id in question.among]

    def others(self, question: Question) -> list[Swatch]:
        """Return the rest of the sheet, which may be named where none of a colour's is right."""
        about = self.swatches(question)
        some = question.among is None
        return [it for it in self.sheet.swatches if it not in about] if some else []

    def remark(self, question: Question, look: Pick) -> str | None:
        """Return what to say of an answer that is none of the swatches which it was asked of."""
        others = [it.id for it in self.others(question)]
        if look.swatch in others:
            return _BEYOND.format(named=look.swatch, colour=question.colour)
        return _NOT_YET if others and look.swatch is None else None

    def second_look(
        self, colour: str, own: Sequence[Pick], model: Callable[[], Predictor]
    ) -> Question | None:
        """Return what to ask where two of a person's looks at a colour lie far apart.

        ``model`` gives what the sheet's pair prints; it is asked for where there are two looks.
        """
        whole = [it for it in own if it.colour == colour and it.among is None]
        found = far_apart(self.sheet, whole, model()) if len(whole) > 1 else None
        return None if found is None else self.of_two(found)

    def of_two(self, found: FarApart) -> Question:
        """Return what to ask of two looks of one person that lie far apart."""
        one, other = found.one, found.other
        thing = self._thing(one.colour)
        return Question(
            colour=one.colour,
            text=_OF_TWO.format(two=f"{one.swatch} and {other.swatch}", thing=thing),
            before=f"For {one.colour} you chose {in_words(one)} and {in_words(other)}, about "
            f"{found.apart:.0f} ΔE00 apart: look again at these two.",
            among=tuple(it for it in (one.swatch, other.swatch) if it is not None),
        )

    def _of_colour(self, colour: str, turn: int, *, is_last: bool) -> Iterator[Question]:
        swatches = _swatches_for(self.sheet, colour)
        told = {"thing": self._thing(colour), "colour": colour, "where": _where(swatches)}
        if turn > 1:
            text = (_LAST if is_last else _AGAIN).format(**told)
            yield Question(colour, _sentence(text), _REST.format(**told), turn)
            return
        hold = _HOLD.format(**told)
        if named := self._named(colour):
            yield Question(colour, _NAMED.format(named=joined(named), **told), hold, among=named)
        for row in _rows(swatches):
            ids = tuple(it.id for it in row)
            text = _ALONG.format(row=_row_name(row, self.sheet), way=_way(row))
            yield Question(colour, text, hold, among=ids)
        yield Question(colour, _FIRST.format(**told), hold)

    def _named(self, colour: str) -> tuple[str, ...] | None:
        """Return the swatches that a scanner named for a colour, when its thing last lay there."""
        named = [it.among for it in self.scanned if it.colour == colour and it.build is not None]
        return named[-1] if named else None

    def _thing(self, colour: str) -> str:
        order = self.order
        aim = order.colours[colour].aim if order and colour in order.colours else None
        return (aim.by_eye if aim is not None else None) or f"what {colour} is to match"

    def _check_asked(self, question: Question, look: Pick) -> None:
        if (asked := question.among) is None:
            return  # where none of a colour's is right, the nearest on the whole sheet tells more
        named = [it for it in (look.swatch, look.between, look.then) if it is not None]
        if other := [it for it in named if it not in asked]:
            raise OrderError.of(
                "not-asked",
                f"{joined(other)} {'is' if len(other) == 1 else 'are'} not among the swatches that "
                f"this is about, {asked[0]} to {asked[-1]}",
                hint="this is about these alone, others come next; 'skip' goes on",
            )


def offered(sheet: SampleSheet) -> tuple[str, ...]:
    """Return the colours that a sheet offers to the eye, in its order."""
    return tuple(dict.fromkeys(it.colour for it in sheet.swatches if it.for_eye and it.colour))


def wanted_colours(
    sheet: SampleSheet, colours: Sequence[str] = (), order: Order | None = None
) -> Sequence[str]:
    """Return the colours to ask for: those that are named, or all that a sheet offers to the eye.

    Raises OrderError for one that neither the sheet shows nor its order has.
    """
    known = known_colours(sheet, order)
    wanted = (colours or offered(sheet)) if known else ()
    for name in wanted:
        if name not in known:
            raise OrderError.of(
                "unknown-colour",
                f"sheet {sheet.id} has no swatches for a colour '{name}'",
                hint=suggest(name, known),
            )
    if not wanted:
        others = "; or name a colour, to look at all of them (--colour)" if known else ""
        raise OrderError.of(
            "nothing-to-look-at",
            f"sheet {sheet.id} has no swatches that were made for the eye",
            hint=f"read it with an instrument{others}",
        )
    return wanted


def known_colours(sheet: SampleSheet, order: Order | None) -> tuple[str, ...]:
    """Return the colours that can be asked for at a sheet: those on it, and its order's.

    None at a sheet of controls alone.
    """
    if all(it.control for it in sheet.swatches):
        return ()
    shown = (it.colour for it in sheet.swatches if it.colour)
    return tuple(dict.fromkeys([*shown, *(order.colours if order is not None else ())]))


def _swatches_for(sheet: SampleSheet, colour: str) -> list[Swatch]:
    """Return the swatches of a colour that are for the eye, or all that it has, or any others."""
    own = [it for it in sheet.swatches if it.colour == colour]
    return (
        [it for it in own if it.for_eye] or own or [it for it in sheet.swatches if not it.control]
    )


def _rows(swatches: Sequence[Swatch]) -> list[list[Swatch]]:
    """Return the rows of a colour to ask along; none where there is one, or nobody knows where."""
    placed = [it for it in swatches if it.colour is not None and it.box_pt is not None]
    rows = [list(row) for _, row in groupby(placed, key=row_of)]
    return [row for row in rows if len(row) >= SHORTEST][:ROWS] if len(rows) > 1 else []


def row_of(swatch: Swatch) -> tuple[int, float]:
    """Return which row of its sheet a swatch stands in: the page, and the upper edge."""
    assert swatch.box_pt is not None  # noqa: S101 -- only such are asked for
    return swatch.page, swatch.box_pt[3]


def _row_name(row: Sequence[Swatch], sheet: SampleSheet) -> str:
    """Return 'B', or 'B, B1 to B5', where another colour's ladder stands beside it."""
    name, where = row[0].id.rstrip("0123456789"), _where(row)
    offered = (it for it in sheet.swatches if it.for_eye and it.box_pt)
    beside = {it.colour for it in offered if row_of(it) == row_of(row[0])}
    return f"{name}, {where}" if len(beside) > 1 and _way(row) != where else name


def _way(row: Sequence[Swatch]) -> str:
    """Say which way a ladder leads, 'from darker to lighter', or from which swatch to which."""
    first, last = row[0].ways, row[-1].ways
    return f"from {first[0]} to {last[0]}" if first and last else _where(row)


def _where(swatches: Sequence[Swatch]) -> str:
    """Say from which swatch to which some run: 'B7 to C4'."""
    first, last = swatches[0].id, swatches[-1].id
    return f"{first} to {last}" if first != last else first


def _sentence(text: str) -> str:
    return text[0].upper() + text[1:] if text.startswith(("a ", "an ", "the ")) else text
