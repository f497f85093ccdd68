"""Names for what has many colours at once: images and gradients."""

from __future__ import annotations

from typing import Any

import pikepdf

from inkaccord.artwork.marks.mark import PlacedPicture
from inkaccord.errors import FileError
from inkaccord.pdf.colours.colours import ArtworkColour, ColourKind, colour_in, space_name
from inkaccord.pdf.colours.functions import BadFunctionError
from inkaccord.pdf.colours.shadings import read_shading
from inkaccord.pdf.colours.space_reader import SpaceReader
from inkaccord.pdf.colours.spaces import Space, SpaceKind
from inkaccord.pdf.entries import BAD_OBJECT
from inkaccord.pdf.streams import StreamReader

_TYPES = {
    1: "free", 2: "axial", 3: "radial", 4: "mesh", 5: "mesh", 6: "patch mesh", 7: "patch mesh",
}  # fmt: skip
_MOST_NAMED = 4
_MOST_KEPT = 64


def image_colour(picture: PlacedPicture, space: Space) -> ArtworkColour:
    """Return the entry that stands for all the colours of an image.

    The colours of an image with a colour table are its parts; one that holds a single colour
    is that colour.
    """
    entries: tuple[ArtworkColour, ...] = ()
    if space.kind is SpaceKind.INDEXED and space.base is not None and space.base.components:
        count = len(space.table) // space.base.components
        entries = tuple(dict.fromkeys(colour_in(space, (at,)) for at in range(count)))
    if len(entries) == 1:
        return entries[0]
    return ArtworkColour(
        kind=ColourKind.IMAGE,
        text=f"image {picture.width_px} × {picture.height_px} px, {picture.space}",
        parts=entries,
    )


def gradient_colour(
    shading: Any, resources: pikepdf.Dictionary | None, spaces: SpaceReader, streams: StreamReader
) -> ArtworkColour:
    """Return the entry that stands for all the colours of a shading; its stops named if few."""
    try:
        read = read_shading(shading, resources, spaces, streams)
        numbers = [one for one in read.stops() if len(one) == read.space.components]
        stops = tuple(dict.fromkeys(colour_in(read.space, one) for one in numbers))
        kind = _TYPES.get(read.kind, "odd")
    except (*BAD_OBJECT, BadFunctionError, FileError):
        return ArtworkColour(kind=ColourKind.GRADIENT, text="gradient that cannot be read")
    if not stops or len(stops) > _MOST_NAMED:
        text = f"{kind} gradient, {len(stops)} colours in {space_name(read.space)}"
    else:
        text = f"{kind} gradient, {' to '.join(stop.text for stop in stops)}"
    return ArtworkColour(kind=ColourKind.GRADIENT, text=text, parts=stops[:_MOST_KEPT])
