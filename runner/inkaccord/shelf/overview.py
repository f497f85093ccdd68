"""What lies on the shelf, in a line a sheet: age, evidence, drift, use. No swatch is loaded."""

import datetime
import json
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeVar

import sqlalchemy as sa

from inkaccord.colour.builds import Drive
from inkaccord.colour.pairs import Pair
from inkaccord.errors import OrderError
from inkaccord.models import Frozen
from inkaccord.sheets.model import Purpose
from inkaccord.shelf.kept import Move
from inkaccord.shelf.moves import moves_of
from inkaccord.shelf.schema import picks, readings, records, served, sheets, swatches
from inkaccord.shelf.whereabouts import PaperPlace, sent_of, whereabouts

if TYPE_CHECKING:
    from inkaccord.colour.readings import Readings

_Labs = dict[tuple[float, ...], tuple[float, float, float]]


class SheetSummary(Frozen):
    """One sheet in the list."""

    id: str
    pair: Pair
    purpose: Purpose
    order: str
    swatches: int
    pages: int
    added_at: datetime.datetime
    retired_at: datetime.datetime | None
    printed_at: datetime.datetime | None
    withdrawn_at: datetime.datetime | None
    readings: int
    """How often it was read."""
    last_read: datetime.date | None
    """The newest day of reading, or of recording where the file did not say."""
    noise: float | None
    """Standard deviation of its surest reading, ΔE00."""
    picks: int
    last_looked: datetime.date | None
    """The newest day of looking by eye."""
    served: int
    """How many colours of orders its pair has translated."""
    drift: float | None
    """Root mean square ΔE00 of its controls from those of the pair's first reading, the readings'
    noise taken off; None for that one."""
    moves: tuple[Move, ...] = ()
    """Where it went on paper, the earliest first."""

    @property
    def state(self) -> str:
        """Where it stands, in a word or two."""
        if self.retired_at:
            return "retired"
        if self.readings or self.picks:
            return "in use"
        if self.withdrawn_at:
            return "withdrawn"
        if self.printed_at:
            return "printed, waiting"
        return "sent" if self.sent is not None else "waiting"

    @property
    def sent(self) -> Move | None:
        """When it last went off to be printed, while it has not come back."""
        return sent_of(self.moves)

    @property
    def next_on_paper(self) -> tuple[str, ...]:
        """What can be said of it next until it is printed: 'sent' or 'printed', and then 'back'."""
        if self.sent is not None:
            return ("back",)
        known = self.printed_at or self.readings or self.picks
        return () if known else ("sent", "printed")

    @property
    def on_paper(self) -> PaperPlace:
        """Where its copies are, and how long they keep."""
        return whereabouts(self.moves, self.printed_at, (self.last_read, self.last_looked))

    @property
    def lies(self) -> str:
        """Where it lies now, as somebody said last; empty where nobody did, or it is away."""
        return self.on_paper.place

    def age_days(self, today: datetime.date) -> int | None:
        """Return how long ago it was read."""
        return (today - self.last_read).days if self.last_read else None


@dataclass(frozen=True)
class ListPage:
    """Which part of the list: so many lines, from one on."""

    start: int = 0
    lines: int = 100

    @classmethod
    def numbered(cls, number: int) -> "ListPage":
        """Return a page of the list by its number, from 1 on."""
        return cls(start=(number - 1) * cls.lines)

    @classmethod
    def pages(cls, of_all: int) -> int:
        """Return how many pages so many lines fill; one where there is none."""
        return max(1, math.ceil(of_all / cls.lines))


def number_of_sheets(connection: sa.Connection, *, retired: bool) -> int:
    """Return how many lines the whole list has."""
    counted = _listed(sa.select(sa.func.count()).select_from(sheets), retired=retired)
    return int(connection.execute(counted).scalar_one())


def overview(
    connection: sa.Connection,
    *,
    retired: bool,
    page: ListPage | None = None,
    sheet: str | None = None,
    drift: bool = True,
) -> tuple[SheetSummary, ...]:
    """Return a line for every sheet, pair by pair, the oldest first, retired ones if asked.

    Only what a page of the list needs is read, or the line of one sheet.
    """
    query = _listed(sa.select(sheets), retired=retired)
    query = query.order_by(sheets.c.pair, sheets.c.added_at, sheets.c.id)
    if page is not None:
        query = query.offset(page.start).limit(page.lines)
    if sheet is not None:
        query = query.where(sheets.c.id == sheet)
    listed = connection.execute(query).all()
    ids, pairs = [row.id for row in listed], {row.pair for row in listed}
    counted = _counts(connection, swatches.c.sheet_id, ids)
    picked = _counts(connection, picks.c.sheet_id, ids)
    looked = _last_looks(connection, ids)
    use = _counts(connection, served.c.pair, pairs)
    read: dict[str, list[sa.Row[Any]]] = {}
    in_use = sa.select(records).where(records.c.retired_at.is_(None), records.c.sheet_id.in_(ids))
    for row in connection.execute(in_use.order_by(records.c.recorded_at, records.c.digest)):
        read.setdefault(row.sheet_id, []).append(row)
    drifts: Mapping[str, float] = {}
    if drift:
        first = {pair: _first_reading(connection, pair, retired=retired) for pair in sorted(pairs)}
        drifts = _drifts(connection, listed, read, first)
    moved = moves_of(connection, ids)
    return tuple(
        SheetSummary(
            id=row.id,
            pair=Pair.parse(row.pair),
            purpose=row.purpose,
            order=row.order_name,
            swatches=counted.get(row.id, 0),
            pages=json.loads(row.layout).get("pages", 1),
            added_at=row.added_at,
            retired_at=row.retired_at,
            printed_at=row.printed_at,
            withdrawn_at=row.withdrawn_at,
            readings=len(read.get(row.id, ())),
            last_read=max((_day(one) for one in read.get(row.id, ())), default=None),
            noise=min((one.noise for one in read.get(row.id, ())), default=None),
            picks=picked.get(row.id, 0),
            last_looked=looked.get(row.id),
            served=use.get(row.pair, 0),
            drift=drifts.get(row.id),
            moves=moved.get(row.id, ()),
        )
        for row in listed
    )


_Query = TypeVar("_Query", bound=sa.Select[Any])


def _listed(query: _Query, *, retired: bool) -> _Query:
    return query if retired else query.where(sheets.c.retired_at.is_(None))


def _counts(
    connection: sa.Connection, column: sa.Column[Any], names: Iterable[str]
) -> dict[str, int]:
    query = sa.select(column, sa.func.count()).where(column.in_(names)).group_by(column)
    return {str(name): int(count) for name, count in connection.execute(query)}


def _last_looks(connection: sa.Connection, ids: Iterable[str]) -> dict[str, datetime.date]:
    """Return the newest day on which each of some sheets was looked at by eye."""
    recorded = sa.func.substr(picks.c.recorded_at, 1, 10)
    day = sa.func.max(sa.func.coalesce(sa.func.nullif(picks.c.picked_on, ""), recorded))
    query = sa.select(picks.c.sheet_id, day).where(picks.c.sheet_id.in_(ids))
    found = connection.execute(query.group_by(picks.c.sheet_id))
    return {name: datetime.date.fromisoformat(newest[:10]) for name, newest in found}


def _day(record: sa.Row[Any]) -> datetime.date:
    return datetime.date.fromisoformat((record.read_on or record.recorded_at)[:10])


def _first_reading(connection: sa.Connection, pair: str, *, retired: bool) -> sa.Row[Any] | None:
    """Return the first reading of a pair that holds controls."""
    day = sa.func.substr(
        sa.func.coalesce(sa.func.nullif(records.c.read_on, ""), records.c.recorded_at), 1, 10
    )
    query = (
        _listed(sa.select(records), retired=retired)
        .join(sheets, sheets.c.id == records.c.sheet_id)
        .where(sheets.c.pair == pair, records.c.retired_at.is_(None))
        .where(_of_controls(sa.select(1)).where(readings.c.record == records.c.digest).exists())
        .order_by(day, sheets.c.added_at, sheets.c.id, records.c.recorded_at, records.c.digest)
    )
    return connection.execute(query.limit(1)).first()


def _drifts(
    connection: sa.Connection,
    listed: Sequence[sa.Row[Any]],
    read: dict[str, list[sa.Row[Any]]],
    first: Mapping[str, sa.Row[Any] | None],
) -> dict[str, float]:
    """Return how far the controls of each sheet lie from those of its pair's first reading."""
    newest = {sheet: max(taken, key=_day) for sheet, taken in read.items()}
    wanted = {one.digest for one in (*newest.values(), *first.values()) if one is not None}
    controls = _controls(connection, wanted)
    drifts: dict[str, float] = {}
    for row in listed:
        start, last = first[row.pair], newest.get(row.id)
        if start is None or last is None:
            continue
        if last.digest != start.digest and last.digest in controls:
            apart = _apart(
                _readings(row.drive, controls[start.digest], start.noise),
                _readings(row.drive, controls[last.digest], last.noise),
            )
            if apart is not None:
                drifts[row.id] = apart
    return drifts


def _of_controls(query: _Query) -> _Query:
    """Return a query of readings, of control swatches alone."""
    of_swatch = (swatches.c.sheet_id == readings.c.sheet_id) & (
        swatches.c.id == readings.c.swatch_id
    )
    return query.select_from(readings.join(swatches, of_swatch)).where(swatches.c.control)


def _controls(connection: sa.Connection, digests: Iterable[str]) -> dict[str, _Labs]:
    """Return for records the colours of their control swatches, by build."""
    query = _of_controls(
        sa.select(
            readings.c.record,
            *(swatches.c.v1, swatches.c.v2, swatches.c.v3, swatches.c.v4),
            *(readings.c.lab_l, readings.c.lab_a, readings.c.lab_b),
        )
    )
    found: dict[str, _Labs] = {}
    for row in connection.execute(query.where(readings.c.record.in_(digests))):
        build = tuple(v for v in (row.v1, row.v2, row.v3, row.v4) if v is not None)
        found.setdefault(row.record, {})[build] = (row.lab_l, row.lab_a, row.lab_b)
    return found


def _readings(drive: str, labs: _Labs, noise: float) -> "Readings":
    import numpy as np  # noqa: PLC0415  (a shelf without drift lists without it)

    from inkaccord.colour.readings import Readings  # noqa: PLC0415
    from inkaccord.colour.spaces import lab_to_xyz  # noqa: PLC0415

    return Readings(
        drive=Drive(drive),
        builds=np.array(list(labs)),
        xyz=lab_to_xyz(np.array(list(labs.values()))),
        sheet=np.zeros(len(labs), dtype=np.int_),
        noise=np.full(len(labs), noise),
    )


def _apart(one: "Readings", other: "Readings") -> float | None:
    from inkaccord.colour.press.drift import drift_between  # noqa: PLC0415  (as above)

    try:
        return round(drift_between(one, other).typical, 2)
    except OrderError:  # nothing in common
        return None
