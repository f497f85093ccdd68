"""Stage 1: what colours every artwork really holds, and which brand colours they are."""

from collections.abc import Iterator

from inkaccord.artwork.colours import ArtworkColour, ColourKind
from inkaccord.artwork.inventory import ColourEntry, Inventory, inventory
from inkaccord.artwork.paints import Paint, PaintKind
from inkaccord.artwork.swaps import SpotMode, Swap, SwapTable
from inkaccord.diagnostics import Diagnostic, note, warning
from inkaccord.files import sha256_of
from inkaccord.hooks import hookimpl
from inkaccord.order.model import Order, Photographs
from inkaccord.stages.bench import Bench
from inkaccord.stages.results import Collected, FoundAs, FoundColour, PieceArtwork

AREA_DPI = 150
"""Resolution at which areas are measured: a hairline counts as a pixel of 0.17 mm."""
NEAR_PERCENT = 2.5
"""How close to a brand colour, in percent of full scale, a colour is taken for a slip."""
_BLACK = Paint(kind=PaintKind.CMYK, values=(0, 0, 0, 100))


@hookimpl
def inkaccord_collect(order: Order, bench: Bench) -> Collected:
    """Take stock of every artwork; the same file is read once."""
    artworks: list[PieceArtwork] = []
    findings: list[Diagnostic] = []
    known: dict[str, Inventory] = {}
    table, colours = brand_table(order)
    for name, piece in order.pieces.items():
        bench.progress(f"looking through {piece.artwork}")
        data = bench.artwork(name)
        digest = sha256_of(data)
        earlier = _earlier(bench, name, digest)
        if earlier is not None:
            artworks.append(earlier)
            findings += _remarks(order, earlier, bench)
            continue
        if digest not in known:
            known[digest] = inventory(data, dpi=AREA_DPI, name=piece.artwork)
        found = known[digest]
        artwork = PieceArtwork(
            piece=name,
            path=piece.artwork,
            sha256=digest,
            pages=len(found.pages),
            photographs=len(found.pictures),
            colours=tuple(
                it for entry in found.colours for it in _identify(order, entry, table, colours)
            ),
        )
        artworks.append(artwork)
        findings += [*found.findings, *_remarks(order, artwork, bench)]
    findings += _unused(order, artworks, bench)
    return Collected(artworks=tuple(artworks), findings=tuple(findings))


def brand_table(order: Order) -> tuple[SwapTable, tuple[str, ...]]:
    """Return a table that recognises brand colours, and the colour that each of its rows means."""
    swaps, colours = [], []
    for name, it in order.colours.items():
        for paint in it.in_artwork:
            # Only recognition counts here, so what it would become plays no part.
            swaps.append(Swap(old=paint, new=_BLACK, tolerance=it.within))
            colours.append(name)
    return SwapTable(swaps, spots=SpotMode.PROCESS, near=NEAR_PERCENT), tuple(colours)


def _earlier(bench: Bench, piece: str, digest: str) -> PieceArtwork | None:
    """Return what the last run found in the same artwork, if the order is the same file still."""
    previous = bench.previous
    if previous is None or previous.order_sha256 != bench.loaded.sha256:
        return None
    for artwork in previous.artworks:
        if artwork.piece == piece and artwork.sha256 == digest:
            return artwork
    return None


def _identify(
    order: Order, entry: ColourEntry, table: SwapTable, colours: tuple[str, ...]
) -> Iterator[FoundColour]:
    """Yield an entry as the order understands it; a gradient by its stops."""
    parts = entry.colour.parts or (entry.colour,)
    for part in dict.fromkeys(parts):
        as_what, colour, tint = _what(order, part, table, colours)
        yield FoundColour(
            text=part.text,
            paint=part.paint,
            found_as=as_what,
            colour=colour,
            tint=round(tint, 2),
            area_mm2=round((entry.area_mm2 or 0.0) / len(parts), 3),
            pages=tuple(page.page for page in entry.pages),
            roles=tuple(role.value for role in entry.roles),
        )


def _what(
    order: Order, colour: ArtworkColour, table: SwapTable, colours: tuple[str, ...]
) -> tuple[FoundAs, str | None, float]:
    if colour.kind is ColourKind.IMAGE:
        return FoundAs.KEPT, None, 100.0
    paint = colour.paint
    if paint is not None:
        mapped = table.of_paint(paint)
        if mapped is not None:
            return FoundAs.BRAND, colours[mapped.swap], mapped.tint
        if colour.is_white or any(_same(paint, kept) for kept in order.keep):
            return FoundAs.KEPT, None, 100.0
        near = table.near_miss_of(paint)
        if near is not None:
            return FoundAs.NEAR_MISS, colours[near.swap], 100.0
    if colour.is_black_only or colour.paints_nothing:
        return FoundAs.KEPT, None, 100.0
    return FoundAs.UNKNOWN, None, 100.0


def _same(one: Paint, other: Paint) -> bool:
    return (
        one.kind is other.kind
        and one.name == other.name
        and all(abs(a - b) <= 0.5 for a, b in zip(one.values, other.values, strict=True))
    )


def _remarks(order: Order, artwork: PieceArtwork, bench: Bench) -> Iterator[Diagnostic]:
    place = bench.place("pieces", artwork.piece, "artwork")
    for it in artwork.colours:
        where = (
            f"page {', '.join(map(str, it.pages))}, {it.area_mm2:.0f} mm² ({', '.join(it.roles)})"
        )
        if it.found_as is FoundAs.NEAR_MISS:
            wanted = ", ".join(map(str, order.colours[it.colour or ""].in_artwork))
            yield warning(
                "near-miss",
                f"{artwork.path} holds {it.text} on {where}: almost {it.colour} ({wanted}), but "
                "not it, so it stays as it is",
                place=place,
                hint=f"mend the artwork, or add '{it.text}' to colours.{it.colour}.in_artwork",
            )
        elif it.found_as is FoundAs.UNKNOWN:
            yield warning(
                "unknown-colour",
                f"{artwork.path} holds {it.text} on {where}, which is no brand colour: it is "
                "printed as it stands and will look different on every pair",
                place=place,
                hint="name it under 'colours' with an aim, or under 'keep' to leave it alone",
            )
    if artwork.photographs and order.photographs is Photographs.KEEP:
        yield note(
            "photographs-kept",
            f"{artwork.path} holds {artwork.photographs} pictures; they stay as they are",
            place=place,
            hint="'photographs: translate' runs them through the pairs' models",
        )


def _unused(order: Order, artworks: list[PieceArtwork], bench: Bench) -> Iterator[Diagnostic]:
    used = {colour for artwork in artworks for colour in artwork.brand_colours}
    for name in order.colours:
        if name not in used:
            yield warning(
                "unused-colour",
                f"no artwork holds the colour '{name}'",
                place=bench.place("colours", name),
                hint="compare 'in_artwork' with what 'inkaccord colours FILE.pdf' lists",
            )
