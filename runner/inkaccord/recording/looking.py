"""What a person is asked beside a printed sheet: short questions, one after the other.

The words are for whoever shows them, a command or a page. Each answer is a look of its own, and is
kept as it comes.
"""

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from inkaccord.order.model import Order
from inkaccord.sheets.model import Pick, SampleSheet

LOOKS = 3
"""Looks at each colour of a sheet. The other colours come between, so that the eye rests."""

_FIRST = "Hold {thing} beside the swatches for {colour} ({where}). Which is nearest?"
_AGAIN = "Look away for a moment, then at {thing} again ({colour}, {where}). Which is nearest now?"
_LAST = "A last look at {thing} ({colour}, {where}): which is nearest?"


@dataclass(frozen=True)
class Question:
    """One look that is asked for.

    Attributes
    ----------
    colour
        Which brand colour it is about.
    turn
        Which look at that colour it is, from 1 on.
    text
        What to ask.
    """

    colour: str
    turn: int
    text: str

    def answered(self, look: Pick) -> Pick:
        """Return an answer as the look that it is: the same answer on another turn counts too."""
        return look.model_copy(update={"turn": self.turn if self.turn > 1 else None})


def offered(sheet: SampleSheet) -> tuple[str, ...]:
    """Return the colours that a sheet offers to the eye, in its order."""
    return tuple(dict.fromkeys(it.colour for it in sheet.swatches if it.for_eye and it.colour))


def questions(
    sheet: SampleSheet,
    colours: Sequence[str],
    looks: Sequence[Pick],
    *,
    by: str,
    today: datetime.date,
    order: Order | None = None,
) -> tuple[Question, ...]:
    """Return what is still to be asked, in turns: all colours once, then all of them again.

    Parameters
    ----------
    sheet
        The sheet that lies before the person.
    colours
        The colours to look for, such as :func:`offered` gives.
    looks
        What is kept of the sheet. What this person has answered today is not asked again.
    by, today
        Who looks, and when.
    order
        Names the things that the colours are matched to, where it is known.
    """
    things = {name: _thing(order, name) for name in colours}
    given: Mapping[str, int] = {
        name: sum(it.colour == name and it.by == by and it.picked_on == today for it in looks)
        for name in colours
    }
    return tuple(
        Question(name, turn, _text(sheet, name, things[name], turn))
        for turn in range(1, LOOKS + 1)
        for name in colours
        if turn > given[name]
    )


def _text(sheet: SampleSheet, colour: str, thing: str, turn: int) -> str:
    words = {1: _FIRST, LOOKS: _LAST}.get(turn, _AGAIN)
    return words.format(thing=thing, colour=colour, where=_where(sheet, colour))


def _thing(order: Order | None, colour: str) -> str:
    aim = order.colours[colour].aim if order is not None and colour in order.colours else None
    return (aim.by_eye if aim is not None else None) or f"what {colour} is to match"


def _where(sheet: SampleSheet, colour: str) -> str:
    """Say from which swatch to which a colour's run: 'B7 to C4'."""
    ids = [it.id for it in sheet.swatches if it.colour == colour]
    return f"{ids[0]} to {ids[-1]}" if len(ids) > 1 else ids[0]
