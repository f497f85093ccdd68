"""Which brand colour each colour of an artwork is, or just misses."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from enum import StrEnum

from inkaccord.artwork.by_look import ByLook, Known
from inkaccord.artwork.inventory.inventory import ColourEntry, Inventory
from inkaccord.artwork.lines import is_between
from inkaccord.artwork.mixing import tint_share
from inkaccord.artwork.rewritten import is_rewritten
from inkaccord.colour.lab import Lab
from inkaccord.colour.paints import Paint, PaintKind
from inkaccord.models import Frozen
from inkaccord.pdf.colours.colours import ArtworkColour, ColourKind
from inkaccord.pdf.colours.spaces import PROCESS_INKS, device_numbers

_BLENDED = {PaintKind.CMYK, PaintKind.RGB, PaintKind.GRAY}


class ColourStanding(StrEnum):
    """How a colour of the artwork stands to the brand colours."""

    MAPPED = "mapped"
    """It is a brand colour, exactly or within rounding."""
    TINT = "tint"
    """It is a tint of one."""
    KEPT = "kept"
    """Paper white, black, a grey, or a picture: it stays what it is."""
    NEAR_MISS = "near miss"
    """Almost a brand colour: very likely a slip."""
    UNKNOWN = "unknown"
    """None of the order's colours."""


class Nearest(Frozen):
    """What :func:`nearest` says about one colour."""

    colour: ArtworkColour
    standing: ColourStanding
    brand: str | None = None
    """The brand colour that it is, or comes nearest to."""
    distance_percent: float | None = None
    """The largest difference of one component, in percent of full scale; same kinds only."""
    tint_percent: float | None = None
    advice: str = ""


def nearest(
    found: Inventory | Sequence[ColourEntry],
    brand: Mapping[str, Sequence[Paint]],
    *,
    within: Mapping[str, float] | float = 0.5,
    near: float = 2.5,
) -> tuple[Nearest, ...]:
    """Say for each colour which brand colour it is.

    Parameters
    ----------
    found
        An inventory or its colours; the answer keeps their order.
    brand
        The ways in which artwork writes each brand colour.
    within
        How far off still counts as that colour, in percent of full scale; one number, or one
        for each name. The default covers rounding to whole percent and to 8 bits.
    near
        How far off is a near miss, in percent of full scale; by the look, in ΔE00.

    Notes
    -----
    A colour with a profile is what that says: RGB, CIELAB and calibrated colours are compared by
    their look, with two ΔE00 for each percent of ``within``.
    """
    entries = found.colours if isinstance(found, Inventory) else found
    judge = _Judge(brand, within, near)
    return tuple(judge.of(entry.colour) for entry in entries)


def own_colours(
    colour: ArtworkColour,
    brand: Mapping[str, Sequence[Paint]],
    *,
    within: Mapping[str, float] | float = 0.5,
) -> tuple[ArtworkColour, ...]:
    """Return the colours of which something consists: itself, or the stops of a gradient.

    A stop that is a mixture of two others, one of them a brand colour, is left out: its program
    derived it, and it follows them.
    """
    return _Judge(brand, within, 0.0).own_colours(colour)


def _process_part(colour: ArtworkColour) -> ArtworkColour:
    """Return a mixture of inks that lays down none but the device's own as the CMYK that it is."""
    inks = {name: amount for name, amount in colour.inks or () if amount > 0}
    if not inks or not inks.keys() <= set(PROCESS_INKS):
        return colour
    values = tuple(inks.get(ink, 0.0) for ink in PROCESS_INKS)
    paint = Paint(kind=PaintKind.CMYK, values=values)
    return colour.model_copy(update={"paint": paint, "kind": ColourKind.CMYK})


class _Judge:
    def __init__(
        self,
        brand: Mapping[str, Sequence[Paint]],
        within: Mapping[str, float] | float,
        near: float,
    ) -> None:
        self._paints = [(name, paint) for name, paints in brand.items() for paint in paints]
        self._within = within
        self._near = near
        self._by_look = ByLook(
            [
                Known(index, paint, self._allowed(name))
                for index, (name, paint) in enumerate(self._paints)
                if paint.kind is not PaintKind.SPOT
            ]
        )

    def of(self, colour: ArtworkColour) -> Nearest:
        if colour.kind is ColourKind.DEVICEN:
            colour = _process_part(colour)
        if colour.look is not None:
            return self._seen(colour, colour.look)
        if colour.kind in {ColourKind.GRADIENT, ColourKind.DEVICEN} or colour.paint is None:
            return self._without_paint(colour)
        paint = colour.paint
        best = self._closest(paint)
        if best is not None and best[1] <= self._allowed(best[0]) + 1e-6:
            name, off, _ = best
            return Nearest(
                colour=colour, standing=ColourStanding.MAPPED, brand=name, distance_percent=off
            )
        if colour.is_white:
            return Nearest(colour=colour, standing=ColourStanding.KEPT, advice="paper white stays")
        # Before tints: 84 20 60 30 beside 85 20 60 30 is a slip, not a tint of 99 %.
        if best is not None and best[1] <= self._near:
            name, off, other = best
            return Nearest(
                colour=colour,
                standing=ColourStanding.NEAR_MISS,
                brand=name,
                distance_percent=off,
                advice=f"write it as {other}, or widen 'within' for {name}",
            )
        tint = self._tint(paint)
        if tint is not None:
            return Nearest(
                colour=colour, standing=ColourStanding.TINT, brand=tint[0], tint_percent=tint[1]
            )
        if colour.is_black_only:
            return Nearest(colour=colour, standing=ColourStanding.KEPT, advice="black alone stays")
        if colour.is_grey:
            return _grey(colour)
        for name, other in self._paints:
            if is_rewritten(paint, other):
                return Nearest(
                    colour=colour,
                    standing=ColourStanding.NEAR_MISS,
                    brand=name,
                    advice=f"programs make it of {other}: add it to 'in_artwork' of {name}",
                )
        return self._unknown(colour, best)

    def _seen(self, colour: ArtworkColour, look: Lab) -> Nearest:
        """Say which brand colour one is that a profile, or CIELAB, gives a look of its own."""
        found = self._by_look.of(look, colour.numbers)
        if found is not None:
            name, tint = self._paints[found.index][0], found.tint
            if tint == 100:
                return Nearest(colour=colour, standing=ColourStanding.MAPPED, brand=name)
            tint = round(tint, 2)
            return Nearest(
                colour=colour, standing=ColourStanding.TINT, brand=name, tint_percent=tint
            )
        if colour.is_grey:
            return _grey(colour)
        near = self._by_look.near(look, self._near)
        if near is None:
            return Nearest(colour=colour, standing=ColourStanding.UNKNOWN, advice=_advice(colour))
        name, other = self._paints[near[0]]
        return Nearest(
            colour=colour,
            standing=ColourStanding.NEAR_MISS,
            brand=name,
            advice=f"it looks {near[1]:.1f} ΔE00 off {other}: choose that, or widen 'within' for "
            f"{name}",
        )

    def own_colours(self, colour: ArtworkColour) -> tuple[ArtworkColour, ...]:
        parts = list(dict.fromkeys(colour.parts or (colour,)))
        if colour.kind is not ColourKind.GRADIENT:
            return tuple(parts)
        brand = {one for one in parts if self.of(one).standing is ColourStanding.MAPPED}
        for one in list(parts):
            if one not in brand and _is_mixture(one, [it for it in parts if it != one], brand):
                parts.remove(one)
        return tuple(parts)

    def _without_paint(self, colour: ArtworkColour) -> Nearest:
        if colour.kind is ColourKind.IMAGE:
            inside = [self.of(part) for part in colour.parts]
            known = next(
                (one.brand for one in inside if one.standing is ColourStanding.MAPPED), None
            )
            if known is not None:
                return Nearest(
                    colour=colour,
                    standing=ColourStanding.MAPPED,
                    brand=known,
                    advice=f"its colour table holds {known}",
                )
            return Nearest(
                colour=colour, standing=ColourStanding.KEPT, advice="pictures stay as they are"
            )
        if colour.is_white:
            return Nearest(colour=colour, standing=ColourStanding.KEPT, advice="paper white stays")
        named = [name for name, amount in colour.inks or () if amount > 0]
        brands = {p.name: n for n, p in self._paints if p.kind is PaintKind.SPOT}
        carried = [brands[name] for name in named if name in brands]
        if carried:
            return Nearest(colour=colour, standing=ColourStanding.MAPPED, brand=carried[0])
        if colour.parts:
            parts = [self.of(part) for part in self.own_colours(colour)]
            worst = max(parts, key=lambda part: list(ColourStanding).index(part.standing))
            if worst.standing in {ColourStanding.MAPPED, ColourStanding.TINT, ColourStanding.KEPT}:
                known = next((part.brand for part in parts if part.brand), None)
                return Nearest(
                    colour=colour,
                    standing=ColourStanding.MAPPED if known else ColourStanding.KEPT,
                    brand=known,
                )
            return worst.model_copy(update={"colour": colour})
        if colour.is_grey:
            return _grey(colour)
        return Nearest(colour=colour, standing=ColourStanding.UNKNOWN, advice=_advice(colour))

    def _allowed(self, name: str) -> float:
        return (
            self._within if isinstance(self._within, int | float) else self._within.get(name, 0.5)
        )

    def _closest(self, paint: Paint) -> tuple[str, float, Paint] | None:
        found = [
            (name, off, other)
            for name, other in self._paints
            if (off := _distance(paint, other)) is not None
        ]
        return min(found, key=lambda one: one[1], default=None)

    def _tint(self, paint: Paint) -> tuple[str, float] | None:
        for name, other in self._paints:
            if other.kind is not paint.kind or other.name != paint.name:
                continue
            if paint.kind is PaintKind.SPOT:
                return name, paint.values[0]
            if paint.kind is PaintKind.LAB:
                continue
            share = tint_share(paint, other)
            if share is not None:
                return name, round(100 * share, 2)
        return None

    def _unknown(self, colour: ArtworkColour, best: tuple[str, float, Paint] | None) -> Nearest:
        return Nearest(
            colour=colour,
            standing=ColourStanding.UNKNOWN,
            brand=best[0] if best is not None else None,
            distance_percent=best[1] if best is not None else None,
            advice="add it to the order's colours, or keep it as it is in the artwork",
        )


def _grey(colour: ArtworkColour) -> Nearest:
    return Nearest(
        colour=colour,
        standing=ColourStanding.KEPT,
        advice="a black or grey: 'neutrals' of the order says what it becomes",
    )


def _is_mixture(
    colour: ArtworkColour, others: Sequence[ArtworkColour], brand: Collection[ArtworkColour]
) -> bool:
    """Whether a colour is a mixture of two others, one of them a brand colour."""
    paints = {
        one: paint
        for one in (colour, *others)
        if (paint := one.paint or one.numbers) is not None
        and one.kind is colour.kind
        and paint.kind in _BLENDED
    }
    if colour not in paints:
        return False
    numbers = {one: device_numbers(paint) for one, paint in paints.items()}
    return any(
        is_between(numbers[colour], numbers[one], numbers[other])
        for one in brand
        if one in numbers
        for other in others
        if other in numbers and other != one
    )


def _advice(colour: ArtworkColour) -> str:
    """Return what to do about a colour that no order can name."""
    if colour.numbers is None:
        return "it is no plain colour: convert it to CMYK or a spot in the artwork, or leave it"
    return (
        "its profile makes it none of the order's colours: name it under 'colours' or 'keep', or, "
        "where its numbers were typed as they stand, give its piece 'profiled: plain'"
    )


def _distance(one: Paint, other: Paint) -> float | None:
    """Return the largest difference of one component in percent of full scale, same kinds only."""
    if one.kind is not other.kind or one.name != other.name:
        return None
    full = 2.55 if one.kind is PaintKind.RGB else 1.0
    off = max(abs(a - b) for a, b in zip(one.values, other.values, strict=True)) / full
    return round(off, 4)
