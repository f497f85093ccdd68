"""What an artwork's spot colours are mixed from when no plate of their own prints them."""

from collections.abc import Iterator
from typing import Any

import pikepdf

from inkaccord.colour.paints import Paint
from inkaccord.pdf.colours.functions import BadFunctionError, read_function
from inkaccord.pdf.colours.space_reader import SpaceReader
from inkaccord.pdf.entries import plain, word
from inkaccord.pdf.opening import open_artwork
from inkaccord.pdf.streams import StreamReader

_DEEPEST = 4
"""How far a colour space's array lies inside an indirect object: resources, table, base."""


def spot_alternates(data: bytes) -> dict[str, Paint]:
    """Return the process colour of every solid spot in a PDF, by the spot's name.

    It is the alternate colour of the Separation space at full tint (ISO 32000-2, 8.6.6.4); a spot
    whose alternate goes through a profile, or can't be read, is left out.
    """
    found: dict[str, Paint] = {}
    with open_artwork(data) as pdf:
        for name, paint in alternates_in(pdf):
            found.setdefault(name, paint)
    return found


def alternates_in(pdf: pikepdf.Pdf) -> Iterator[tuple[str, Paint]]:
    """Yield the name of a spot and its process colour, as often as an open PDF defines it."""
    reader, streams = SpaceReader(), StreamReader()
    for array in _separations(pdf):
        try:
            numbers = read_function(array[3], streams)(1.0)
            paint = reader.read(array[2]).colour(numbers).as_device()
        except (BadFunctionError, ValueError, IndexError):
            continue
        if paint is not None:
            yield plain(array[1]), paint


def _separations(pdf: pikepdf.Pdf) -> Iterator[pikepdf.Array]:
    for thing in pdf.objects:
        yield from _inside(thing, _DEEPEST)


def _inside(thing: Any, depth: int) -> Iterator[pikepdf.Array]:
    if depth == 0:
        return
    if isinstance(thing, pikepdf.Array):
        if len(thing) >= 4 and word(thing[0]) == "/Separation":
            yield thing
        children = list(thing) if len(thing) <= 8 else []
    elif isinstance(thing, (pikepdf.Dictionary, pikepdf.Stream)):
        children = [child for key, child in thing.items() if key != "/Parent"]
    else:
        return
    for child in children:
        # Indirect children have their own turn.
        if not getattr(child, "is_indirect", True):
            yield from _inside(child, depth - 1)
