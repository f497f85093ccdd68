"""The file of the private memory: what is kept under a key, whole or not at all.

Only digests are known here, not what is kept, so that a run that finds nothing to do loads no more.
"""

import contextlib
import hashlib
import sqlite3
from collections import OrderedDict
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

KEPT_RUNS, KEPT_ORDERS = 3, 100
"""After so many runs that did not ask for it a result is forgotten: into one out folder, or of many
orders in one go."""
MOST_BYTES = 64_000_000
"""What is larger is neither kept nor read."""
_FORMAT = 1
_WAIT_S = 2.0
"""How long a run waits for another one that is writing."""
_TABLE = (
    "CREATE TABLE results "
    "(key TEXT PRIMARY KEY, value BLOB NOT NULL, digest TEXT NOT NULL, run INTEGER NOT NULL)"
)


class MemoryFile:
    """One file of results by key. It is read when it is first needed.

    After ``kept_runs`` that did not ask for it, a result is forgotten.
    """

    def __init__(self, path: Path, kept_runs: int = KEPT_RUNS) -> None:
        self._path = path
        self._kept_runs = kept_runs
        self._file: sqlite3.Connection | None = None
        self._opened = False

    def read(self, key: str) -> bytes | None:
        """Return what the file keeps under a key, whole, or None."""
        try:
            file = self._reading()
            if file is None:
                return None
            query = "SELECT value, digest FROM results WHERE key = ? AND length(value) < ?"
            row = file.execute(query, (key, MOST_BYTES)).fetchone()
        except (sqlite3.Error, OSError):
            return None
        if row is None or not isinstance(row[0], bytes):
            return None
        value: bytes = row[0]
        return value if _sum(key, value) == row[1] else None

    def all(self) -> dict[str, bytes]:
        """Return all that the file keeps, by key; nothing where it can't be read."""
        try:
            file = self._reading()
            query = "SELECT key, value, digest FROM results WHERE length(value) < ?"
            rows = [] if file is None else file.execute(query, (MOST_BYTES,)).fetchall()
        except (sqlite3.Error, OSError):
            return {}
        return {
            key: value
            for key, value, digest in rows
            if isinstance(key, str) and isinstance(value, bytes) and _sum(key, value) == digest
        }

    def close(self) -> None:
        """Close the file, having written nothing."""
        if self._file is not None:
            self._file.close()
            self._file = None

    def write(self, new: Mapping[str, bytes], asked: Iterable[str]) -> None:
        """Write what is new, and forget what the last runs did not ask for.

        Where that can't be done nothing is lost but time.
        """
        self.close()
        try:
            self._write(new, asked)
        except OSError:
            return
        except sqlite3.Error as problem:
            if getattr(problem, "sqlite_errorcode", None) == sqlite3.SQLITE_BUSY:
                return  # another run is writing
            with contextlib.suppress(OSError, sqlite3.Error):
                self._path.unlink()  # no memory of ours, or a broken one: begin anew
                self._write(new, asked)

    def _reading(self) -> sqlite3.Connection | None:
        if not self._opened:
            self._opened = True
            if self._path.is_file() and not self._path.is_symlink():
                address = f"{self._path.absolute().as_uri()}?mode=ro"
                self._file = sqlite3.connect(address, uri=True, timeout=_WAIT_S)
                self._file.execute("PRAGMA trusted_schema = OFF")
        return self._file

    def _write(self, new: Mapping[str, bytes], asked: Iterable[str]) -> None:
        if self._path.is_symlink():
            self._path.unlink()  # it would lead elsewhere
        with (
            contextlib.closing(
                sqlite3.connect(self._path, timeout=_WAIT_S, isolation_level=None)
            ) as file,
            _at_once(file),
        ):
            file.execute("PRAGMA trusted_schema = OFF")
            if file.execute("PRAGMA user_version").fetchone()[0] != _FORMAT:
                file.execute("DROP TABLE IF EXISTS results")
                file.execute(_TABLE)
                file.execute(f"PRAGMA user_version = {_FORMAT}")
            run = 1 + (file.execute("SELECT max(run) FROM results").fetchone()[0] or 0)
            file.executemany(
                "INSERT OR REPLACE INTO results VALUES (?, ?, ?, ?)",
                [(key, value, _sum(key, value), run) for key, value in new.items()],
            )
            file.executemany(
                "UPDATE results SET run = ? WHERE key = ?", [(run, key) for key in asked]
            )
            file.execute("DELETE FROM results WHERE run <= ?", (run - self._kept_runs,))


class HeldResults:
    """Results by key that are held in this process: no file's, or a file's from elsewhere.

    Those that were asked for last are kept, up to so many bytes as one may have.
    """

    def __init__(self, results: Mapping[str, bytes] | None = None) -> None:
        self._results = OrderedDict(results or {})
        self._bytes = sum(map(len, self._results.values()))

    def read(self, key: str) -> bytes | None:
        """Return what is held under a key, or None."""
        return self._results.get(key)

    def close(self) -> None:
        """Do nothing: there is nothing open."""

    def write(self, new: Mapping[str, bytes], asked: Iterable[str]) -> None:
        """Hold what is new, and let go of what was not asked for the longest."""
        for key, value in new.items():
            if key not in self._results:
                self._results[key] = value
                self._bytes += len(value)
        for key in asked:
            if key in self._results:
                self._results.move_to_end(key)
        while self._bytes > MOST_BYTES:
            self._bytes -= len(self._results.popitem(last=False)[1])


def inputs_key(record: bytes) -> str:
    """Return the key of what the run of a record rests on."""
    return "inputs of " + hashlib.sha256(record).hexdigest()


def _sum(key: str, value: bytes) -> str:
    return hashlib.sha256(key.encode() + value).hexdigest()


@contextlib.contextmanager
def _at_once(file: sqlite3.Connection) -> Iterator[None]:
    """Do all or nothing; nobody else writes meanwhile."""
    file.execute("BEGIN IMMEDIATE")
    try:
        yield
    except BaseException:
        file.execute("ROLLBACK")
        raise
    file.execute("COMMIT")
