"""What is said of the colours in an artwork that are no brand colours: one finding for a cause."""

from collections.abc import Iterable, Iterator, Sequence

from inkaccord.artwork.advice import advised
from inkaccord.diagnostics import Diagnostic, Place, note, warning
from inkaccord.order.model import Order, Photographs
from inkaccord.run.collected import FoundAs, FoundColour, PieceArtwork
from inkaccord.words import counted, joined

_NO_BRAND = {FoundAs.NEAR_MISS, FoundAs.UNKNOWN}
MOST_NAMED = 6
"""So many colours of one cause are named; the others are counted."""

_NAMELESS = "or name {them} under 'colours' with an aim, or under 'keep' to leave {them} alone"
_BY_LOOK = (
    "or name {them} by what the profile makes of {them}, {lines}, under 'colours' with an aim, or "
    "under 'keep'; "
)
_PROFILED = "or, where {they} typed as these numbers, give the piece 'profiled: plain'"
_WITHOUT_PROFILE = "give {them} as plain colour, without a profile"


def remarks(order: Order, artwork: PieceArtwork, place: Place) -> list[Diagnostic]:
    """Return what is to be said of an artwork's colours and pictures, at its place in the order."""
    return advised(_remarks(order, artwork, place), artwork.program)


def _remarks(order: Order, artwork: PieceArtwork, place: Place) -> Iterator[Diagnostic]:
    near: dict[str, list[FoundColour]] = {}
    unknown: dict[bool, list[FoundColour]] = {}
    off: list[FoundColour] = []
    for found in artwork.colours:
        if found.found_as not in _NO_BRAND:
            continue
        if not found.shown:
            off.append(found)
        elif found.found_as is FoundAs.NEAR_MISS:
            near.setdefault(found.colour or "", []).append(found)
        else:
            unknown.setdefault(found.profiled, []).append(found)
    for colour, some in near.items():
        yield _near_misses(order, artwork, colour, some, place)
    for profiled, some in unknown.items():
        yield _nameless(artwork, some, place, profiled=profiled)
    if off:
        yield _on_hidden_layer(artwork, off, place)
    if artwork.photographs and order.photographs is Photographs.KEEP:
        yield note(
            "photographs-kept",
            f"{artwork.path} holds {counted(artwork.photographs, 'picture')}, printed as "
            f"{'it is' if artwork.photographs == 1 else 'they are'}",
            place=place,
            hint="'photographs: matched' matches them to each pair",
        )


def _on_hidden_layer(
    artwork: PieceArtwork, some: Sequence[FoundColour], place: Place
) -> Diagnostic:
    named = joined([found.spoken for found in some[:MOST_NAMED]])
    more = f" and {len(some) - MOST_NAMED} more" if len(some) > MOST_NAMED else ""
    return note(
        "colour-on-hidden-layer",
        f"{artwork.path} holds {named}{more} on a layer that is switched off alone: so long as it "
        "stays off, that does not print",
        place=place,
    )


def _near_misses(
    order: Order, artwork: PieceArtwork, colour: str, some: Sequence[FoundColour], place: Place
) -> Diagnostic:
    wanted = joined([paint.spoken for paint in order.colours[colour].in_artwork])
    if len(some) == 1:
        said = f"holds {_where(some[0])}: almost {colour} ({wanted}), but not it, so it stays"
    else:
        said = (
            f"holds {len(some)} colours that lie close to {colour} ({wanted}), but are not it, so "
            f"they stay: {_listed(some)}"
        )
    lines = _quoted(str(found.look or found.text) for found in some)
    return warning(
        "near-miss",
        f"{artwork.path} {said}",
        place=place,
        hint=f"or add {lines} to colours.{colour}.in_artwork, or widen its 'within'",
    )


def _nameless(
    artwork: PieceArtwork, some: Sequence[FoundColour], place: Place, *, profiled: bool
) -> Diagnostic:
    one = len(some) == 1
    if one:
        said = (
            f"holds {_where(some[0])}, which is no brand colour: it is printed as it stands, and "
            "comes out otherwise on every printer and paper"
        )
    else:
        said = (
            f"holds {len(some)} colours that are no brand colours: they are printed as they stand, "
            f"and come out otherwise on every printer and paper: {_listed(some)}"
        )
    them, they = ("it", "it was") if one else ("them", "they were")
    lines = _quoted(str(found.look) for found in some if found.look is not None)
    hint = f"{_BY_LOOK if lines else ''}{_PROFILED}" if profiled else _NAMELESS
    return warning(
        "unknown-colour",
        f"{artwork.path} {said}",
        place=place,
        in_program=_WITHOUT_PROFILE.format(them=them) if profiled else None,
        hint=hint.format(them=them, they=they, lines=lines),
    )


def _quoted(texts: Iterable[str]) -> str:
    """Return colours as an order takes them, each once."""
    return joined([f"'{text}'" for text in list(dict.fromkeys(texts))[:MOST_NAMED]])


def _listed(some: Sequence[FoundColour]) -> str:
    named = "; ".join(_where(found) for found in some[:MOST_NAMED])
    more = len(some) - MOST_NAMED
    return f"{named}; and {more} more" if more > 0 else named


def _where(found: FoundColour) -> str:
    return (
        f"{found.spoken} on page {_numbers(found.pages)}, {found.area_mm2:.0f} mm² "
        f"({', '.join(found.roles)})"
    )


def _numbers(pages: Iterable[int]) -> str:
    return ", ".join(map(str, pages))
