"""What colours every artwork holds, and which of them are brand colours."""

from collections.abc import Iterator, Sequence

from inkaccord.artwork.inventory.inventory import ColourEntry, Inventory, inventory
from inkaccord.artwork.inventory.nearest import ColourStanding, Nearest, nearest, own_colours
from inkaccord.colour.paints import Paint
from inkaccord.diagnostics import Diagnostic, Severity, note, warning
from inkaccord.errors import FileError, InkaccordError
from inkaccord.files import sha256_of
from inkaccord.foresight.checking import UNUSABLE, about_artwork
from inkaccord.foresight.converted import CODE, is_converted, said_of_conversion
from inkaccord.foresight.spelling import Misspelt, misspelt_spots
from inkaccord.order.model import Order, Photographs
from inkaccord.order.pieces import Profiled
from inkaccord.pdf.colours.colours import ArtworkColour
from inkaccord.pdf.colours.spaces import PROCESS_INKS
from inkaccord.run.bench import Bench
from inkaccord.run.collected import Collected, FoundAs, FoundColour, PieceArtwork
from inkaccord.words import counted

AREA_DPI = 150
"""Resolution at which areas are measured: a hairline counts as a pixel of 0.17 mm."""
NEAR_PERCENT = 2.5
"""How close to a brand colour, in percent of full scale, a colour is taken for a slip."""

_NAMELESS = "name it under 'colours' with an aim, or under 'keep' to leave it alone"
_PROFILED = (
    "export the artwork without profiles; or, where its colours were typed as these numbers, give "
    "the piece 'profiled: plain'"
)


def take_stock(order: Order, bench: Bench) -> Collected:
    """Take stock of every artwork."""
    artworks: list[PieceArtwork] = []
    findings: list[Diagnostic] = []
    failed: dict[str, str] = {}
    for name, piece in order.pieces.items():
        bench.progress(f"looking through {piece.artwork}")
        try:
            data = bench.artwork(name)
            found = looked_through(bench, data, piece.artwork)
        except InkaccordError as problem:
            failed[name] = UNUSABLE
            findings += about_artwork(problem, bench.place("pieces", name, "artwork"))
            continue
        artworks.append(
            PieceArtwork(
                piece=name,
                path=piece.artwork,
                sha256=sha256_of(bench.artwork_as_given(name)),
                pages=len(found.pages),
                photographs=len(found.pictures),
                colours=tuple(colour for _, colour in identify(order, name, found)),
            )
        )
        findings += found.findings
    slips = tuple(misspelt_spots(order, _spots(artworks)))
    findings += [it.finding(bench.place(*it.field)) for it in slips]
    for artwork in artworks:
        if is_converted(artwork) and CODE not in order.pieces[artwork.piece].waive:
            findings.append(
                said_of_conversion(artwork, bench.place("pieces", artwork.piece, "artwork"))
            )
            failed[artwork.piece] = "its program converted all colours when it exported"
            continue
        findings += _remarks(order, artwork, slips, bench)
    if len(artworks) == len(bench.order.pieces):  # else nobody knows what the others hold
        findings += _unused(order, artworks, slips, bench)
    return Collected(artworks=tuple(artworks), failed=failed, findings=tuple(findings))


def looked_through(bench: Bench, data: bytes, path: str) -> Inventory:
    """Return what an artwork holds. Raises FileError also where only one page can't be read."""
    known = tuple(it for colour in bench.order.colours.values() for it in colour.in_artwork)
    found = bench.recall(inventory, data, dpi=AREA_DPI, known=known, name=path)
    errors = [it for it in found.findings if it.severity is Severity.ERROR]
    if errors:
        raise FileError(errors)
    return found


def _spots(artworks: Sequence[PieceArtwork]) -> dict[str, str]:
    """Return every spot that the artworks hold, with the first file that holds it."""
    spots: dict[str, str] = {}
    for artwork in artworks:
        for found in artwork.colours:
            if found.paint is not None and found.paint.name is not None:
                spots.setdefault(found.paint.name, artwork.path)
    return spots


def identify(
    order: Order, piece: str, found: Inventory
) -> Iterator[tuple[ColourEntry, FoundColour]]:
    """Yield every colour as the order understands it, with its entry; a gradient by its stops."""
    alone = order.profiled_of(piece) is Profiled.PLAIN
    brand = {name: it.in_artwork for name, it in order.colours.items()}
    within = {name: it.within for name, it in order.colours.items()}
    entries: list[ColourEntry] = []
    shares: list[int] = []
    wholes: list[ColourEntry] = []
    for entry in found.colours:
        whole = entry.colour
        if alone:
            parts = tuple(part.by_numbers for part in whole.parts)
            whole = whole.by_numbers.model_copy(update={"parts": parts})
        own = own_colours(whole, brand, within=within)
        entries += [entry.model_copy(update={"colour": colour}) for colour in own]
        shares += [len(own)] * len(own)
        wholes += [entry] * len(own)
    judged = nearest(entries, brand, within=within, near=NEAR_PERCENT)
    for whole_entry, entry, share, said in zip(wholes, entries, shares, judged, strict=True):
        yield (
            whole_entry,
            FoundColour(
                text=entry.colour.text,
                paint=entry.colour.paint,
                found_as=_found_as(order, entry, said),
                colour=said.brand,
                tint=round(said.tint_percent or 100.0, 2),
                profiled=entry.colour.numbers is not None,
                area_mm2=round((entry.area_mm2 or 0.0) / share, 3),
                pages=tuple(page.page for page in entry.pages),
                roles=tuple(role.value for role in entry.roles),
            ),
        )


def _found_as(order: Order, entry: ColourEntry, said: Nearest) -> FoundAs:
    if said.standing in {ColourStanding.MAPPED, ColourStanding.TINT}:
        return FoundAs.BRAND
    paint = entry.colour.paint
    named = paint is not None and any(_same(paint, kept) for kept in order.keep)
    named = named or _of_kept_spots(order, entry.colour)
    if said.standing is ColourStanding.KEPT or named or entry.colour.paints_nothing:
        return FoundAs.KEPT
    return FoundAs.NEAR_MISS if said.standing is ColourStanding.NEAR_MISS else FoundAs.UNKNOWN


def _of_kept_spots(order: Order, colour: ArtworkColour) -> bool:
    """Whether a colour is a tint of a spot that stays with all its tints, alone or with others."""
    spots = {kept.name for kept in order.keep if kept == Paint.spot(kept.name or "", 100)}
    inks = {name for name, amount in colour.inks or () if amount > 0}
    return bool(inks & spots) and inks <= spots | set(PROCESS_INKS)


def _same(one: Paint, other: Paint) -> bool:
    return (
        one.kind is other.kind
        and one.name == other.name
        and all(abs(a - b) <= 0.5 for a, b in zip(one.values, other.values, strict=True))
    )


def _remarks(
    order: Order, artwork: PieceArtwork, slips: Sequence[Misspelt], bench: Bench
) -> Iterator[Diagnostic]:
    place = bench.place("pieces", artwork.piece, "artwork")
    told = {it.meant for it in slips}
    for found in artwork.colours:
        if found.paint is not None and found.paint.name in told:
            continue
        pages, roles = ", ".join(map(str, found.pages)), ", ".join(found.roles)
        where = f"page {pages}, {found.area_mm2:.0f} mm² ({roles})"
        if found.found_as is FoundAs.NEAR_MISS:
            wanted = ", ".join(it.spoken for it in order.colours[found.colour or ""].in_artwork)
            yield warning(
                "near-miss",
                f"{artwork.path} holds {found.spoken} on {where}: almost {found.colour} "
                f"({wanted}), but not it, so it stays as it is",
                place=place,
                hint=f"mend the artwork, or add '{found.text}' to "
                f"colours.{found.colour}.in_artwork",
            )
        elif found.found_as is FoundAs.UNKNOWN:
            yield warning(
                "unknown-colour",
                f"{artwork.path} holds {found.spoken} on {where}, which is no brand colour: it "
                "is printed as it stands and will look different on every pair",
                place=place,
                hint=_PROFILED if found.profiled else _NAMELESS,
            )
    if artwork.photographs and order.photographs is Photographs.KEEP:
        yield note(
            "photographs-kept",
            f"{artwork.path} holds {counted(artwork.photographs, 'picture')}, printed as they are",
            place=place,
            hint="'photographs: translate' runs them through the pairs' models",
        )


def _unused(
    order: Order, artworks: Sequence[PieceArtwork], slips: Sequence[Misspelt], bench: Bench
) -> Iterator[Diagnostic]:
    used = {colour for artwork in artworks for colour in artwork.brand_colours}
    told = {it.field[:2] for it in slips}
    for name in order.colours:
        if name not in used and ("colours", name) not in told:
            yield warning(
                "unused-colour",
                f"no artwork holds the colour '{name}'",
                place=bench.place("colours", name),
                hint="compare 'in_artwork' with what 'inkaccord colours FILE.pdf' lists",
            )
