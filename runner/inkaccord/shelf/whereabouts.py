"""Where a printed sheet is: how many copies lie where, who borrowed one, and how long it keeps."""

import datetime
from collections.abc import Sequence

from inkaccord.models import Frozen
from inkaccord.shelf.kept import Move, MoveKind
from inkaccord.words import counted, day

KEEPS_IN_THE_DARK = datetime.timedelta(days=730)
KEEPS_IN_THE_LIGHT = datetime.timedelta(days=180)
"""How long a printed sheet is good to hold things against: paper yellows and inks fade (common
practice, no source). Its readings keep: they say what it was when it was read."""


def sent_of(moves: Sequence[Move]) -> Move | None:
    """Return the move by which a sheet went off to be printed, while it has not come back."""
    out = [it for it in moves if it.kind in {MoveKind.SENT, MoveKind.BACK}]
    return out[-1] if out and out[-1].kind is MoveKind.SENT else None


class PaperPlace(Frozen):
    """What is known of a sheet on paper."""

    place: str = ""
    """Where it lies, as somebody said last; empty where nobody did, or it is away."""
    copies: int | None = None
    """How many there are; None where nobody said."""
    lent: tuple[Move, ...] = ()
    """The loans that are still out."""
    last_seen: datetime.date | None = None
    """When somebody last had it in hands, as far as the shelf knows."""
    in_light: bool = False
    replace_after: datetime.date | None = None
    """How long it is good to hold things against; None while it is not known to be printed."""

    @property
    def told(self) -> str:
        """Where to find it, in a few words; empty where nobody said."""
        parts = [self.place] if self.place else []
        if self.copies is not None:
            parts.append(counted(self.copies, "copy", "copies"))
        for loan in self.lent:
            who = loan.place or "somebody"
            parts.append(f"{loan.copies or 1} lent to {who} on {day(loan.at.date())}")
        return ", ".join(parts)


def whereabouts(
    moves: Sequence[Move],
    printed_at: datetime.datetime | None = None,
    seen: Sequence[datetime.date | None] = (),
) -> PaperPlace:
    """Return what moves, the earliest first, tell of a sheet.

    ``printed_at`` is when it was said to be printed; ``seen`` are days on which it was read or
    looked at.
    """
    lies = [it for it in moves if it.kind in {MoveKind.BACK, MoveKind.LAID}]
    places = [it.place for it in lies if it.place]
    handled = [it.at.date() for it in moves if it.kind is not MoveKind.SENT]
    days = [*handled, *(it for it in seen if it is not None)]
    printed = [it.at.date() for it in moves if it.kind is MoveKind.BACK]
    printed += [printed_at.date()] if printed_at is not None else []
    light = [it for it in lies if it.in_light is not None]
    in_light = bool(light and light[-1].in_light)
    good_until = min(printed or days) + KEEPS_IN_THE_DARK if printed or days else None
    if in_light and good_until is not None:
        good_until = min(good_until, light[-1].at.date() + KEEPS_IN_THE_LIGHT)
    return PaperPlace(
        place=places[-1] if places and sent_of(moves) is None else "",
        copies=next((it.copies for it in reversed(lies) if it.copies is not None), None),
        lent=_still_lent(moves),
        last_seen=max(days, default=None),
        in_light=in_light,
        replace_after=good_until,
    )


def _still_lent(moves: Sequence[Move]) -> tuple[Move, ...]:
    """Return the loans that nobody has returned; who returns without a name returns them all."""
    out: list[Move] = []
    for move in moves:
        if move.kind is MoveKind.LENT:
            out.append(move)
        elif move.kind is MoveKind.RETURNED:
            out = [it for it in out if move.place and it.place != move.place]
    return tuple(out)
