"""The shelf: where sample sheets, readings and picks are kept from order to order.

Every change is one transaction, kept whole or not at all; a process that is killed in the
middle of one leaves the shelf as it was before.
"""

import datetime
import hashlib
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from types import TracebackType
from typing import Self

import sqlalchemy as sa
from sqlalchemy.dialects.sqlite import insert

from inkaccord.colour.pairs import Pair
from inkaccord.errors import OrderError
from inkaccord.sheets.model import Pick, SampleSheet, SheetReadings
from inkaccord.shelf import queries, rows, rules
from inkaccord.shelf.database import Database, path_of
from inkaccord.shelf.kept import KeptPick, KeptReadings, KeptSheet, Served
from inkaccord.shelf.schema import picks, readings, records, served, sheets, swatches

Clock = Callable[[], datetime.datetime]


def utc_now() -> datetime.datetime:
    """Return this moment, UTC, to the second."""
    return datetime.datetime.now(datetime.UTC).replace(microsecond=0)


class Shelf:
    """An open shelf. Use it as a context manager, or close it.

    ``by`` names the person or machine whose doings the rows remember.
    """

    def __init__(self, database: Database, *, by: str = "", clock: Clock = utc_now) -> None:
        self.database = database
        self._by = by
        self._clock = clock

    @classmethod
    def open(cls, location: str | Path, *, by: str = "", clock: Clock = utc_now) -> Self:
        """Open a shelf at a path or ``sqlite:///path``; create it, or bring it up to date.

        Raises OrderError for a location that is no path, FileError when the file cannot be
        used, is something else, or was written by a newer version.
        """
        database = Database(path_of(location))
        try:
            database.prepare()
        except BaseException:
            database.close()
            raise
        return cls(database, by=by, clock=clock)

    @property
    def path(self) -> Path:
        """The file that it lies in."""
        return self.database.path

    def close(self) -> None:
        """Close the file."""
        self.database.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        problem: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    # Sheets

    def add_sheet(self, sheet: SampleSheet) -> bool:
        """Keep a sheet. Return False, changing nothing, when the same sheet is kept already.

        Raises OrderError when another sheet has this id, or when it holds no swatch or an id
        twice.
        """
        rules.check_sheet(sheet)
        if self._same_as_kept(sheet):
            return False
        with self.database.writing() as connection:
            row = rows.sheet_row(sheet) | {"added_at": self._moment(), "added_by": self._by}
            added = connection.execute(insert(sheets).on_conflict_do_nothing(), row).rowcount
            if added:
                connection.execute(sa.insert(swatches), rows.swatch_rows(sheet))
        return bool(added) or not self._same_as_kept(sheet)

    def sheet(self, sheet_id: str) -> SampleSheet:
        """Return a sheet by its id. Raises OrderError that lists what there is."""
        return self.kept_sheet(sheet_id).sheet

    def kept_sheet(self, sheet_id: str) -> KeptSheet:
        """Return a sheet with when it was added and by whom. Raises OrderError."""
        with self.database.reading() as connection:
            return queries.need_sheet(connection, sheet_id)

    def sheets(self, pair: Pair | None = None, *, retired: bool = False) -> tuple[KeptSheet, ...]:
        """Return the sheets of a pair, or of all; the oldest first, retired ones if asked."""
        with self.database.reading() as connection:
            return queries.sheets_of(connection, pair, retired=retired)

    def pairs(self) -> tuple[Pair, ...]:
        """Return the pairs that have a sheet in use."""
        query = sa.select(sheets.c.pair).where(sheets.c.retired_at.is_(None)).distinct()
        with self.database.reading() as connection:
            found = connection.execute(query.order_by(sheets.c.pair)).scalars()
            return tuple(Pair.parse(pair) for pair in found)

    def retire(self, sheet_id: str, why: str = "") -> bool:
        """Take a sheet out of use, with its readings and picks. Return False if it was already.

        It stays on the shelf. Raises OrderError when there is no such sheet.
        """
        with self.database.writing() as connection:
            kept = queries.need_sheet(connection, sheet_id)
            if kept.retired_at:
                return False
            connection.execute(
                sa.update(sheets).where(sheets.c.id == kept.sheet.id),
                {
                    "retired_at": self._moment(),
                    "retired_by": self._by,
                    "retired_why": why,
                },
            )
            return True

    # Readings

    def record_readings(
        self, taken: SheetReadings, *, source: str = "", source_sha256: str = ""
    ) -> bool:
        """Keep one reading of a sheet, all of it or nothing.

        Return False, changing nothing, when exactly this was recorded before. Raises OrderError
        when the sheet is unknown or retired, a swatch is not on it or comes twice, or the
        conditions clash with those of the pair's other readings.
        """
        with self.database.writing() as connection:
            kept = queries.need_sheet(connection, taken.sheet)
            taken = taken.model_copy(update={"sheet": kept.sheet.id})
            row = rows.record_row(taken)
            if queries.exists(connection, records.c.digest, row["digest"]):
                return False
            rules.check_in_use(kept)
            rules.check_readings(kept.sheet, taken)
            rules.check_conditions(connection, kept.sheet.pair, taken)
            connection.execute(
                sa.insert(records),
                row
                | {
                    "source": source,
                    "source_sha256": source_sha256,
                    "recorded_at": self._moment(),
                    "recorded_by": self._by,
                },
            )
            connection.execute(sa.insert(readings), rows.reading_rows(taken, row["digest"]))
            return True

    def readings_of(self, pair: Pair) -> tuple[KeptReadings, ...]:
        """Return all readings of a pair's sheets in use, each beside its sheet, oldest first."""
        with self.database.reading() as connection:
            return queries.readings_of(connection, pair)

    def readings_of_sheet(self, sheet_id: str) -> tuple[KeptReadings, ...]:
        """Return all readings of one sheet, retired or not, oldest first. Raises OrderError."""
        with self.database.reading() as connection:
            return queries.readings_of_sheets(
                connection, [queries.need_sheet(connection, sheet_id).sheet]
            )

    # Picks

    def record_picks(self, made: Sequence[Pick]) -> int:
        """Keep picks, all or none. Return how many of them are new.

        Raises OrderError when a sheet is unknown or retired, or a swatch is not on its sheet.
        """
        with self.database.writing() as connection:
            new = 0
            for pick in made:
                row = rows.pick_row(rules.checked_pick(connection, pick))
                row |= {"recorded_at": self._moment(), "recorded_by": self._by}
                new += connection.execute(insert(picks).on_conflict_do_nothing(), row).rowcount
            return new

    def picks_of(self, pair: Pair) -> tuple[KeptPick, ...]:
        """Return all picks on a pair's sheets in use, each beside its sheet, oldest first."""
        with self.database.reading() as connection:
            return queries.picks_of(connection, pair)

    # What it was good for

    def serve(self, order: str, pair: Pair, colours: Iterable[str]) -> None:
        """Remember that a pair's evidence has translated colours of an order.

        Writes nothing when all of it is known already.
        """
        known = {(entry.order, entry.colour) for entry in self.served(pair)}
        new = [colour for colour in sorted(set(colours)) if (order, colour) not in known]
        if not new:
            return
        with self.database.writing() as connection:
            connection.execute(
                insert(served).on_conflict_do_nothing(),
                [
                    {
                        "pair": str(pair),
                        "order_name": order,
                        "colour": colour,
                        "served_at": self._moment(),
                    }
                    for colour in new
                ],
            )

    def served(self, pair: Pair | None = None) -> tuple[Served, ...]:
        """Return which colours of which orders a pair's evidence, or any, has translated."""
        query = sa.select(served).order_by(served.c.pair, served.c.order_name, served.c.colour)
        if pair is not None:
            query = query.where(served.c.pair == str(pair))
        with self.database.reading() as connection:
            return tuple(
                Served(
                    pair=Pair.parse(row.pair),
                    order=row.order_name,
                    colour=row.colour,
                    served_at=row.served_at,
                )
                for row in connection.execute(query)
            )

    def digest(self, pair: Pair) -> str:
        """Return a digest of all that is in use for a pair; it changes when any of it does."""
        with self.database.reading() as connection:
            in_use = [kept.sheet for kept in queries.sheets_of(connection, pair, retired=False)]
            ids = [sheet.id for sheet in in_use]
            parts = [rows.digest_of(sheet) for sheet in in_use]
            for table in (records, picks):
                query = sa.select(table.c.digest).where(table.c.sheet_id.in_(ids))
                parts += connection.execute(query).scalars()
        return hashlib.sha256("\n".join(sorted(parts)).encode()).hexdigest()

    def _moment(self) -> str:
        return self._clock().isoformat()

    def _same_as_kept(self, sheet: SampleSheet) -> bool:
        """Tell whether this sheet is kept. Raises OrderError when another one has its id."""
        with self.database.reading() as connection:
            kept = queries.find_sheet(connection, sheet.id)
        if kept is None:
            return False
        if rows.same_print(kept.sheet, sheet):
            return True
        raise OrderError.of(
            "sheet-exists",
            f"another sheet {sheet.id} is on the shelf already, for {kept.sheet.pair} of "
            f"{kept.sheet.date}; a sheet's id stands for what is printed on it",
            hint="give the new sheet another id",
        )
