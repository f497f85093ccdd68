"""Lines to paste into an order that take up colours of an artwork, so that it recolours them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from pydantic import Field

from inkaccord.artwork.mixing import component_distance, inks, tint_share
from inkaccord.artwork.rewritten import is_rewritten
from inkaccord.colour.paints import Paint, PaintKind
from inkaccord.colour.spaces import srgb_to_lab
from inkaccord.models import Frozen
from inkaccord.pdf.colours.colours import ArtworkColour

MOST_NAMED = 8
"""So many colours are taken up at once."""
_SAME = 0.55
"""Percent (or 255ths) by which rounding may move a colour that the order names."""
PICTURES_MATCHED = "photographs: matched"
"""The line that has pictures matched to their pair."""


class OrderSays(Frozen):
    """What the order of a piece says of colours of other kinds than its device's."""

    translates: bool = Field(False, description="pictures are matched to the pair")
    translates_cmyk: bool = Field(False, description="those in CMYK too: it names their source")
    plain: bool = Field(False, description="colours with a profile count by their numbers")
    brands: tuple[tuple[str, tuple[Paint, ...]], ...] = Field(
        (), description="its colours by name, as artwork writes them"
    )
    cmyk_right_on: str | None = Field(
        None, description="a pair, as an order writes it, that the artwork's CMYK may be made for"
    )


def taken_up(some: Sequence[ArtworkColour], order: OrderSays) -> str | None:
    """Return how an order takes up colours, so that they look as they do: words, then the lines.

    Tints of another need no line, nor do the order's own colours: something else holds these. None
    where the look of none is known.
    """
    paints = (colour.paint or colour.profiled_look for colour in some)
    new = [paint.rounded for paint in paints if paint is not None and not _is_known(paint, order)]
    solids = _solids(new)
    lines = [line for paint in solids if (line := _line_of(paint, order)) is not None]
    if not lines:
        return None
    them, does = ("it", "it does") if len(some) == 1 else ("them", "they do")
    words = f"or take {them} up in the order, with an aim of your own or, to look as {does} now"
    return "\n".join([f"{words}, by pasting", *lines[:MOST_NAMED]])


def _is_known(paint: Paint, order: OrderSays) -> bool:
    """Tell whether the order names a colour already, or one that it is a tint of."""
    ways = (way for _, ways in order.brands for way in ways if way.kind is paint.kind)
    return any(
        component_distance(paint, way) <= _SAME or tint_share(paint, way) is not None
        for way in ways
        if way.name == paint.name
    )


def _solids(paints: Iterable[Paint]) -> list[Paint]:
    """Return paints without those that are tints of a stronger one, the strongest first."""
    kept: list[Paint] = []
    for paint in sorted(dict.fromkeys(paints), key=lambda one: (-sum(inks(one)), str(one))):
        if not any(paint.kind is one.kind and tint_share(paint, one) is not None for one in kept):
            kept.append(paint)
    return kept


def _line_of(paint: Paint, order: OrderSays) -> str | None:
    for brand, ways in order.brands:
        if any(is_rewritten(paint, way) for way in ways):
            return f"colours.{brand}.in_artwork: [{paint}]"
    if paint.kind is PaintKind.RGB:
        return _line(paint, _aim(srgb_to_lab([value / 255 for value in paint.values])))
    if paint.kind is PaintKind.LAB:
        return _line(paint, _aim(paint.values))
    if paint.kind is PaintKind.CMYK and order.cmyk_right_on is not None:
        return _line(paint, f"build: {paint}, on: {order.cmyk_right_on}")
    return None


def _aim(lab: Iterable[float]) -> str:
    return f"lab: [{', '.join(f'{round(float(value), 1) + 0.0:g}' for value in lab)}]"


def _line(paint: Paint, aim: str) -> str:
    name = "-".join(re.findall(r"[a-z0-9.]+", f"{paint}")).replace(".", "_")
    return f"colours.{name}: {{aim: {{{aim}}}, in_artwork: [{paint}]}}"
