"""Mixtures of inks of which some are spots that stay on their plates beside a new build."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from inkaccord.colour.paints import Paint
from inkaccord.pdf.colours.spaces import PROCESS_INKS, Colour, inks_name

Inks = tuple[tuple[str, float], ...]
"""Inks by name, each with its percent, in the order in which a space names them."""


def beside_kept(inks: Sequence[tuple[str, float]], build: Paint, gone: Collection[str]) -> Inks:
    """Return a mixture with a new CMYK build for its process inks and the spots that go.

    Where its inks can hold that, they are the same ones in the same order. Else it names the spots
    that stay, the process inks that it named, and those that the build needs: no others, since
    under overprint an ink that is named covers what lies below, and one that is not does not
    (ISO 32000-2, 8.6.7).
    """
    before = dict(inks)
    new = dict(zip(PROCESS_INKS, build.values, strict=True))
    named = {ink: amount for ink, amount in new.items() if ink in before or amount > 0}
    if not gone and named.keys() <= before.keys():
        return tuple((name, named.get(name, amount)) for name, amount in inks)
    return (*named.items(), *((name, before[name]) for name in kept_of(before, gone)))


def kept_of(names: Iterable[str], gone: Collection[str]) -> list[str]:
    """Return the spots among some inks that keep their plates, in their order."""
    others = {*PROCESS_INKS, *gone, "None"}
    return [name for name in names if name not in others]


def colour_of(inks: Inks) -> Colour:
    """Return a mixture of inks as the colour that a file sets; one ink alone is a spot."""
    numbers = tuple(percent / 100 for _, percent in inks)
    if len(inks) == 1:
        return Colour(Paint.spot(*inks[0]), None, numbers)
    return Colour(None, inks_name([name for name, _ in inks]), numbers, inks=inks)
