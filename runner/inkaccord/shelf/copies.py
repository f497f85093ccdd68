"""The shelf as a whole: copied to files, put back from one, and taken in from another's."""

import contextlib
import datetime
from collections.abc import Callable, Iterator
from pathlib import Path

import sqlalchemy as sa

from inkaccord.shelf import exchange, upkeep
from inkaccord.shelf.databases import AnyDatabase, file_of, place_of_database
from inkaccord.shelf.exchange import News
from inkaccord.shelf.place import is_there
from inkaccord.shelf.unpacking import folder_of


class Copies:
    """All of an open shelf, as a backup or as text, and the way back."""

    def __init__(self, database: AnyDatabase, clock: Callable[[], datetime.datetime]) -> None:
        self._database, self._clock = database, clock

    def back_up(self, path: Path) -> None:
        """Copy the whole shelf to a file, as it is at this moment. Raises FileError."""
        upkeep.back_up(file_of(self._database), path)

    def restore(self, path: Path, *, waiting: Callable[[], None] = lambda: None) -> Path | None:
        """Put a backup in the place of what is here, whole or not at all.

        ``waiting`` is called where another run is writing. Return where the shelf as it was before
        was copied to; no copy takes the place of an earlier one. Raises FileError when the backup
        is no shelf, is damaged or was written by a newer version; nothing is changed then.
        """
        return upkeep.restore(file_of(self._database), path, at=self._clock(), waiting=waiting)

    def export(self, folder: Path) -> tuple[Path, ...]:
        """Write everything to a folder as text; see :mod:`inkaccord.shelf.exchange`."""
        with self._database.reading() as connection:
            return exchange.export(connection, folder)

    def take_in(self, export: Path) -> News:
        """Take in such a folder, or a zip of it: what is new is added, all of it or nothing."""
        with self._taking_in(export, self._database.writing) as news:
            return news

    def news_of(self, export: Path) -> News:
        """Return what of such a folder, or a zip of it, is new here; nothing is changed."""
        if not is_there(place_of_database(self._database)):
            with folder_of(export) as folder:
                return exchange.read_folder(folder)
        with self.supposing(export) as news:
            return news

    def supposing(self, export: Path) -> contextlib.AbstractContextManager[News]:
        """Let all that is asked inside see the shelf as if such a folder were taken in."""
        return self._taking_in(export, self._database.supposing)

    @contextlib.contextmanager
    def _taking_in(
        self,
        export: Path,
        changing: Callable[[], contextlib.AbstractContextManager[sa.Connection]],
    ) -> Iterator[News]:
        """Give what is added, as long as the change lasts, or before it is kept."""
        with folder_of(export) as folder:
            brought = exchange.read_folder(folder)
            try:
                with changing() as connection:
                    yield exchange.take_in(connection, brought)
            except sa.exc.IntegrityError as problem:
                raise exchange.unreadable(folder / "shelf.json", problem.orig) from problem
