"""Which colour spaces have to be the same in both files, since no swap concerns them.

What plain numbers mean is told by operators, and what swapped spots look like is judged by others;
a profile, or the look of a spot that nobody swapped, has nobody else to see that it was changed.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import Any

import pikepdf

from inkaccord.artwork.proof.mixtures import inks_of, names_of
from inkaccord.pdf.entries import word

_LOOKS = frozenset({"/ICCBased", "/CalRGB", "/CalGray", "/Lab"})
_TABLES = frozenset({"/Indexed", "/I"})
_OF_INKS = 4
"""The family, the inks, and what they look like; what is said beside them is no colour."""

SpacePair = tuple[Any, Any, str]
"""What must be the same in both files, and where it stands; None is what is not there."""


def kept_spaces(old: Any, new: Any, path: str, changing: Collection[str]) -> Iterator[SpacePair]:
    """Yield what has to be the same of a colour space, or of all those that resources name.

    ``changing`` are the spots that are swapped.
    """
    if not isinstance(old, pikepdf.Dictionary) and not isinstance(new, pikepdf.Dictionary):
        yield from _kept(old, new, path, changing)
        return
    ones, others = (
        dict(table.items()) if isinstance(table, pikepdf.Dictionary) else {} for table in (old, new)
    )
    for name, space in ones.items():
        yield from _kept(space, others.get(name), f"{path} {name[1:]}", changing)
    for name in sorted(others.keys() - ones.keys()):
        if name.startswith("/Default"):  # it holds without being named
            yield None, others[name], f"{path} {name[1:]}"


def _kept(old: Any, new: Any, path: str, changing: Collection[str]) -> Iterator[SpacePair]:
    inks = inks_of(old)
    if inks is not None and not set(changing).isdisjoint(names_of(inks)):
        return
    family = _family(old)
    if family == _family(new) and family in (*_TABLES, "/Pattern") and len(old) == len(new) > 1:
        # A table may leave its space as a whole, which others judge entry by entry.
        if family == "/Pattern" or (_family(old[1]) in _LOOKS and _family(new[1]) in _LOOKS):
            yield from _kept(old[1], new[1], f"{path} 1", changing)
    elif inks is not None and old is inks and family == _family(new):
        yield from (
            (one, other, path) for one, other in zip([*old][:_OF_INKS], [*new], strict=False)
        )
    else:
        yield old, new, path


def _family(space: Any) -> str:
    return word(space[0]) if isinstance(space, pikepdf.Array) and len(space) else ""
