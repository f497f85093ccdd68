"""Where each sample sheet of an order is on its way: planned, sent, printed, back, read."""

import datetime
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum

from inkaccord.order.model import Order
from inkaccord.report.wording import are_late
from inkaccord.run.sampling import SheetDates, sheet_dates
from inkaccord.sheets.model import Purpose
from inkaccord.shelf.kept import MoveKind
from inkaccord.shelf.overview import SheetSummary
from inkaccord.shelf.place import ShelfPlace
from inkaccord.words import counted, day

_NOT_ASKED_FOR = {Purpose.IMPORTED, Purpose.SWATCH_SET}
"""These are nobody's to wait for."""


class SampleState(StrEnum):
    """How far a sample sheet has come."""

    PLANNED = "planned"
    """Drawn, and not yet on its way."""
    SENT = "sent"
    """It went off to be printed."""
    PRINTED = "printed"
    """It is on paper; nobody said that it came back from anywhere."""
    BACK = "back"
    """It came back printed, and waits to be read."""
    READ = "read"
    """It was read, or looked at by eye."""


@dataclass(frozen=True)
class SampleOnItsWay:
    """A sample sheet, and where it is on its way.

    Attributes
    ----------
    line
        What the shelf says of it.
    vendor
        Who prints it, as a person reads it.
    since
        The day on which it came to this state.
    who
        Who has it, or where it lies; empty where nobody said.
    dates
        By when it is needed; None where the order has no due date, or the sheet is read.
    """

    line: SheetSummary
    vendor: str
    state: SampleState
    since: datetime.date
    who: str
    dates: SheetDates | None

    @property
    def next_by(self) -> datetime.date | None:
        """By when its next step must be done."""
        if self.dates is None or self.state is SampleState.READ:
            return None
        planned = self.state is SampleState.PLANNED
        return self.dates.send_by if planned else self.dates.back_by

    def reminder(self, today: datetime.date) -> str:
        """Say what is to happen by when, or what is late; empty where nothing presses."""
        by = self.next_by
        if by is None or self.dates is None:
            return ""
        what = {
            SampleState.PLANNED: "to be printed or sent",
            SampleState.SENT: "needed back",
        }.get(self.state, "to be read")
        late = are_late(self.dates.pieces)
        if by < today:
            return f"was {what} by {day(by, weekday=True)}: ask, or {late}"
        return f"{what} by {day(by, weekday=True)}, or {late}"


def sample_round(order: Order, lines: Iterable[SheetSummary]) -> list[SampleOnItsWay]:
    """Return the sample sheets that an order has asked for, or waits for, in the shelf's order.

    Sheets that were withdrawn or retired, and those of pairs that it no longer prints on, are not
    among them.
    """
    pairs = order.pairs_needed()
    found = []
    for line in lines:
        state, since = _state(line)
        is_own = line.order == order.order
        waits = state is not SampleState.READ
        gone = line.retired_at is not None or (line.withdrawn_at is not None and waits)
        if gone or line.purpose in _NOT_ASKED_FOR or line.pair not in pairs:
            continue
        if is_own or waits:
            sent = line.sent
            vendor = order.on(line.pair).vendor_title
            found.append(
                SampleOnItsWay(
                    line=line,
                    vendor=vendor,
                    state=state,
                    since=since,
                    who=line.lies if sent is None else sent.place or vendor,
                    dates=sheet_dates(order, line.pair) if waits else None,
                )
            )
    return found


@dataclass(frozen=True)
class AwaitedSheet:
    """A sample sheet that orders have asked for, or wait for: what presses first is said of it."""

    one: SampleOnItsWay
    orders: tuple[str, ...]
    """As they are called, each once."""


def due_first(
    rounds: Iterable[tuple[str, ShelfPlace, Iterable[SampleOnItsWay]]],
) -> list[AwaitedSheet]:
    """Return the sheets of orders, each once: what is due first, and last what was read.

    ``rounds`` holds each order's name, its shelf, and its sheets there.
    """
    found: dict[tuple[ShelfPlace, str], AwaitedSheet] = {}
    for order, shelf, sheets in rounds:
        for one in sheets:
            key = shelf, one.line.id
            before = found.get(key)
            names = () if before is None else before.orders
            first = one if before is None else min(before.one, one, key=_pressing)
            found[key] = AwaitedSheet(first, tuple(dict.fromkeys([*names, order])))
    return sorted(found.values(), key=lambda it: _pressing(it.one))


def _pressing(one: SampleOnItsWay) -> tuple[object, ...]:
    read = one.state is SampleState.READ
    return read, one.next_by or datetime.date.max, one.since, str(one.line.pair), one.line.id


def in_brief(found: Iterable[SampleOnItsWay], today: datetime.date) -> Iterator[str]:
    """Yield what is to be said of an order's sheets that are not read yet: who has how many.

    Such as ``3 sheets away at Quay Print since 2 November 2026, needed back by 6 November 2026``.
    """
    groups: dict[str, list[SampleOnItsWay]] = {}
    for one in sorted(found, key=_pressing):
        if one.state is SampleState.SENT:
            groups.setdefault(f"away at {one.who}", []).append(one)
        elif one.state is SampleState.PLANNED:
            groups.setdefault("to be printed or sent", []).append(one)
        elif one.state is not SampleState.READ:
            groups.setdefault("on paper, to be read", []).append(one)
    for words, sheets in groups.items():
        said = f"{counted(len(sheets), 'sheet')} {words}"
        if sheets[0].state is SampleState.SENT:
            said += f" since {day(min(it.since for it in sheets))}"
        by = sheets[0].next_by
        if by is not None and by < today:
            said += f": late, that was due on {day(by)}"
        elif by is not None:
            said += f", {'needed back ' if sheets[0].state is SampleState.SENT else ''}by {day(by)}"
        yield said


def _state(line: SheetSummary) -> tuple[SampleState, datetime.date]:
    """Return how far a sheet has come, and since when."""
    seen = [it for it in (line.last_read, line.last_looked) if it is not None]
    if seen:
        return SampleState.READ, max(seen)
    if line.sent is not None:
        return SampleState.SENT, line.sent.at.date()
    back = [it for it in line.moves if it.kind is MoveKind.BACK]
    if back:
        return SampleState.BACK, back[-1].at.date()
    if line.printed_at is not None:
        return SampleState.PRINTED, line.printed_at.date()
    return SampleState.PLANNED, line.added_at.date()
