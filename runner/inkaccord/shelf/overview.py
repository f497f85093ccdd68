"""What lies on the shelf, in a line a sheet: age, evidence, drift, use. No swatch is loaded."""

import datetime
import json
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import sqlalchemy as sa

from inkaccord.colour.builds import Drive
from inkaccord.colour.pairs import Pair
from inkaccord.errors import OrderError
from inkaccord.models import Frozen
from inkaccord.sheets.model import Purpose
from inkaccord.shelf.schema import picks, readings, records, served, sheets, swatches

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
    served: int
    """How many colours of orders its pair has translated."""
    drift: float | None
    """Root mean square ΔE00 of its controls from those of the pair's first reading, the readings'
    noise taken off; None for that one."""

    @property
    def state(self) -> str:
        """Where it stands, in a word or two."""
        if self.retired_at:
            return "retired"
        if self.readings or self.picks:
            return "in use"
        if self.withdrawn_at:
            return "withdrawn"
        return "printed, waiting" if self.printed_at else "waiting"

    def age_days(self, today: datetime.date) -> int | None:
        """Return how long ago it was read."""
        return (today - self.last_read).days if self.last_read else None


def overview(connection: sa.Connection, *, retired: bool) -> tuple[SheetSummary, ...]:
    """Return a line for every sheet, pair by pair, the oldest first, retired ones if asked."""
    query = sa.select(sheets).order_by(sheets.c.pair, sheets.c.added_at, sheets.c.id)
    if not retired:
        query = query.where(sheets.c.retired_at.is_(None))
    listed = connection.execute(query).all()
    counted = _counts(connection, swatches.c.sheet_id)
    picked = _counts(connection, picks.c.sheet_id)
    use = _counts(connection, served.c.pair)
    read: dict[str, list[sa.Row[Any]]] = {}
    in_use = sa.select(records).where(records.c.retired_at.is_(None))
    for row in connection.execute(in_use.order_by(records.c.recorded_at, records.c.digest)):
        read.setdefault(row.sheet_id, []).append(row)
    drifts = _drifts(connection, listed, read)
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
            served=use.get(row.pair, 0),
            drift=drifts.get(row.id),
        )
        for row in listed
    )


def _counts(connection: sa.Connection, column: sa.Column[Any]) -> dict[str, int]:
    query = sa.select(column, sa.func.count()).group_by(column)
    return {str(name): int(count) for name, count in connection.execute(query)}


def _day(record: sa.Row[Any]) -> datetime.date:
    return datetime.date.fromisoformat((record.read_on or record.recorded_at)[:10])


def _drifts(
    connection: sa.Connection,
    listed: Sequence[sa.Row[Any]],
    read: dict[str, list[sa.Row[Any]]],
) -> dict[str, float]:
    """Return how far the controls of every sheet lie from those of its pair's first reading."""
    controls = _controls(connection)
    first: dict[str, sa.Row[Any]] = {}
    for row in listed:
        for record in read.get(row.id, ()):
            earlier = first.get(row.pair)
            if record.digest in controls and (earlier is None or _day(record) < _day(earlier)):
                first[row.pair] = record
    drifts: dict[str, float] = {}
    for row in listed:
        start = first.get(row.pair)
        if start is None:
            continue
        newest = max(read.get(row.id, [start]), key=_day)
        if newest.digest != start.digest and newest.digest in controls:
            apart = _apart(
                _readings(row.drive, controls[start.digest], start.noise),
                _readings(row.drive, controls[newest.digest], newest.noise),
            )
            if apart is not None:
                drifts[row.id] = apart
    return drifts


def _controls(connection: sa.Connection) -> dict[str, _Labs]:
    """Return for every record the colours of its control swatches, by build."""
    query = (
        sa.select(readings.c.record, swatches.c.v1, swatches.c.v2, swatches.c.v3, swatches.c.v4)
        .add_columns(readings.c.lab_l, readings.c.lab_a, readings.c.lab_b)
        .join(
            swatches,
            (swatches.c.sheet_id == readings.c.sheet_id) & (swatches.c.id == readings.c.swatch_id),
        )
        .where(swatches.c.control)
    )
    found: dict[str, _Labs] = {}
    for row in connection.execute(query):
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
