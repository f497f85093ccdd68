"""Default colour spaces, taken off where colours with a profile count as their numbers.

``DefaultCMYK``, ``DefaultRGB`` and ``DefaultGray`` in resources send all plain colour there through
a profile (ISO 32000-2, 8.6.5.6): colours, pictures and gradients alike.
"""

from __future__ import annotations

from typing import Any

import pikepdf

from inkaccord.pdf.colours.spaces import DEFAULT_SPACES
from inkaccord.pdf.entries import entry
from inkaccord.pdf.opening import open_artwork
from inkaccord.pdf.writing import save_as_packed

_DEEPEST = 12
"""How deep resources may lie in objects without a number of their own."""


def drop_default_spaces(pdf: pikepdf.Pdf) -> int:
    """Take the default colour spaces out of all resources of an open file; return how many."""
    return sum(_drop(thing, 0) for thing in pdf.objects)


def without_default_spaces(source: bytes) -> bytes:
    """Return a file without its default colour spaces; itself where it has none.

    Raises FileError.
    """
    with open_artwork(source) as pdf:
        return save_as_packed(pdf) if drop_default_spaces(pdf) else source


def _drop(thing: Any, depth: int) -> int:
    if depth > _DEEPEST or (depth and getattr(thing, "is_indirect", False)):
        return 0
    if isinstance(thing, pikepdf.Array):
        return sum(_drop(one, depth + 1) for one in thing)
    if not isinstance(thing, (pikepdf.Dictionary, pikepdf.Stream)):
        return 0
    dropped = 0
    for key in DEFAULT_SPACES.values():
        if isinstance(entry(thing, key), (pikepdf.Array, pikepdf.Name)):
            del thing[key]
            dropped += 1
    return dropped + sum(_drop(one, depth + 1) for _, one in thing.items())
