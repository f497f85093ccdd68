"""Shadings of a file and its copy; those that differ in their place alone are seen once."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Any, TypeVar

import pikepdf

from inkaccord.artwork.proof.shading_values import MOST_DEEP, UnreadableShadingError

T = TypeVar("T")
UNREADABLE = (
    ArithmeticError, AttributeError, IndexError, KeyError, RecursionError, StopIteration,
    TypeError, ValueError, pikepdf.PdfError,
)  # fmt: skip
"""What goes wrong in a shading that makes no sense."""


@dataclass(frozen=True, slots=True)
class ShadingPair:
    """A shading of both files, and where it stands."""

    old: Any
    new: Any
    path: str


def once_each(
    pairs: Iterable[ShadingPair], look: Callable[[ShadingPair], T]
) -> Iterator[tuple[ShadingPair, T]]:
    """Yield what is seen of each pair; of lines that differ in their place alone, seen once."""
    known: dict[str | None, T] = {}
    for pair in pairs:
        line = _along_a_line(pair)
        seen = known[line] if line in known else look(pair)
        if line is not None:
            known[line] = seen
        yield pair, seen


def _along_a_line(pair: ShadingPair) -> str | None:
    """Return what is judged of two gradients along a line, all but where it lies; else None."""
    try:
        if any(int(one["/ShadingType"]) not in (2, 3) for one in (pair.old, pair.new)):
            return None
        return repr(
            [
                {key: unparsed(value) for key, value in one.items() if key != "/Coords"}
                for one in (pair.old, pair.new)
            ]
        )
    except UNREADABLE:
        return None


def unparsed(thing: Any, depth: int = 0) -> object:
    """Return an object with all that it leads to, for comparing it with another."""
    if depth > MOST_DEEP:
        raise UnreadableShadingError("nested too deep")
    if isinstance(thing, pikepdf.Array):
        return [unparsed(one, depth + 1) for one in thing]
    if not isinstance(thing, (pikepdf.Dictionary, pikepdf.Stream)):
        return str(thing)
    data = bytes(thing.read_bytes()) if isinstance(thing, pikepdf.Stream) else b""
    packing = ("/Length", "/Filter", "/DecodeParms")
    entries = {k: unparsed(v, depth + 1) for k, v in thing.items() if k not in packing}
    return entries, data
