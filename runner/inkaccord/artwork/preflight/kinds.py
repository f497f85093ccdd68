"""Kinds of colour: what a vendor takes, and the lines of an order that turn the rest into that."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from inkaccord.artwork.marks.mark import Mark
from inkaccord.artwork.preflight.case import OpenArtwork, PreflightContext
from inkaccord.artwork.preflight.rules import ArtworkRules
from inkaccord.artwork.taking_up import MOST_NAMED, PICTURES_MATCHED, taken_up
from inkaccord.colour.paints import grey_share
from inkaccord.diagnostics import Diagnostic, error
from inkaccord.pdf.colours.colours import ArtworkColour, ColourKind
from inkaccord.words import counted, joined

_MANY = frozenset({ColourKind.IMAGE, ColourKind.GRADIENT, ColourKind.PATTERN})
_PROFILED = " with profile"
_NO_AIM = "or name {it} under 'colours' with an aim, so that the order recolours {it}"
_TYPED = "or, where {were} typed as these numbers, give the piece 'profiled: plain'"
_NEUTRAL = "or let the order print them in black ink: paste"
_MATCHED = "or have pictures matched: paste"


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
    for mark in artwork.shown():
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
    numbers = [colour.paint or colour.numbers for colour in some]
    to_cmyk = ColourKind.CMYK in (rules.colour_kinds or ())
    if to_cmyk and piece and all(it and grey_share(it) is not None for it in numbers):
        return f"{_NEUTRAL}\npieces.{piece}.neutrals: black"
    one = len(some) == 1
    said = taken_up(some, rules.order) or _NO_AIM.format(it="it" if one else "them")
    if piece and not rules.order.plain and any(colour.numbers is not None for colour in some):
        said += "\n" + _TYPED.format(were="it was" if one else "they were")
    return said


def _pictures(artwork: OpenArtwork, rules: ArtworkRules, takes: str) -> Iterator[Diagnostic]:
    allowed = {str(kind) for kind in rules.colour_kinds or ()}
    found: dict[str, list[Mark]] = {}
    for mark in artwork.shown():
        if mark.picture is None:
            continue
        kind = mark.picture.pixel_space
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
        lines.append(PICTURES_MATCHED)
    if kind.startswith("cmyk") and not rules.order.translates_cmyk:
        lines.append(f"photographs_from: {rules.order.cmyk_right_on or 'device@stock'}")
    if kind.endswith(_PROFILED) and piece and not rules.order.plain:
        lines.append(f"pieces.{piece}.profiled: plain")
    return "\n".join([_MATCHED, *lines]) if lines else None
