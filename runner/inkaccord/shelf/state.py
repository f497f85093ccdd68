"""What is in use on a shelf for some pairs, told by names: whether a run has anything new to see.

Only SQLite itself is loaded here, because a run that finds nothing to do should find it quickly.
"""

import contextlib
import hashlib
import sqlite3
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Self

from inkaccord.colour.pairs import Pair

Ask = Callable[[str, Sequence[str]], Iterable[Sequence[Any]]]
"""Gives the rows of a query, of one and the same state of a shelf."""

_OF_PAIRS = "FROM sheets WHERE retired_at IS NULL AND pair IN ({marks})"
_IN_USE = (
    ("sheet", f"SELECT id {_OF_PAIRS}"),
    ("printed", f"SELECT id {_OF_PAIRS} AND printed_at IS NOT NULL"),
    ("withdrawn", f"SELECT id {_OF_PAIRS} AND withdrawn_at IS NOT NULL"),
    ("move", f"SELECT kind || at || place FROM moves WHERE sheet_id IN (SELECT id {_OF_PAIRS})"),  # noqa: S608
    ("pick", f"SELECT digest FROM picks WHERE sheet_id IN (SELECT id {_OF_PAIRS})"),  # noqa: S608
)
_READ = """
SELECT records.digest FROM records JOIN sheets ON sheets.id = records.sheet_id
WHERE records.retired_at IS NULL AND sheets.retired_at IS NULL
AND ({ranges})
"""
_ON_PAPER = ("printed ", "move ")
"""What is said of sheets on paper: reports say it, but no colour and no print file rests on it."""
_OF_DEVICE = "sheets.pair >= ? AND sheets.pair < ?"
"""Of all pairs of a device: from those of a pair's kin its first estimate is made."""


_AFTER_AT = chr(ord("@") + 1)


@dataclass(frozen=True)
class PlanKept:
    """What keeping a plan changed on a shelf: ids of sheets."""

    added: frozenset[str] = frozenset()
    asked_again: frozenset[str] = frozenset()
    """They were withdrawn before."""
    withdrawn: frozenset[str] = frozenset()


@dataclass(frozen=True)
class ShelfState:
    """All that is in use for some pairs, and the readings of their devices.

    A sheet stands there by its id, which stands for what is printed on it; readings and picks by
    the digests of their content.
    """

    parts: frozenset[str]

    @classmethod
    def of(cls, ask: Ask, pairs: Iterable[Pair], version: int) -> Self:
        """Return the state of a shelf that answers queries, and has tables of a version."""
        pairs = tuple(pairs)
        names = sorted({str(pair) for pair in pairs})
        devices = sorted({pair.device for pair in pairs})
        parts = {f"version {version}"}
        for kind, query in _IN_USE:
            asked = query.format(marks=", ".join("?" * len(names)))
            parts.update(f"{kind} {name}" for (name,) in ask(asked, names))
        asked = _READ.format(ranges=" OR ".join([_OF_DEVICE] * len(devices)) or "1 = 0")
        ends = [f"{device}{end}" for device in devices for end in ("@", _AFTER_AT)]
        parts.update(f"read {name}" for (name,) in ask(asked, ends))
        return cls(frozenset(parts))

    @classmethod
    def of_file(cls, path: Path, pairs: Iterable[Pair]) -> Self | None:
        """Return the state of a shelf that nobody has opened; None where it can't be told."""
        address = f"{path.absolute().as_uri()}?mode=rw"  # 'ro' would leave its side files behind
        with (
            contextlib.suppress(sqlite3.Error),
            contextlib.closing(sqlite3.connect(address, uri=True)) as file,
        ):
            file.execute("PRAGMA trusted_schema = OFF")
            file.execute("BEGIN")
            ((version,),) = file.execute("PRAGMA user_version")
            return cls.of(lambda query, given: file.execute(query, tuple(given)), pairs, version)
        return None

    def after(self, kept: PlanKept) -> "ShelfState":
        """Return the state that keeping a plan makes of this one, whatever others do meanwhile.

        What is withdrawn of other pairs is no part of it.
        """
        new = {f"sheet {name}" for name in kept.added}
        here = self.parts | new
        new |= {f"withdrawn {name}" for name in kept.withdrawn if f"sheet {name}" in here}
        return ShelfState((self.parts | new) - {f"withdrawn {name}" for name in kept.asked_again})

    def but_on_paper(self) -> "ShelfState":
        """Return it without what was said of sheets on paper: printed, sent, back, laid, lent."""
        return ShelfState(frozenset(it for it in self.parts if not it.startswith(_ON_PAPER)))

    def digest(self) -> str:
        """Return a digest of it; it changes when anything in use does."""
        return hashlib.sha256("\n".join(sorted(self.parts)).encode()).hexdigest()
