"""An export in which the program converted all colours: recognised as that, in one finding."""

from __future__ import annotations

from inkaccord.colour.paints import Paint, PaintKind
from inkaccord.diagnostics import Diagnostic, Place, error
from inkaccord.run.collected import FoundAs, PieceArtwork

CODE = "converted-export"
LEAST = 2
"""So many colours with odd numbers are no accident."""


def is_converted(artwork: PieceArtwork) -> bool:
    """Whether all colours of an artwork have the numbers that a conversion leaves.

    No brand colour is found, and every other CMYK or RGB colour has broken numbers: people write
    whole ones, and programs keep them (common practice, no source).
    """
    if artwork.brand_colours or any(it.profiled for it in artwork.colours):
        return False
    told = [
        found.paint
        for found in artwork.colours
        if found.paint is not None
        and found.paint.kind in {PaintKind.CMYK, PaintKind.RGB}
        and found.found_as in {FoundAs.UNKNOWN, FoundAs.NEAR_MISS}
    ]
    return len(told) >= LEAST and all(map(_is_broken, told))


def said_of_conversion(artwork: PieceArtwork, place: Place) -> Diagnostic:
    """Return what is to be done in the program that exported the artwork."""
    paints = [it.paint for it in artwork.colours if it.found_as is FoundAs.UNKNOWN and it.paint]
    seen = ", ".join(paint.spoken for paint in paints[:3])
    return error(
        CODE,
        f"{artwork.path} holds none of the order's colours, and the colours that it holds have "
        f"broken numbers ({seen}): the program converted all colours when it exported",
        place=place,
        hint=f"or, if it is meant so, waive '{CODE}' on the piece, with the reason",
    )


def _is_broken(paint: Paint) -> bool:
    return "." in paint.spoken.partition("(")[0]
