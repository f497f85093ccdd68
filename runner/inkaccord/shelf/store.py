"""The shelf: where sample sheets, readings and picks are kept from order to order.

Every change is one transaction, kept whole or not at all; a process that is killed in the
middle of one leaves the shelf as it was before.
"""

import contextlib
import datetime
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from types import TracebackType
from typing import Self

import sqlalchemy as sa

from inkaccord.colour.builds import Drive
from inkaccord.colour.pairs import Pair
from inkaccord.diagnostics import Diagnostic
from inkaccord.sheets.model import Pick, SampleSheet, SheetReadings
from inkaccord.shelf import changes, queries, rows, rules, upkeep, writes
from inkaccord.shelf.book import ColourBook
from inkaccord.shelf.changes import Change
from inkaccord.shelf.copies import Copies
from inkaccord.shelf.databases import AnyDatabase, database_at, place_of_database
from inkaccord.shelf.kept import KeptPick, KeptReadings, KeptSheet, PairEvidence, Served
from inkaccord.shelf.on_paper import OnPaper
from inkaccord.shelf.overview import ListPage, SheetSummary, number_of_sheets, overview
from inkaccord.shelf.place import ShelfPlace, place_of
from inkaccord.shelf.schema import records, sheets
from inkaccord.shelf.state import PlanKept, ShelfState
from inkaccord.today import today

Clock = Callable[[], datetime.datetime]


def utc_now() -> datetime.datetime:
    """Return this moment, UTC, to the second."""
    return datetime.datetime.now(datetime.UTC).replace(microsecond=0)


def clock_on(day: datetime.date) -> Clock:
    """Return a clock that stands on a day gone by, at noon; that of now for today."""
    noon = datetime.datetime.combine(day, datetime.time(12), datetime.UTC)
    return utc_now if day == today() else lambda: noon


class Shelf:
    """An open shelf. Use it as a context manager, or close it.

    ``by`` names the person or machine whose doings the rows remember.
    """

    def __init__(self, database: AnyDatabase, *, by: str = "", clock: Clock = utc_now) -> None:
        self.database = database
        self._by = by
        self._clock = clock

    @classmethod
    def open(cls, location: str | ShelfPlace, *, by: str = "", clock: Clock = utc_now) -> Self:
        """Open a shelf at a path or an address; create it, or bring it up to date.

        Raises OrderError for a location that is neither, FileError when the file cannot be
        used, is something else, or was written by a newer version.
        """
        database = database_at(place_of(location))
        try:
            database.prepare()
        except BaseException:
            database.close()
            raise
        return cls(database, by=by, clock=clock)

    @property
    def place(self) -> ShelfPlace:
        """The file that it lies in, or its server."""
        return place_of_database(self.database)

    def close(self) -> None:
        """Close the file, or end the connection."""
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

    @property
    def book(self) -> ColourBook:
        """The studio's own colours."""
        return ColourBook(self.database, self._by, self._clock)

    @property
    def copies(self) -> Copies:
        """The shelf as a whole: copied to files, and taken in from them."""
        return Copies(self.database, self._clock)

    @property
    def paper(self) -> OnPaper:
        """What became of the sheets once they were on paper."""
        return OnPaper(self.database, self._by, self._clock)

    # Sheets

    def add_sheet(self, sheet: SampleSheet) -> bool:
        """Keep a sheet. Return False, changing nothing, when the same sheet is kept already.

        Raises OrderError when another sheet has this id, or when it holds no swatch or an id
        twice.
        """
        kept = KeptSheet(sheet=sheet, added_at=self._clock(), added_by=self._by)
        with self.database.reading() as connection:
            if writes.is_kept(connection, kept):
                return False
        with self.database.writing() as connection:
            return writes.put_sheet(connection, kept)

    def plan(self, asked_for: Iterable[SampleSheet], withdrawn: Mapping[str, str]) -> PlanKept:
        """Keep the sheets that an order asks for now, and withdraw those that it no longer does.

        ``withdrawn`` says why, by the sheet's id. A withdrawn sheet is asked of nobody; when it is
        recorded all the same, it counts. All of it is kept or nothing; where all of it is so
        already nothing is written. Returns what it changed.
        """
        now = self._clock()
        wanted = [KeptSheet(sheet=it, added_at=now, added_by=self._by) for it in asked_for]
        with self.database.reading() as connection:
            if writes.plan(connection, wanted, withdrawn, at=now, write=False) == PlanKept():
                return PlanKept()
        with self.database.writing() as connection:
            return writes.plan(connection, wanted, withdrawn, at=now)

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

    def sheet_ids(self) -> tuple[str, ...]:
        """Return the ids of all sheets in use."""
        with self.database.reading() as connection:
            return queries.sheet_ids(connection)

    def drawn_sheets(self, *, read: bool = False) -> tuple[queries.NamedSheet, ...]:
        """Return the newest sheets in use that were drawn here; only those read, if asked."""
        with self.database.reading() as connection:
            return queries.drawn_sheets(connection, read=read)

    def never_printed(self, ids: Iterable[str]) -> dict[str, Pair]:
        """Return which of some sheets are on no paper as far as anyone said, each with its pair."""
        with self.database.reading() as connection:
            return queries.never_printed(connection, ids)

    def overview(
        self, *, retired: bool = False, page: ListPage | None = None, drift: bool = True
    ) -> tuple[SheetSummary, ...]:
        """Return a line for every sheet: age, evidence, drift, use; retired ones if asked.

        Without ``drift`` that is not computed, which takes longest.
        """
        with self.database.reading() as connection:
            return overview(connection, retired=retired, page=page, drift=drift)

    def summary(self, sheet_id: str) -> SheetSummary:
        """Return the line of one sheet. Raises OrderError when there is no such sheet."""
        with self.database.reading() as connection:
            sheet = queries.need_sheet(connection, sheet_id).sheet
            return overview(connection, retired=True, sheet=sheet.id)[0]

    def number_of_sheets(self, *, retired: bool = False) -> int:
        """Return how many lines the overview has, retired ones if asked."""
        with self.database.reading() as connection:
            return number_of_sheets(connection, retired=retired)

    def pairs(self) -> tuple[Pair, ...]:
        """Return the pairs that have a sheet in use."""
        with self.database.reading() as connection:
            return queries.pairs_in_use(connection)

    def retire(self, sheet_id: str, why: str = "") -> bool:
        """Take a sheet out of use, with its readings and picks. Return False if it was already.

        It stays on the shelf. Raises OrderError when there is no such sheet.
        """
        self.kept_sheet(sheet_id)  # a wrong id is no reason to make a shelf
        with self.database.writing() as connection:
            kept = queries.need_sheet(connection, sheet_id)
            if kept.retired_at:
                return False
            self._retire(connection, sheets, kept.sheet.id, why)
            return True

    def use_again(self, sheet_id: str) -> bool:
        """Take a retired sheet back into use, with its readings and picks.

        Return False if it is in use. Raises OrderError when there is no such sheet, and where the
        conditions of its readings clash with those of what was read since.
        """
        self.kept_sheet(sheet_id)
        with self.database.writing() as connection:
            kept = queries.need_sheet(connection, sheet_id)
            if kept.retired_at is None:
                return False
            writes.use_again(connection, sheets, kept.sheet.id)
            rules.check_counts_again(connection, kept.sheet)
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
            return self._record(connection, taken, source, source_sha256)

    def record_foreign(
        self,
        sheet: SampleSheet,
        taken: SheetReadings,
        *,
        source: str = "",
        source_sha256: str = "",
    ) -> bool:
        """Keep a sheet that was not drawn here together with its readings, both or neither.

        Returns and raises as :meth:`add_sheet` and :meth:`record_readings` do.
        """
        kept = KeptSheet(sheet=sheet, added_at=self._clock(), added_by=self._by)
        with self.database.writing() as connection:
            writes.put_sheet(connection, kept)
            return self._record(connection, taken, source, source_sha256)

    def _record(
        self, connection: sa.Connection, taken: SheetReadings, source: str, source_sha256: str
    ) -> bool:
        on = queries.need_sheet(connection, taken.sheet)
        taken = taken.model_copy(update={"sheet": on.sheet.id})
        kept = KeptReadings(
            digest=rows.digest_of(taken),
            sheet=on.sheet,
            readings=taken,
            source=source,
            source_sha256=source_sha256,
            recorded_at=self._clock(),
            recorded_by=self._by,
        )
        rules.check_in_use(on)
        rules.check_not_retired(connection, kept.digest)
        return writes.put_readings(connection, kept)

    def evidence_of(self, pairs: Iterable[Pair]) -> dict[Pair, PairEvidence]:
        """Return all that is known of pairs: their sheets in use, with readings and picks."""
        with self.database.reading() as connection:
            return queries.evidence_of(connection, pairs)

    def readings_counted(self, devices: Iterable[str]) -> dict[tuple[Pair, Drive], int]:
        """Return how many readings in use each pair of some devices has."""
        with self.database.reading() as connection:
            return queries.readings_counted(connection, devices)

    def readings_of(self, pair: Pair) -> tuple[KeptReadings, ...]:
        """Return all readings of a pair that are in use, each beside its sheet, oldest first."""
        with self.database.reading() as connection:
            return queries.readings_of(connection, pair)

    def readings_of_sheet(
        self, sheet_id: str, *, retired: bool = False
    ) -> tuple[KeptReadings, ...]:
        """Return the readings of one sheet, the oldest first, retired ones if asked.

        Raises OrderError when there is no such sheet.
        """
        with self.database.reading() as connection:
            sheet = queries.need_sheet(connection, sheet_id).sheet
            return queries.readings_of_sheets(connection, [sheet], retired=retired)

    def readings_from(self, source_sha256: str) -> tuple[KeptReadings, ...]:
        """Return the readings in use, of any sheet in use, that came from files of this digest."""
        with self.database.reading() as connection:
            return queries.readings_from(connection, source_sha256)

    def retire_readings(self, sheet_id: str, digest: str, why: str = "") -> bool:
        """Take one reading of a sheet out of use, by its digest or the beginning of it.

        Return False if it was already. Raises OrderError when no reading, or more than one, of
        the sheet begins so.
        """
        with self.database.writing() as connection:
            found = queries.need_reading(connection, sheet_id, digest)
            if found.retired_at:
                return False
            self._retire(connection, records, found.digest, why)
            return True

    def use_readings_again(self, sheet_id: str, digest: str) -> bool:
        """Take one retired reading of a sheet back into use. Return False if it is in use.

        Raises OrderError as :meth:`retire_readings`, and where its conditions clash with those of
        what was read since.
        """
        with self.database.writing() as connection:
            found = queries.need_reading(connection, sheet_id, digest)
            if found.retired_at is None:
                return False
            rules.check_conditions(connection, found.sheet.pair, found.readings)
            writes.use_again(connection, records, found.digest)
            return True

    # Picks

    def record_picks(self, made: Sequence[Pick], *, instead_of: Pick | None = None) -> int:
        """Keep picks, all or none. Return how many of them are new.

        ``instead_of`` is one that was a slip, and goes at the same time.

        Raises OrderError when a sheet is unknown or retired, or a swatch is not on its sheet.
        """
        with self.database.writing() as connection:
            new = 0
            if instead_of is not None:
                writes.drop_pick(connection, rows.digest_of(instead_of))
            for pick in made:
                on = queries.need_sheet(connection, pick.sheet)
                rules.check_in_use(on)
                fitting = rules.fitting_pick(on.sheet, pick)
                kept = KeptPick(
                    digest=rows.digest_of(fitting),
                    sheet=on.sheet,
                    pick=fitting,
                    recorded_at=self._clock(),
                    recorded_by=self._by,
                )
                new += writes.put_pick(connection, kept)
            return new

    def picks_of(self, pair: Pair) -> tuple[KeptPick, ...]:
        """Return all picks on a pair's sheets in use, each beside its sheet, oldest first."""
        with self.database.reading() as connection:
            return queries.picks_of(connection, pair)

    def picks_of_sheet(self, sheet_id: str) -> tuple[KeptPick, ...]:
        """Return the picks on one sheet, the oldest first. Raises OrderError."""
        with self.database.reading() as connection:
            sheet = queries.need_sheet(connection, sheet_id).sheet
            return queries.picks_of_sheets(connection, [sheet])

    # What it was good for

    def serve(self, order: str, colours: Mapping[Pair, Iterable[str]]) -> None:
        """Remember which colours of an order the evidence of each pair has translated.

        Writes nothing when all of it is known already.
        """
        with self.database.reading() as connection:
            before = [it for pair in colours for it in queries.served_of(connection, pair, order)]
        known = {(it.pair, it.colour) for it in before}
        wanted = [(pair, colour) for pair, named in colours.items() for colour in sorted({*named})]
        new = [it for it in wanted if it not in known]
        if not new:
            return
        with self.database.writing() as connection:
            for pair, colour in new:
                entry = Served(pair=pair, order=order, colour=colour, served_at=self._clock())
                writes.put_served(connection, entry)

    def served(self, pair: Pair | None = None) -> tuple[Served, ...]:
        """Return which colours of which orders a pair's evidence, or any, has translated."""
        with self.database.reading() as connection:
            return queries.served_of(connection, pair)

    @contextlib.contextmanager
    def one_state(self) -> Iterator[None]:
        """Let all that is asked inside see one state, whatever others write meanwhile."""
        with self.database.reading():
            yield

    def state_of(self, pairs: Iterable[Pair]) -> ShelfState:
        """Return what is in use for some pairs, told by names."""
        with self.database.reading() as connection:
            mark = "?" if connection.dialect.name == "sqlite" else "%s"
            return ShelfState.of(
                lambda query, given: connection.exec_driver_sql(
                    query.replace("?", mark), tuple(given)
                ),
                pairs,
                self.database.version(connection),
            )

    # Taking back

    def noting(self) -> contextlib.AbstractContextManager[list[Change]]:
        """Give a list that has all changes which are made inside, each once it is kept."""
        return self.database.noting()

    def put_back(self, noted: Sequence[Change]) -> tuple[Change, ...]:
        """Make the shelf what it was before some changes, all of it or nothing.

        Return how that is put back in turn. Raises OrderError ``changed-since`` where something of
        it was changed meanwhile or something newer rests on it, and ``mixed-conditions``.
        """
        try:
            with self.database.writing() as connection:
                for change in reversed(noted):
                    changes.put_back(connection, change)
        except sa.exc.IntegrityError as problem:
            raise changes.changed_since() from problem
        return tuple(change.turned() for change in reversed(noted))

    def verify(self) -> tuple[Diagnostic, ...]:
        """Look for damage, and return what is wrong; nothing if all is well."""
        return upkeep.verify(self.database)

    def _retire(self, connection: sa.Connection, what: sa.Table, name: str, why: str) -> None:
        writes.retire(connection, what, name, at=self._clock(), by=self._by, why=why)
