"""What a spot colour looks like to a program that does not have its ink: its alternate colour."""

from pathlib import Path

from inkaccord.artwork.functions import BadFunctionError, read_function
from inkaccord.artwork.limits import Limits
from inkaccord.artwork.opening import open_artwork
from inkaccord.artwork.paints import Paint
from inkaccord.artwork.spaces import Space, SpaceKind
from inkaccord.artwork.walk import Walk


def spot_alternates(source: Path | bytes, *, limits: Limits | None = None) -> dict[str, Paint]:
    """Return for each spot of a file the device colour that its tint transform gives at 100 %.

    Spots whose transform can't be followed, or whose alternate is no device colour, are left out.
    Raises FileError when the file can't be read.
    """
    found: dict[str, Paint] = {}
    with open_artwork(source, limits=limits) as pdf:
        walk = Walk(pdf, limits)
        for use in walk.uses():
            space = use.space
            if space is None or space.kind is not SpaceKind.SPOT or space.name in found:
                continue
            paint = _alternate(space, walk)
            if paint is not None:
                found[space.name] = paint
    return found


def _alternate(space: Space, walk: Walk) -> Paint | None:
    try:
        alternate = walk.spaces.read(space.definition[2])
        numbers = read_function(space.definition[3], walk.streams)(1.0)
    except (BadFunctionError, IndexError, TypeError):
        return None
    return alternate.colour(tuple(numbers)).as_device()
