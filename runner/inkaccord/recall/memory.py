"""The private memory of an out folder: what runs computed, in one file that may be deleted.

It is never needed for a right result. What is damaged, odd or of another version of the program is
not recalled but computed; what the last few runs did not ask for is forgotten. Two runs at once do
each other no harm: each reads what there is, and writes what it has learned at its end.
"""

import contextlib
import hashlib
import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, get_origin, get_type_hints

from inkaccord.recall.digests import digest_of, digest_of_code
from inkaccord.recall.packing import fields_of, pack, unpack
from inkaccord.recall.recall import P, R

KEPT_RUNS = 3
"""After so many runs that did not ask for it, a result is forgotten."""
_FORMAT = 1
_MOST_BYTES = 64_000_000
"""What is larger is neither kept nor read."""
_WAIT_S = 2.0
"""How long a run waits for another one that is writing."""
_TABLE = (
    "CREATE TABLE results "
    "(key TEXT PRIMARY KEY, value BLOB NOT NULL, digest TEXT NOT NULL, run INTEGER NOT NULL)"
)


class Memory:
    """What the runs into one out folder computed. It is a :class:`Recall`.

    Parameters
    ----------
    path
        The file. It is read when it is first needed, and written by :meth:`save`. None for what
        is remembered as long as the program runs.
    besides
        What results depend on besides the program and its libraries, such as other programs.
    """

    def __init__(self, path: Path | None, besides: str = "") -> None:
        self._path = path
        self._besides = besides
        self._known: dict[str, Any] = {}
        self._new: dict[str, bytes] = {}
        self._digests: dict[int, tuple[object, str]] = {}
        """By identity, with the value itself, so that its identity stays its own."""
        self._file: sqlite3.Connection | None = None
        self._opened = False

    def __call__(self, function: Callable[P, R], /, *args: P.args, **kwargs: P.kwargs) -> R:
        """Return what ``function(*args, **kwargs)`` returns, computed once."""
        key = self._key(function, args, kwargs)
        if key not in self._known:
            kept = self._kept(key, function)
            if kept is None:
                kept = self._computed(key, function, args, kwargs)
            self._known[key] = kept
        result: R = self._known[key]
        return result

    def inputs_of(self, record: bytes) -> str | None:
        """Return the digest of what a run depended on, by its record; None where it is lost."""
        kept = self._read(_inputs_key(record))
        return None if kept is None else kept.decode()

    def keep_inputs(self, record: bytes, digest: str) -> None:
        """Keep the digest of what a run depended on beside its record, for :meth:`inputs_of`."""
        key = _inputs_key(record)
        self._known[key], self._new[key] = digest, digest.encode()

    def close(self) -> None:
        """Close the file, having written nothing."""
        if self._file is not None:
            self._file.close()
            self._file = None

    def save(self) -> None:
        """Write what is new, and forget what the last runs did not ask for.

        Where that can't be done nothing is lost but time.
        """
        self.close()
        if self._path is None or not self._known:
            return
        try:
            self._write(self._path)
        except OSError:
            return
        except sqlite3.Error as problem:
            if getattr(problem, "sqlite_errorcode", None) == sqlite3.SQLITE_BUSY:
                return  # another run is writing
            with contextlib.suppress(OSError, sqlite3.Error):
                self._path.unlink()  # no memory of ours, or a broken one: begin anew
                self._write(self._path)

    def _kept(self, key: str, function: Callable[..., Any]) -> Any:
        """Return what the file keeps under a key; None for nothing, or nothing sound."""
        packed = self._read(key)
        if packed is None:
            return None
        with contextlib.suppress(ValueError):
            value = unpack(packed)
            if _is_what_it_gives(function, value):
                return value
        return None

    def _computed(
        self, key: str, function: Callable[..., Any], args: tuple[Any, ...], kwargs: dict[str, Any]
    ) -> Any:
        packed = pack(function(*args, **kwargs))
        if len(packed) < _MOST_BYTES:
            self._new[key] = packed
        # Unpacked at once, so that what follows is the same whether it was recalled or not.
        return unpack(packed)

    def _key(
        self, function: Callable[..., Any], args: tuple[Any, ...], kwargs: dict[str, Any]
    ) -> str:
        module = function.__module__
        parts = [f"{module}.{function.__qualname__}", digest_of_code(module), self._besides]
        parts += [self._digest(it) for it in args]
        parts += [f"{name}={self._digest(kwargs[name])}" for name in sorted(kwargs)]
        return hashlib.sha256("\0".join(parts).encode()).hexdigest()

    def _digest(self, value: object) -> str:
        if not (isinstance(value, bytes) or fields_of(value)):
            return digest_of(value)  # it may change, or is quickly told
        if id(value) not in self._digests:
            self._digests[id(value)] = value, digest_of(value)
        return self._digests[id(value)][1]

    def _read(self, key: str) -> bytes | None:
        """Return what the file keeps under a key, whole, or None."""
        try:
            file = self._reading()
            if file is None:
                return None
            query = "SELECT value, digest FROM results WHERE key = ? AND length(value) < ?"
            row = file.execute(query, (key, _MOST_BYTES)).fetchone()
        except (sqlite3.Error, OSError):
            return None
        if row is None or not isinstance(row[0], bytes):
            return None
        value: bytes = row[0]
        return value if _sum(key, value) == row[1] else None

    def _reading(self) -> sqlite3.Connection | None:
        if not self._opened:
            self._opened = True
            path = self._path
            if path is not None and path.is_file() and not path.is_symlink():
                address = f"{path.absolute().as_uri()}?mode=ro"
                self._file = sqlite3.connect(address, uri=True, timeout=_WAIT_S)
                self._file.execute("PRAGMA trusted_schema = OFF")
        return self._file

    def _write(self, path: Path) -> None:
        if path.is_symlink():
            path.unlink()  # it would lead elsewhere
        with (
            contextlib.closing(
                sqlite3.connect(path, timeout=_WAIT_S, isolation_level=None)
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
                [(key, value, _sum(key, value), run) for key, value in self._new.items()],
            )
            file.executemany(
                "UPDATE results SET run = ? WHERE key = ?", [(run, key) for key in self._known]
            )
            file.execute("DELETE FROM results WHERE run <= ?", (run - KEPT_RUNS,))


def _inputs_key(record: bytes) -> str:
    return "inputs of " + hashlib.sha256(record).hexdigest()


def _sum(key: str, value: bytes) -> str:
    return hashlib.sha256(key.encode() + value).hexdigest()


def _is_what_it_gives(function: Callable[..., Any], value: object) -> bool:
    """Tell whether a value is of the kind that a function says it returns."""
    try:
        said = get_type_hints(function).get("return")
    except NameError:
        return True  # it names a type that only a type checker loads
    kind = get_origin(said) or said
    return not isinstance(kind, type) or isinstance(value, kind)


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
