"""All colours of an order's artworks in one list, and what each is to the order."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from inkaccord.artwork.inventory.inventory import ColourEntry, Inventory
from inkaccord.artwork.inventory.nearest import ColourStanding, nearest
from inkaccord.colour.paints import Paint, PaintKind, grey_share
from inkaccord.foresight.taking_stock import NEAR_PERCENT, identify
from inkaccord.order.model import Order
from inkaccord.pdf.colours.colours import ArtworkColour
from inkaccord.run.collected import FoundAs


@dataclass(frozen=True)
class PaletteColour:
    """One colour, as artwork writes it.

    Attributes
    ----------
    brand
        The order's colour that it is, or of which it is a tint, or which it nearly is.
    tint
        Percent of that colour.
    near
        A larger colour of the artworks that it nearly is, very likely by a slip.
    """

    paint: Paint
    area_mm2: float
    pieces: tuple[str, ...]
    found_as: FoundAs
    brand: str | None
    tint: float
    near: Paint | None = None


@dataclass
class _Gathered:
    entry: ColourEntry
    found_as: FoundAs
    brand: str | None
    tint: float
    area_mm2: float
    pieces: dict[str, None]


def as_named(paint: Paint) -> Paint:
    """Return a paint as an order names it: rounding undone, a spot with all its tints."""
    spot = paint.kind is PaintKind.SPOT and paint.name is not None
    return Paint.spot(str(paint.name)) if spot else paint.rounded


def paints_of(colour: ArtworkColour) -> tuple[Paint, ...]:
    """Return what a colour consists of, as an order names it: of a gradient its stops."""
    written = (it.paint or it.numbers for it in (colour.parts or (colour,)))
    return tuple(dict.fromkeys(as_named(it) for it in written if it is not None))


def palette(order: Order, found: Mapping[str, Inventory]) -> tuple[PaletteColour, ...]:
    """Return every colour of the artworks that an order can name, the largest in area first.

    Parameters
    ----------
    found
        What the artwork of each piece holds, by the piece's name.
    """
    gathered: dict[Paint, _Gathered] = {}
    for piece, inventory in found.items():
        for entry, one in identify(order, piece, inventory):
            paint = one.paint or entry.colour.numbers
            if paint is None or grey_share(paint) == 0:
                continue
            fresh = _Gathered(entry, one.found_as, one.colour, one.tint, 0.0, {})
            whole = gathered.setdefault(as_named(paint), fresh)
            whole.area_mm2 += one.area_mm2
            whole.pieces[piece] = None
    largest = sorted(gathered.items(), key=lambda it: -it[1].area_mm2)
    return tuple(
        PaletteColour(
            paint=paint,
            area_mm2=one.area_mm2,
            pieces=tuple(one.pieces),
            found_as=one.found_as,
            brand=one.brand,
            tint=100.0 if paint.kind is PaintKind.SPOT else one.tint,
            near=_near(one, dict(largest[:number])),
        )
        for number, (paint, one) in enumerate(largest)
    )


def _near(one: _Gathered, larger: Mapping[Paint, _Gathered]) -> Paint | None:
    """Return the larger colour that one just misses; None where the order holds them for one."""
    if one.found_as.stays or one.tint != 100:
        return None
    others = {str(paint): paint for paint, it in larger.items() if _is_apart(it, one)}
    (said,) = nearest([one.entry], {name: [it] for name, it in others.items()}, near=NEAR_PERCENT)
    return others.get(said.brand or "") if said.standing is ColourStanding.NEAR_MISS else None


def _is_apart(other: _Gathered, one: _Gathered) -> bool:
    together = other.found_as is one.found_as is FoundAs.BRAND and other.brand == one.brand
    return not other.found_as.stays and not together


def names_in(order: Order, colours: Collection[PaletteColour]) -> dict[Paint, str]:
    """Return the order's name for each colour that it lists, its tints left out."""
    return {
        one.paint: one.brand
        for one in colours
        if one.brand in order.colours and one.found_as is FoundAs.BRAND and one.tint == 100
    }
