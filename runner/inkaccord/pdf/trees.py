"""How large a file's trees are when every branch is taken as often as it is named.

A tree whose branches share one another has few objects, and more leaves than anyone can visit:
forty levels that each name the next one twice are a billion billion. Readers walk them all.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pikepdf

from inkaccord.pdf.entries import BAD_OBJECT, objgen

_BRANCHES = ("/Kids", "/VE")
"""Fields of forms, names, numbers of pages (ISO 32000-2, 7.9.6); expressions of layers (8.11.2)."""
_DEEPEST = 256
_ENDLESS = 10**15


def most_branches(pdf: pikepdf.Pdf) -> int:
    """Return how many nodes the largest tree of a file has; one that holds itself ends there."""
    trees = _Trees()
    return max((trees.nodes(thing, 0) for thing in pdf.objects if _branches(thing)), default=0)


class _Trees:
    def __init__(self) -> None:
        self._known: dict[tuple[int, int], int] = {}

    def nodes(self, thing: Any, depth: int) -> int:
        """Return how many nodes there are below one, itself counted."""
        if depth > _DEEPEST:
            return _ENDLESS
        number = objgen(thing)
        if number == (0, 0) or number not in self._known:
            self._known[number] = 0  # as long as it is being looked into
            try:
                self._known[number] = 1 + sum(self.nodes(one, depth + 1) for one in _below(thing))
            except BAD_OBJECT:
                self._known[number] = 1  # whoever reads it says so
        return self._known[number]


def _branches(thing: Any) -> bool:
    return isinstance(thing, pikepdf.Dictionary) and any(key in thing for key in _BRANCHES)


def _below(thing: Any) -> Iterator[Any]:
    if isinstance(thing, pikepdf.Array):
        yield from (one for one in thing if isinstance(one, (pikepdf.Array, pikepdf.Dictionary)))
    elif isinstance(thing, pikepdf.Dictionary):
        yield from (thing[key] for key in _BRANCHES if key in thing)
