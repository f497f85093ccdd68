"""Names in a copy's new tables of resources, which the artwork borrowed from whoever calls.

A form that gets a table of its own names in it what it took from its caller's, since PDFium looks
no further then. It is the same where all tables of the artwork that hold the name hold one thing.
"""

from collections import defaultdict
from collections.abc import Collection, Iterator
from typing import Any

import pikepdf

from inkaccord.pdf.entries import objgen

ADDED = "/Ink"
"""How the names begin that recolouring adds; those are compared where they are used."""


class BorrowedNames:
    """Collects what two files name, and judges at the end."""

    def __init__(self) -> None:
        self._offered: dict[tuple[str, str], set[object]] = defaultdict(set)
        self._taken: list[tuple[str, str, object, str]] = []

    def offer(self, category: str, table: Any, names: Collection[str]) -> None:
        """Take note of a table of the copy, and of which names the artwork has in it, too."""
        for name in names:
            if name in table:
                self._offered[category, name].add(_identity(table[name]))

    def take(self, category: str, table: Any, path: str) -> None:
        """Take note of a table that the artwork lacks."""
        for name, thing in table.items():
            if not name.startswith(ADDED):
                self._taken.append((category, name, _identity(thing), path))

    def others(self) -> Iterator[str]:
        """Yield where a name is not sure to mean what it meant."""
        for category, name, thing, path in self._taken:
            if self._offered[category, name] != {thing}:
                yield f"{path} {name[1:]}"


def _identity(thing: Any) -> object:
    """Return what tells an object of a file from others; its text, where it has no number."""
    number = objgen(thing)
    if number != (0, 0):
        return number
    return thing.unparse() if isinstance(thing, pikepdf.Object) else repr(thing)
