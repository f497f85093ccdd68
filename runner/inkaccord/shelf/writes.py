"""Filling the tables: kept values to rows, on a connection in a transaction someone else opened.

Each function returns whether anything was new, and raises an OrderError before it changes
anything that the shelf does not take.
"""

import datetime
from collections.abc import Mapping, Sequence

import sqlalchemy as sa

from inkaccord.errors import OrderError
from inkaccord.shelf import queries, rows, rules
from inkaccord.shelf.kept import KeptPick, KeptReadings, KeptSheet, Served
from inkaccord.shelf.schema import picks, readings, records, served, sheets, swatches
from inkaccord.shelf.state import PlanKept


def put_sheet(connection: sa.Connection, kept: KeptSheet) -> bool:
    """Keep a sheet, unless it is kept already. Raises OrderError when its id is another's.

    Its moves are put by themselves, since those of a sheet that is kept may be news too.
    """
    sheet = kept.sheet
    rules.check_sheet(sheet)
    if is_kept(connection, kept):
        return False
    row = rows.sheet_row(sheet) | {
        "added_at": kept.added_at.isoformat(),
        "added_by": kept.added_by,
        "retired_at": _moment(kept.retired_at),
        "retired_by": kept.retired_by,
        "retired_why": kept.retired_why,
        "printed_at": _moment(kept.printed_at),
        "withdrawn_at": _moment(kept.withdrawn_at),
        "withdrawn_why": kept.withdrawn_why,
    }
    connection.execute(sa.insert(sheets), row)
    connection.execute(sa.insert(swatches), rows.swatch_rows(sheet))
    return True


def plan(
    connection: sa.Connection,
    wanted: Sequence[KeptSheet],
    withdrawn: Mapping[str, str],
    *,
    at: datetime.datetime,
    write: bool = True,
) -> PlanKept:
    """Keep sheets, and say of others why nobody asks for them any more. Return what is new in it.

    With ``write`` off nothing is changed.
    """
    here = {name: queries.find_sheet(connection, name) for name in withdrawn}
    missing = [kept for kept in wanted if not is_kept(connection, kept)]
    there = [queries.find_sheet(connection, kept.sheet.id) for kept in wanted]
    kept = PlanKept(
        added=frozenset(it.sheet.id for it in missing),
        asked_again=frozenset(it.sheet.id for it in there if it and it.withdrawn_at),
        withdrawn=frozenset(name for name, it in here.items() if it and not it.withdrawn_at),
    )
    if write:
        for sheet in missing:
            put_sheet(connection, sheet)
        for name in sorted(kept.asked_again):
            withdraw(connection, name, at=None, why=None)
        for name in sorted(kept.withdrawn):
            withdraw(connection, name, at=at, why=withdrawn[name])
    return kept


def is_kept(connection: sa.Connection, kept: KeptSheet) -> bool:
    """Tell whether a sheet is kept already. Raises OrderError when another one has its id."""
    earlier = queries.find_sheet(connection, kept.sheet.id)
    if earlier is None:
        return False
    if rows.same_print(earlier.sheet, kept.sheet):
        return True
    raise OrderError.of(
        "sheet-exists",
        f"another sheet {kept.sheet.id} is on the shelf already, for {earlier.sheet.pair} of "
        f"{earlier.sheet.date}; a sheet's id stands for what is printed on it",
        hint="give the new sheet another id",
    )


def put_readings(connection: sa.Connection, kept: KeptReadings) -> bool:
    """Keep one reading of a sheet that is on the shelf, unless it is kept already."""
    if queries.exists(connection, records.c.digest, kept.digest):
        return False
    rules.check_readings(kept.sheet, kept.readings, kept.source)
    if kept.retired_at is None:
        rules.check_conditions(connection, kept.sheet.pair, kept.readings)
    row = rows.record_row(kept.readings) | {
        "source": kept.source,
        "source_sha256": kept.source_sha256,
        "recorded_at": kept.recorded_at.isoformat(),
        "recorded_by": kept.recorded_by,
        "retired_at": _moment(kept.retired_at),
        "retired_by": kept.retired_by,
        "retired_why": kept.retired_why,
    }
    connection.execute(sa.insert(records), row)
    connection.execute(sa.insert(readings), rows.reading_rows(kept.readings, kept.digest))
    return True


def put_pick(connection: sa.Connection, kept: KeptPick) -> bool:
    """Keep a pick on a sheet that is on the shelf, unless it is kept already."""
    if queries.exists(connection, picks.c.digest, kept.digest):
        return False
    row = rows.pick_row(kept.pick) | {
        "recorded_at": kept.recorded_at.isoformat(),
        "recorded_by": kept.recorded_by,
    }
    connection.execute(sa.insert(picks), row)
    return True


def drop_pick(connection: sa.Connection, digest: str) -> None:
    """Forget a pick that the person took back at once."""
    connection.execute(sa.delete(picks).where(picks.c.digest == digest))


def put_served(connection: sa.Connection, entry: Served) -> bool:
    """Remember that a colour of an order was translated for a pair, unless it is known."""
    row = {
        "pair": str(entry.pair),
        "order_name": entry.order,
        "colour": entry.colour,
        "served_at": entry.served_at.isoformat(),
    }
    known = [served.c[name] == row[name] for name in ("pair", "order_name", "colour")]
    if connection.execute(sa.select(served).where(*known)).first():
        return False
    connection.execute(sa.insert(served), row)
    return True


def retire(
    connection: sa.Connection,
    what: sa.Table,
    name: str,
    *,
    at: datetime.datetime,
    by: str,
    why: str,
) -> None:
    """Take a sheet or a record out of use."""
    (key,) = what.primary_key.columns
    connection.execute(
        sa.update(what).where(key == name),
        {"retired_at": at.isoformat(), "retired_by": by, "retired_why": why},
    )


def use_again(connection: sa.Connection, what: sa.Table, name: str) -> None:
    """Take a sheet or a record back into use."""
    (key,) = what.primary_key.columns
    nothing = {"retired_at": None, "retired_by": None, "retired_why": None}
    connection.execute(sa.update(what).where(key == name), nothing)


def withdraw(
    connection: sa.Connection, sheet_id: str, *, at: datetime.datetime | None, why: str | None
) -> None:
    """Say that nobody asks for a sheet any more, or with no moment that it is asked for again."""
    connection.execute(
        sa.update(sheets).where(sheets.c.id == sheet_id),
        {"withdrawn_at": _moment(at), "withdrawn_why": why},
    )


def mark_printed(connection: sa.Connection, sheet_id: str, at: datetime.datetime | None) -> None:
    """Remember that a sheet is printed, or with no moment that it is not."""
    connection.execute(
        sa.update(sheets).where(sheets.c.id == sheet_id), {"printed_at": _moment(at)}
    )


def _moment(when: datetime.datetime | None) -> str | None:
    return when.isoformat() if when else None
