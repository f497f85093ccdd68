"""Colours that a program wrote in another kind of colour, by a plain formula.

Patterns, see-through things and effects are where programs do so.
"""

from __future__ import annotations

from inkaccord.artwork.mixing import FULL, SAME_COLOUR, component_distance, inks, tint_share
from inkaccord.colour.paints import Paint, PaintKind

OFF = 1.0
"""Percent (or 255ths) by which such a colour may be off what the formula gives."""


def rewritten(paint: Paint) -> tuple[Paint, ...]:
    """Return what programs make of a colour where they can't write its kind, without a profile.

    CMYK in RGB and the reverse by the device conversions of ISO 32000-2 (10.4.2.4 and 10.4.2.5:
    black added to each ink, or taken out of all three), and by their product forms, which are
    common practice without a source. Empty for other kinds, and for blacks and greys.
    """
    if paint.kind is PaintKind.CMYK:
        *chroma, black = (value / FULL[PaintKind.CMYK] for value in paint.values)
        ways = ([1 - min(1, ink + black) for ink in chroma],
                [(1 - ink) * (1 - black) for ink in chroma])  # fmt: skip
        made = [(PaintKind.RGB, way) for way in ways]
    elif paint.kind is PaintKind.RGB:
        chroma = [amount / FULL[PaintKind.RGB] for amount in inks(paint)]
        black = min(chroma)
        left = 1 - black or 1
        made = [
            (PaintKind.CMYK, [*(ink - black for ink in chroma), black]),
            (PaintKind.CMYK, [*((ink - black) / left for ink in chroma), black]),
            (PaintKind.CMYK, [*chroma, 0.0]),
        ]
    else:
        return ()
    if max(chroma) - min(chroma) <= SAME_COLOUR / 100:
        return ()
    found = (Paint(kind=kind, values=tuple(FULL[kind] * v for v in way)) for kind, way in made)
    return tuple(dict.fromkeys(found))


def is_rewritten(paint: Paint, other: Paint) -> bool:
    """Tell whether a paint is another colour, or a tint of one, that was rewritten by formula."""
    return any(
        one.kind is paint.kind
        and (component_distance(paint, one) <= OFF or tint_share(paint, one) is not None)
        for one in rewritten(other)
    )


def said_of_rewritten(paint: Paint, changes: Paint, name: str | None) -> str:
    """Return what is said of a colour that stays and is another, which changes, rewritten.

    With the order's name of that, the lines that mend it follow.
    """
    said = (
        f"{paint.spoken} is what programs make of {changes.spoken} where they can't write its kind "
        "of colour: that changes, and this would stay"
    )
    if name is None:
        return said
    return "\n".join(
        [
            said,
            f"or, where it is meant as {name}, paste into the order",
            f"colours.{name}.in_artwork: [{paint.rounded}]",
            f"or, where it is another colour, add '{paint.rounded}' to 'keep'",
        ]
    )
