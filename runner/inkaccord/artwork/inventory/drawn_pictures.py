"""The known colours in pictures that are drawn in a few colours, with their part of the area."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from inkaccord.artwork.marks.mark import Mark
from inkaccord.artwork.photographs.few_colours import FlatPicture
from inkaccord.artwork.roles import Role
from inkaccord.pdf.colours.colours import ArtworkColour, plain_colour

Areas = dict[tuple[ArtworkColour, Role], tuple[float, float]]
Shares = Mapping[ArtworkColour, Mapping[ArtworkColour, float]]
"""By what a picture is called, the share of its area that each colour in it has."""


def with_colours_of_pictures(
    marks: Sequence[Mark], drawn: Mapping[tuple[int, int], FlatPicture]
) -> list[Mark]:
    """Return marks with one more for each known colour in a picture."""
    found: list[Mark] = []
    for mark in marks:
        found.append(mark)
        picture = _drawn(mark, drawn)
        if picture is not None:
            found += [
                replace(mark, colour=plain_colour(paint), picture=None)
                for paint, _ in picture.known
            ]
    return found


def shares_of_pictures(
    marks: Sequence[Mark], drawn: Mapping[tuple[int, int], FlatPicture]
) -> Shares:
    """Return what of the area of pictures that are called alike is which colour."""
    called: dict[ArtworkColour, list[Mark]] = {}
    for mark in marks:
        if mark.picture is not None:
            called.setdefault(mark.colour, []).append(mark)
    shares: dict[ArtworkColour, dict[ArtworkColour, float]] = {}
    for name, some in called.items():
        whole = sum(mark.box.area for mark in some) or 1.0
        for mark in some:
            picture = _drawn(mark, drawn)
            for paint, share in picture.known if picture is not None else ():
                parts = shares.setdefault(name, {})
                colour = plain_colour(paint)
                parts[colour] = parts.get(colour, 0.0) + share * mark.box.area / whole
    return shares


def parted(areas: Areas, shares: Shares) -> Areas:
    """Return measured areas with those of pictures given to the colours in them."""
    found: Areas = {}
    for (colour, role), area in areas.items():
        parts = dict(shares.get(colour, {})) if role is Role.IMAGE else {}
        parts[colour] = 1.0 - sum(parts.values())
        for one, share in parts.items():
            whole, inside = found.get((one, role), (0.0, 0.0))
            found[one, role] = whole + share * area[0], inside + share * area[1]
    return found


def _drawn(mark: Mark, drawn: Mapping[tuple[int, int], FlatPicture]) -> FlatPicture | None:
    return drawn.get(mark.picture.key) if mark.picture is not None else None
