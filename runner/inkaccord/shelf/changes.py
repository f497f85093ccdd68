"""What was changed on a shelf, row by row, so that it can be put back exactly as it was."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa
from sqlalchemy import event

from inkaccord.errors import OrderError
from inkaccord.shelf import queries, rules
from inkaccord.shelf.schema import book, book_uses, metadata, readings, records, sheets, swatches
from inkaccord.shelf.schema import versions as version_table

Key = tuple[Any, ...]
Row = Mapping[str, Any]
Rows = Mapping[str, Mapping[Key, Row]]
"""Rows by the name of their table, then by their primary key."""

_PARTS = ((sheets, swatches.c.sheet_id), (records, readings.c.record))
"""What has a row for every swatch is never changed: it comes and goes with its sheet or reading."""
_TABLES = [it for it in metadata.sorted_tables if it is not version_table]
"""Each behind those whose rows it names."""
_WATCHED = [it for it in _TABLES if it not in {swatches, readings}]


@dataclass(frozen=True)
class Change:
    """The rows that one transaction changed, as they were before it and as they were after it.

    Of a row that was there before and after it, the columns that it changed.
    """

    before: Rows
    after: Rows

    def turned(self) -> "Change":
        """Return the change back."""
        return Change(self.after, self.before)

    def __bool__(self) -> bool:
        return any(rows for side in (self.before, self.after) for rows in side.values())


def watched(connection: sa.Connection) -> Callable[[], Change]:
    """Note what is changed from now on in the transaction that is open.

    What is returned tells it, before the transaction ends. It costs what is changed, however much
    there is: a statement's rows are looked at just before it changes them.
    """
    before: dict[sa.Table, dict[Key, Row | None]] = {table: {} for table in _WATCHED}

    def note(
        on: sa.Connection, doing: object, rows: Sequence[Row], row: Row, _options: object
    ) -> None:
        if not isinstance(doing, sa.Insert | sa.Update | sa.Delete) or doing.table not in before:
            return
        table: sa.Table = doing.table
        found: Mapping[Key, Row | None]
        if isinstance(doing, sa.Insert):
            found = dict.fromkeys(_key(table, it) for it in rows or [row])
        else:
            which = doing.whereclause
            found = _rows(on, table, *(() if which is None else (which,)))
        before[table] |= {key: it for key, it in found.items() if key not in before[table]}

    event.listen(connection, "before_execute", note)
    return lambda: _changed(connection, before)


def _changed(
    connection: sa.Connection, before: Mapping[sa.Table, Mapping[Key, Row | None]]
) -> Change:
    gone: dict[str, dict[Key, Row]] = {}
    come: dict[str, dict[Key, Row]] = {}
    for table, rows in before.items():
        now = {key: _row(connection, table, key) for key in rows}
        gone[table.name], come[table.name] = _unlike(rows, now), _unlike(now, rows)
    for whole, part in _PARTS:
        new = [key for key in come[whole.name] if before[whole][key] is None]
        come[part.table.name] = {
            key: row
            for (one,) in new
            for key, row in _rows(connection, part.table, part == one).items()
        }
    return Change(gone, come)


def put_back(connection: sa.Connection, change: Change) -> None:
    """Put a change back, in the transaction that is open.

    Raises OrderError ``changed-since`` where a row is not any more as the change left it, or is
    spoken of by something newer, and ``mixed-conditions`` where what would count again clashes with
    what was read since. A row that newer ones rest on is refused by the tables: IntegrityError.
    """
    for table in reversed(_TABLES):
        before, after = (it.get(table.name, {}) for it in (change.before, change.after))
        for key in {**before, **after}:
            if table in _WATCHED and not _stands(_row(connection, table, key), after.get(key)):
                raise changed_since()
            if key not in before:
                connection.execute(sa.delete(table).where(*_is(table, key)))
    for table in _TABLES:
        after = change.after.get(table.name, {})
        for key, row in change.before.get(table.name, {}).items():
            known = sa.update(table).where(*_is(table, key)) if key in after else sa.insert(table)
            connection.execute(known, dict(row))
    _check(connection, change)


def changed_since() -> OrderError:
    """Return what is wrong where something newer rests on what is to be put back."""
    return OrderError.of(
        "changed-since",
        "what was done there was changed since, or something newer rests on it: it can't be taken "
        "back any more",
        hint="look at it as it is now, and change it there",
    )


def _check(connection: sa.Connection, change: Change) -> None:
    """Hold what is in use again against the rules that a shelf keeps by itself."""
    used = {(it.key, it.edition) for it in connection.execute(sa.select(book_uses))}
    if any(key in used and not _row(connection, book, key) for key in change.after[book.name]):
        raise changed_since()
    again = {name for (name,), row in change.before[sheets.name].items() if "retired_at" in row}
    for key in change.before[records.name]:
        if row := _row(connection, records, key):
            again.add(row["sheet_id"])
    for name in again:
        kept = queries.find_sheet(connection, name)
        if kept is not None and kept.retired_at is None:
            rules.check_counts_again(connection, kept.sheet)


def _unlike(rows: Mapping[Key, Row | None], others: Mapping[Key, Row | None]) -> dict[Key, Row]:
    """Return what of rows is otherwise there, or the whole row where that is not there."""
    found: dict[Key, Row] = {}
    for key, row in rows.items():
        other = others[key]
        if row is not None and row != other:
            found[key] = row if other is None else {k: v for k, v in row.items() if v != other[k]}
    return found


def _stands(row: Row | None, left: Row | None) -> bool:
    """Tell whether a row is as a change left it: not there, or alike in what it changed."""
    if row is None or left is None:
        return row is left
    return all(row[name] == it for name, it in left.items())


def _rows(
    connection: sa.Connection, table: sa.Table, *which: sa.ColumnElement[bool]
) -> dict[Key, Row]:
    found = connection.execute(sa.select(table).where(*which)).mappings()
    return {_key(table, row): dict(row) for row in found}


def _key(table: sa.Table, row: Mapping[Any, Any]) -> Key:
    return tuple(row[column.name] for column in table.primary_key.columns)


def _row(connection: sa.Connection, table: sa.Table, key: Key) -> Row | None:
    return _rows(connection, table, *_is(table, key)).get(key)


def _is(table: sa.Table, key: Key) -> list[sa.ColumnElement[bool]]:
    return [column == one for column, one in zip(table.primary_key.columns, key, strict=True)]
