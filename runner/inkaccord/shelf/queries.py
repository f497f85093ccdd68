"""Reading the tables: rows to kept values, on a connection that someone else opened."""

from collections.abc import Iterable, Sequence
from difflib import get_close_matches
from typing import Any, NamedTuple

import sqlalchemy as sa

from inkaccord.colour.builds import Drive
from inkaccord.colour.pairs import Pair
from inkaccord.errors import OrderError
from inkaccord.sheets.model import Purpose, SampleSheet
from inkaccord.sheets.naming import spoken
from inkaccord.shelf import rows
from inkaccord.shelf.kept import KeptPick, KeptReadings, KeptSheet, PairEvidence, Served
from inkaccord.shelf.moves import moves_of
from inkaccord.shelf.place import SHELF_OF_ITS_OWN
from inkaccord.shelf.schema import moves, picks, readings, records, served, sheets, swatches


def exists(connection: sa.Connection, column: sa.Column[Any], value: str) -> bool:
    """Tell whether a column holds a value."""
    return connection.execute(sa.select(column).where(column == value)).first() is not None


def find_sheet(connection: sa.Connection, sheet_id: str) -> KeptSheet | None:
    """Return a sheet by its id as anyone may write it, or None."""
    as_said = sa.func.replace(sa.func.upper(sheets.c.id), "-", "")
    query = sa.select(sheets).where(as_said == spoken(sheet_id))
    row = connection.execute(query).first()
    return _kept(connection, [row])[0] if row else None


def need_sheet(connection: sa.Connection, sheet_id: str) -> KeptSheet:
    """Return a sheet by its id. Raises OrderError that names the nearest, or what there is."""
    kept = find_sheet(connection, sheet_id)
    if kept is None:
        query = sa.select(sheets.c.id).order_by(sheets.c.added_at.desc(), sheets.c.id)
        known = list(connection.execute(query).scalars())
        near = get_close_matches(sheet_id.strip().upper(), known, n=1, cutoff=0.7)
        listed = ", ".join(known[:12]) + (f" and {len(known) - 12} more" if known[12:] else "")
        raise OrderError.of(
            "no-such-sheet",
            f"there is no sheet {sheet_id} on the shelf"
            + (f"; it has {listed}" if known else ", which is empty"),
            hint=f"did you mean {near[0]}?"
            if near
            else "the sheet's id is printed on it; 'inkaccord shelf list' shows all"
            f"{SHELF_OF_ITS_OWN}",
        )
    return kept


def sheet_ids(connection: sa.Connection) -> tuple[str, ...]:
    """Return the ids of all sheets in use."""
    query = sa.select(sheets.c.id).where(sheets.c.retired_at.is_(None))
    return tuple(connection.execute(query).scalars())


MOST_NAMED = 200
"""Sheets of which so many, the newest, are named where a person chooses one."""


def pairs_in_use(connection: sa.Connection) -> tuple[Pair, ...]:
    """Return the pairs that have a sheet in use."""
    query = sa.select(sheets.c.pair).where(sheets.c.retired_at.is_(None)).distinct()
    found = connection.execute(query.order_by(sheets.c.pair)).scalars()
    return tuple(Pair.parse(pair) for pair in found)


class NamedSheet(NamedTuple):
    """A sheet by its id, and what it is printed on."""

    id: str
    pair: str


def drawn_sheets(connection: sa.Connection, *, read: bool) -> tuple[NamedSheet, ...]:
    """Return the newest sheets in use that were drawn here; only those that were read, if asked."""
    query = sa.select(sheets.c.id, sheets.c.pair).where(
        sheets.c.retired_at.is_(None), sheets.c.purpose != Purpose.IMPORTED.value
    )
    if read:
        in_use = sa.select(records.c.sheet_id).where(records.c.retired_at.is_(None))
        query = query.where(sheets.c.id.in_(in_use))
    query = query.order_by(sheets.c.added_at.desc(), sheets.c.id).limit(MOST_NAMED)
    return tuple(NamedSheet(*row) for row in connection.execute(query))


def sheets_of(
    connection: sa.Connection, pair: Pair | None, *, retired: bool
) -> tuple[KeptSheet, ...]:
    """Return the sheets of a pair, or of all; the oldest first, retired ones if asked."""
    query = sa.select(sheets).order_by(sheets.c.added_at, sheets.c.id)
    if pair is not None:
        query = query.where(sheets.c.pair == str(pair))
    if not retired:
        query = query.where(sheets.c.retired_at.is_(None))
    return _kept(connection, connection.execute(query).all())


def _kept(connection: sa.Connection, found: Sequence[sa.Row[Any]]) -> tuple[KeptSheet, ...]:
    ids = [row.id for row in found]
    on_sheet, moved = _by(connection, swatches.c.sheet_id, ids), moves_of(connection, ids)
    return tuple(
        KeptSheet(
            sheet=rows.sheet_value(row, on_sheet[row.id]),
            added_at=row.added_at,
            added_by=row.added_by,
            retired_at=row.retired_at,
            retired_by=row.retired_by,
            retired_why=row.retired_why,
            printed_at=row.printed_at,
            withdrawn_at=row.withdrawn_at,
            withdrawn_why=row.withdrawn_why,
            moves=moved.get(row.id, ()),
        )
        for row in found
    )


def _by(
    connection: sa.Connection, owner: sa.Column[Any], owners: Sequence[str]
) -> dict[str, list[sa.Row[Any]]]:
    """Return the rows of a table that has positions, by their owner, asked for all at once."""
    found: dict[str, list[sa.Row[Any]]] = {one: [] for one in owners}
    query = sa.select(owner.table).where(owner.in_(owners)).order_by(owner.table.c.position)
    for row in connection.execute(query):
        found[getattr(row, owner.name)].append(row)
    return found


def never_printed(connection: sa.Connection, ids: Iterable[str]) -> dict[str, Pair]:
    """Return which of some sheets are on no paper as far as anyone said, each with its pair."""
    told = (it.c.sheet_id == sheets.c.id for it in (moves, records, picks))
    query = (
        sa.select(sheets.c.id, sheets.c.pair)
        .where(sheets.c.id.in_(list(ids)), sheets.c.printed_at.is_(None))
        .where(*(~sa.exists().where(it) for it in told))
        .order_by(sheets.c.id)
    )
    return {name: Pair.parse(pair) for name, pair in connection.execute(query)}


def evidence_of(connection: sa.Connection, pairs: Iterable[Pair]) -> dict[Pair, PairEvidence]:
    """Return all that the sheets in use of some pairs tell, asked for all at once."""
    wanted = list(dict.fromkeys(pairs))
    query = sa.select(sheets).where(sheets.c.pair.in_([str(pair) for pair in wanted]))
    query = query.where(sheets.c.retired_at.is_(None)).order_by(sheets.c.added_at, sheets.c.id)
    kept = _kept(connection, connection.execute(query).all())
    in_use = [it.sheet for it in kept]
    read = readings_of_sheets(connection, in_use, retired=False)
    picked = picks_of_sheets(connection, in_use)
    return {
        pair: PairEvidence(
            sheets=tuple(it for it in kept if it.sheet.pair == pair),
            readings=tuple(it for it in read if it.sheet.pair == pair),
            picks=tuple(it for it in picked if it.sheet.pair == pair),
        )
        for pair in wanted
    }


def readings_counted(
    connection: sa.Connection, devices: Iterable[str]
) -> dict[tuple[Pair, Drive], int]:
    """Return how many readings in use each pair of some devices has, in order of their names."""
    query = (
        sa.select(sheets.c.pair, sheets.c.drive, sa.func.count(readings.c.position))
        .join(records, records.c.sheet_id == sheets.c.id)
        .join(readings, readings.c.record == records.c.digest)
        .where(sa.or_(*(sheets.c.pair.startswith(f"{it}@", autoescape=True) for it in devices)))
        .where(sheets.c.retired_at.is_(None), records.c.retired_at.is_(None))
        .group_by(sheets.c.pair, sheets.c.drive)
        .order_by(sheets.c.pair)
    )
    return {
        (Pair.parse(pair), Drive(drive)): number
        for pair, drive, number in connection.execute(query)
    }


def readings_of(connection: sa.Connection, pair: Pair) -> tuple[KeptReadings, ...]:
    """Return the readings of a pair's sheets in use, the oldest record first."""
    in_use = [kept.sheet for kept in sheets_of(connection, pair, retired=False)]
    return readings_of_sheets(connection, in_use, retired=False)


def readings_of_sheets(
    connection: sa.Connection, of: Sequence[SampleSheet], *, retired: bool
) -> tuple[KeptReadings, ...]:
    """Return the readings of these sheets, the oldest first, retired ones if asked."""
    by_id = {sheet.id: sheet for sheet in of}
    query = sa.select(records).where(records.c.sheet_id.in_(by_id))
    if not retired:
        query = query.where(records.c.retired_at.is_(None))
    found = connection.execute(query.order_by(records.c.recorded_at, records.c.digest)).all()
    read = _by(connection, readings.c.record, [row.digest for row in found])
    return tuple(
        KeptReadings(
            digest=row.digest,
            sheet=by_id[row.sheet_id],
            readings=rows.readings_value(row, read[row.digest]),
            source=row.source,
            source_sha256=row.source_sha256,
            recorded_at=row.recorded_at,
            recorded_by=row.recorded_by,
            retired_at=row.retired_at,
            retired_by=row.retired_by,
            retired_why=row.retired_why,
        )
        for row in found
    )


def readings_from(connection: sa.Connection, source_sha256: str) -> tuple[KeptReadings, ...]:
    """Return the readings in use, of sheets in use, that came from files of this digest."""
    read = sa.select(records.c.sheet_id).where(records.c.source_sha256 == source_sha256)
    query = sa.select(sheets).where(sheets.c.id.in_(read), sheets.c.retired_at.is_(None))
    of = [kept.sheet for kept in _kept(connection, connection.execute(query).all())]
    kept = readings_of_sheets(connection, of, retired=False)
    return tuple(record for record in kept if record.source_sha256 == source_sha256)


def need_reading(connection: sa.Connection, sheet_id: str, digest: str) -> KeptReadings:
    """Return one reading of a sheet by the beginning of its digest, retired or not.

    Raises OrderError when no reading, or more than one, begins so.
    """
    sheet = need_sheet(connection, sheet_id).sheet
    kept = readings_of_sheets(connection, [sheet], retired=True)
    found = [record for record in kept if record.digest.startswith(digest.lower())]
    if len(found) != 1:
        known = ", ".join(record.digest[:8] for record in kept) or "none"
        raise OrderError.of(
            "no-such-reading",
            f"{len(found)} readings of sheet {sheet.id} begin with {digest!r}; it has {known}",
        )
    return found[0]


def picks_of(connection: sa.Connection, pair: Pair) -> tuple[KeptPick, ...]:
    """Return the picks on a pair's sheets in use, the oldest first."""
    in_use = [kept.sheet for kept in sheets_of(connection, pair, retired=False)]
    return picks_of_sheets(connection, in_use)


def picks_of_sheets(connection: sa.Connection, of: Sequence[SampleSheet]) -> tuple[KeptPick, ...]:
    """Return the picks on these sheets, the oldest first."""
    by_id = {sheet.id: sheet for sheet in of}
    query = sa.select(picks).where(picks.c.sheet_id.in_(by_id))
    return tuple(
        KeptPick(
            digest=row.digest,
            sheet=by_id[row.sheet_id],
            pick=rows.pick_value(row),
            recorded_at=row.recorded_at,
            recorded_by=row.recorded_by,
        )
        for row in connection.execute(query.order_by(picks.c.recorded_at, picks.c.digest))
    )


def served_of(
    connection: sa.Connection, pair: Pair | None, order: str | None = None
) -> tuple[Served, ...]:
    """Return which colours of an order, or of any, a pair's evidence, or any, has translated."""
    query = sa.select(served).order_by(served.c.pair, served.c.order_name, served.c.colour)
    if pair is not None:
        query = query.where(served.c.pair == str(pair))
    if order is not None:
        query = query.where(served.c.order_name == order)
    return tuple(
        Served(
            pair=Pair.parse(row.pair),
            order=row.order_name,
            colour=row.colour,
            served_at=row.served_at,
        )
        for row in connection.execute(query)
    )
