"""Kinds of colour: what a vendor takes, and the lines of an order that turn the rest into that."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence

from inkaccord.artwork.marks.mark import Mark
from inkaccord.artwork.mixing import inks, tint_share
from inkaccord.artwork.preflight.case import OpenArtwork, PreflightContext
from inkaccord.artwork.preflight.rules import ArtworkRules, OrderSays
from inkaccord.artwork.rewritten import is_rewritten
from inkaccord.colour.paints import Paint, PaintKind, grey_share
from inkaccord.colour.spaces import srgb_to_lab
from inkaccord.diagnostics import Diagnostic, error
from inkaccord.pdf.colours.colours import ArtworkColour, ColourKind
from inkaccord.words import counted, joined

MOST_NAMED = 8
"""So many colours of one kind are named, with a line for each."""
_MANY = frozenset({ColourKind.IMAGE, ColourKind.GRADIENT, ColourKind.PATTERN})
_PROFILED = " with profile"
_NAME_IT = (
    "or take {it} up in the order, with an aim of your own or, to look as {does} now, by pasting"
)
_NO_AIM = "or name {it} under 'colours' with an aim, so that the order recolours {it}"
_TYPED = "or, where {were} typed as these numbers, give the piece 'profiled: plain'"
_NEUTRAL = "or let the order print them in black ink: paste"
_TRANSLATED = "or have pictures translated: paste"


def check_colour_kinds(
    artwork: OpenArtwork, rules: ArtworkRules, _: PreflightContext
) -> Iterator[Diagnostic]:
    """``colour-kind``: only the kinds of colour that the vendor takes.

    A finding for each kind, with the lines to paste into the order that mend it.
    """
    if rules.colour_kinds is None:
        return
    takes = joined([str(kind) for kind in rules.colour_kinds if kind not in _MANY])
    found: dict[ColourKind, dict[ArtworkColour, Mark]] = {}
    for mark in artwork.marks:
        for colour in (mark.colour, *mark.colour.parts):
            if colour.kind not in rules.colour_kinds and colour.kind not in _MANY:
                found.setdefault(colour.kind, {}).setdefault(colour, mark)
    for kind, some in found.items():
        first = next(iter(some.values()))
        yield error(
            "colour-kind",
            f"the artwork holds {_listed(kind, list(some))}; this vendor takes {takes}",
            place=artwork.place(first.page, first.box),
            hint=_answer(list(some), rules, artwork.name),
        )
    yield from _pictures(artwork, rules, takes)


def _listed(kind: ColourKind, some: Sequence[ArtworkColour]) -> str:
    if len(some) == 1:
        return f"a colour of the kind {kind} ({some[0].spoken})"
    named = "; ".join(colour.spoken for colour in some[:MOST_NAMED])
    more = f"; and {len(some) - MOST_NAMED} more" if len(some) > MOST_NAMED else ""
    return f"{len(some)} colours of the kind {kind} ({named}{more})"


def _answer(some: Sequence[ArtworkColour], rules: ArtworkRules, piece: str | None) -> str:
    """Return what an order can do for colours of a kind: words, then lines to paste."""
    one = len(some) == 1
    words = {"it": "it" if one else "them", "does": "it does" if one else "they do"}
    numbers = [colour.paint or colour.numbers for colour in some]
    to_cmyk = ColourKind.CMYK in (rules.colour_kinds or ())
    if to_cmyk and piece and all(it and grey_share(it) is not None for it in numbers):
        return f"{_NEUTRAL}\npieces.{piece}.neutrals: black"
    lines = list(_lines(_solids(some), rules.order))
    said = [_NAME_IT.format(**words), *lines] if lines else [_NO_AIM.format(**words)]
    if piece and not rules.order.plain and any(colour.numbers is not None for colour in some):
        said.append(_TYPED.format(were="it was" if one else "they were"))
    return "\n".join(said)


def _lines(some: Iterable[ArtworkColour], order: OrderSays) -> Iterator[str]:
    """Yield a line for each colour whose look is known."""
    for colour in some:
        paint = colour.paint or colour.profiled_look
        line = _line_of(paint.rounded, order) if paint is not None else None
        if line is not None:
            yield line


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


def _solids(some: Iterable[ArtworkColour]) -> list[ArtworkColour]:
    """Return the first colours, those left out that are tints of a stronger one."""
    kept: list[ArtworkColour] = []
    for colour in sorted(some, key=lambda one: -sum(inks(one.paint)) if one.paint else 0.0):
        paint = colour.paint
        stronger = (one.paint for one in kept if one.paint is not None)
        if paint is None or not any(
            paint.kind is one.kind and tint_share(paint, one) is not None for one in stronger
        ):
            kept.append(colour)
    return kept[:MOST_NAMED]


def _pictures(artwork: OpenArtwork, rules: ArtworkRules, takes: str) -> Iterator[Diagnostic]:
    allowed = {str(kind) for kind in rules.colour_kinds or ()}
    found: dict[str, list[Mark]] = {}
    for mark in artwork.marks:
        if mark.picture is None:
            continue
        kind = mark.picture.space.removeprefix("table of ")
        if kind in {str(one) for one in ColourKind} and kind not in allowed:
            found.setdefault(kind, []).append(mark)
    for kind, some in found.items():
        yield error(
            "colour-kind",
            f"{counted(len(some), 'picture')} {'holds' if len(some) == 1 else 'hold'} {kind} "
            f"colour; this vendor takes {takes}",
            place=artwork.place(some[0].page, some[0].box),
            hint=_pictures_answer(kind, rules, artwork.name),
        )


def _pictures_answer(kind: str, rules: ArtworkRules, piece: str | None) -> str | None:
    """Return the lines of an order that translate pictures of a kind; None if there are none."""
    lines = []
    if not kind.startswith(("cmyk", "rgb")):
        return None  # a grey, and several inks, are never translated
    if not rules.order.translates:
        lines.append("photographs: translate")
    if kind.startswith("cmyk") and not rules.order.translates_cmyk:
        lines.append(f"photographs_from: {rules.order.cmyk_right_on or 'device@stock'}")
    if kind.endswith(_PROFILED) and piece and not rules.order.plain:
        lines.append(f"pieces.{piece}.profiled: plain")
    return "\n".join([_TRANSLATED, *lines]) if lines else None
