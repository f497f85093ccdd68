"""Kinds of colour: what a vendor takes, and the lines of an order that turn the rest into that."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

from inkaccord.artwork.marks.mark import Mark
from inkaccord.artwork.mixing import inks, tint_share
from inkaccord.artwork.preflight.case import OpenArtwork, PreflightContext
from inkaccord.artwork.preflight.rules import ArtworkRules
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
    "or take {it} up in the order, with an aim of your own or, to look as {it} {does} now, by "
    "pasting"
)
_NO_AIM = "or name {it} under 'colours' with an aim, so that the order recolours {it}"
_TYPED = "or, where {it} {was} typed as these numbers, paste"
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
    words = {"it": "it" if one else "them", "does": "does" if one else "do"}
    words["was"] = "was" if one else "were"
    paints = [colour.paint for colour in some if colour.paint is not None]
    if (
        len(paints) == len(some)
        and piece
        and all(grey_share(paint) is not None for paint in paints)
    ):
        return f"{_NEUTRAL}\npieces.{piece}.neutrals: black"
    if any(colour.numbers is not None for colour in some) and piece:
        return f"{_TYPED.format(**words)}\npieces.{piece}.profiled: plain"
    lines = list(_lines(paints, rules.order.cmyk_right_on))
    if not lines:
        return _NO_AIM.format(**words)
    return "\n".join([_NAME_IT.format(**words), *lines])


def _lines(paints: Sequence[Paint], cmyk_right_on: str | None) -> Iterator[str]:
    """Yield a line for each colour whose look is known, tints of another left out."""
    for paint in _solids(paints)[:MOST_NAMED]:
        name = "-".join(str(paint).replace(".", "_").split())
        if paint.kind is PaintKind.RGB:
            lab = srgb_to_lab([value / 255 for value in paint.values])
            aim = "lab: [{:.1f}, {:.1f}, {:.1f}]".format(*(float(v) + 0.0 for v in lab))
        elif paint.kind is PaintKind.CMYK and cmyk_right_on is not None:
            aim = f"build: {paint}, on: {cmyk_right_on}"
        else:
            continue
        yield f"colours.{name}: {{aim: {{{aim}}}, in_artwork: [{paint}]}}"


def _solids(paints: Collection[Paint]) -> list[Paint]:
    """Return colours without those that are tints of another, the strongest first."""
    kept: list[Paint] = []
    for paint in sorted(dict.fromkeys(paints), key=lambda one: (-sum(inks(one)), str(one))):
        if not any(paint.kind is one.kind and tint_share(paint, one) is not None for one in kept):
            kept.append(paint)
    return kept


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
    """Return the lines of an order that translate pictures of a kind; None if it does already."""
    lines = []
    if not rules.order.translates:
        lines.append("photographs: translate")
    if kind.startswith("cmyk") and not rules.order.translates_cmyk:
        lines.append(f"photographs_from: {rules.order.cmyk_right_on or 'device@stock'}")
    if kind.endswith(_PROFILED) and piece and not rules.order.plain:
        lines.append(f"pieces.{piece}.profiled: plain")
    return "\n".join([_TRANSLATED, *lines]) if lines else None
