"""What became of a sheet on paper: sent to be printed, printed, back, laid, lent."""

import datetime
from collections.abc import Callable

from inkaccord.shelf import moves, queries, writes
from inkaccord.shelf.databases import AnyDatabase
from inkaccord.shelf.kept import Move, MoveKind


class OnPaper:
    """The printed sheets of an open shelf. Every function raises OrderError for an unknown sheet.

    A sheet is looked for before the file is written to: a wrong id is no reason to make a shelf.
    """

    def __init__(
        self, database: AnyDatabase, by: str, clock: Callable[[], datetime.datetime]
    ) -> None:
        self._database, self._by, self._clock = database, by, clock

    def mark_printed(self, sheet_id: str) -> bool:
        """Remember that a sheet is printed: no plan withdraws it. Return False if it was."""
        self._name(sheet_id)
        with self._database.writing() as connection:
            kept = queries.need_sheet(connection, sheet_id)
            if kept.printed_at:
                return False
            writes.mark_printed(connection, kept.sheet.id, self._clock())
            if kept.withdrawn_at:
                writes.withdraw(connection, kept.sheet.id, at=None, why=None)
            return True

    def move(
        self,
        sheet_id: str,
        kind: MoveKind,
        place: str = "",
        *,
        copies: int | None = None,
        in_light: bool | None = None,
    ) -> Move:
        """Remember where a sheet goes now, in so many copies. What came back is printed.

        What is told later of a day that is gone stands behind what was told of that day before.
        """
        name, place, at = self._name(sheet_id), place.strip(), self._clock()
        with self._database.writing() as connection:
            for one in moves.moves_of(connection, [name]).get(name, ()):
                is_told_again = (one.at, one.kind, one.place) == (at, kind, place)
                if one.at.date() == at.date() and one.at >= at and not is_told_again:
                    at = one.at + datetime.timedelta(seconds=1)
            move = Move(
                kind=kind, at=at, place=place, by=self._by, copies=copies, in_light=in_light
            )
            moves.put_move(connection, name, move)
        if kind is MoveKind.BACK:
            self.mark_printed(name)
        return move

    def _name(self, sheet_id: str) -> str:
        with self._database.reading() as connection:
            return queries.need_sheet(connection, sheet_id).sheet.id
