"""What colours every artwork holds, and which of them are brand colours."""

import contextlib
from collections.abc import Iterable, Iterator, Sequence
from functools import partial

from inkaccord.artwork.advice import advised
from inkaccord.artwork.by_look import ByLook, Known
from inkaccord.artwork.inventory.inventory import ColourEntry, Inventory, inventory
from inkaccord.artwork.inventory.nearest import ColourStanding, Nearest, nearest, own_colours
from inkaccord.artwork.preflight.levels import levelled
from inkaccord.artwork.profiled import Profiled
from inkaccord.colour.paints import Paint
from inkaccord.diagnostics import Diagnostic, Place, Severity, error, warning
from inkaccord.errors import FileError, InkaccordError
from inkaccord.files import sha256_of
from inkaccord.foresight.checking import UNUSABLE, about_artwork, at_artwork
from inkaccord.foresight.converted import CODE, is_converted, said_of_conversion
from inkaccord.foresight.finishes import NOT_TAKEN, not_taken, white_and_stock
from inkaccord.foresight.remarks import remarks
from inkaccord.foresight.spelling import Misspelt, misspelt_spots
from inkaccord.order.model import Order
from inkaccord.pdf.colours.colours import ArtworkColour
from inkaccord.pdf.colours.spaces import PROCESS_INKS
from inkaccord.recall.recall import ask
from inkaccord.run.bench import Bench
from inkaccord.run.collected import (
    INKS_UNKNOWN,
    SIGNATURE_BREAKS,
    Collected,
    FoundAs,
    FoundColour,
    PieceArtwork,
)
from inkaccord.run.waivers import waived

AREA_DPI = 150
"""Resolution at which areas are measured: a hairline counts as a pixel of 0.17 mm."""
NEAR_PERCENT = 2.5
"""How close to a brand colour, in percent of full scale, a colour is taken for a slip."""
SAME_PERCENT = 0.5
"""How far a colour may lie from one that the order keeps and be that."""
_SIGNED = "signed-file"
_COMPARE = "compare 'in_artwork' with what 'inkaccord colours FILE.pdf' lists"
_NOT_TAKEN = "its vendor does not take what its artwork holds"


def take_stock(order: Order, bench: Bench) -> Collected:
    """Take stock of every artwork."""
    artworks: list[PieceArtwork] = []
    findings: list[Diagnostic] = []
    failed: dict[str, str] = {}
    unknown: set[str] = set()
    bench.recall.ahead(_lookings(order, bench))
    for name, piece in order.pieces.items():
        bench.progress(f"looking through {piece.artwork}")
        try:
            data = bench.artwork(name)
            found = looked_through(bench, data, piece.artwork)
        except InkaccordError as problem:
            failed[name] = UNUSABLE
            findings += about_artwork(problem, bench.place("pieces", name, "artwork"))
            continue
        artworks.append(_artwork_of(order, bench, name, found))
        said = levelled(found.findings, order.jobs[name].vendor.levels)
        said = [waived(it, name, piece.waive) for it in said]
        findings += said
        if any(it.severity is Severity.ERROR for it in said):
            failed[name] = _NOT_TAKEN
    slips = tuple(misspelt_spots(order, _spots(artworks)))
    findings += [it.finding(bench.place(*it.field)) for it in slips]
    for artwork in artworks:
        said, why, inks_unknown = _judged(order, bench, artwork, slips)
        findings += said
        if why:
            failed[artwork.piece] = why
        if inks_unknown:
            unknown.add(artwork.piece)
    if len(artworks) == len(bench.order.pieces):  # else nobody knows what the others hold
        findings += _unused(order, artworks, slips, bench)
    return Collected(
        artworks=tuple(artworks),
        failed=failed,
        inks_unknown=frozenset(unknown),
        findings=tuple(findings),
    )


def _artwork_of(order: Order, bench: Bench, name: str, found: Inventory) -> PieceArtwork:
    return PieceArtwork(
        piece=name,
        path=order.pieces[name].artwork,
        sha256=sha256_of(bench.artwork_as_given(name)),
        pages=len(found.pages),
        photographs=len(found.pictures),
        colours=tuple(colour for _, colour in identify(order, name, found)),
        program=found.program,
        groups=found.groups,
        signed=found.signed,
    )


def _judged(
    order: Order, bench: Bench, artwork: PieceArtwork, slips: Sequence[Misspelt]
) -> tuple[list[Diagnostic], str, bool]:
    """Return what is said of an artwork, why it can't go, and whether its inks are unknown."""
    waive = order.pieces[artwork.piece].waive
    place = bench.place("pieces", artwork.piece, "artwork")
    if is_converted(artwork) and CODE not in waive:
        said = advised([said_of_conversion(artwork, place)], artwork.program)
        return said, "its program converted all colours when it exported", False
    if artwork.signed and _SIGNED not in waive:
        said = advised([_said_of_signature(artwork, place)], artwork.program)
        return said, SIGNATURE_BREAKS, False
    findings = list(remarks(order, _but(artwork, slips), place))
    of_white = white_and_stock(order, artwork, bench)
    findings += [waived(one, artwork.piece, waive) for one in of_white]
    untaken = [it for it in not_taken(order, artwork, bench) if it.code not in waive]
    held = _held(order, artwork, bench)
    wrong = [it for it in held if it.code not in waive]
    findings += [*untaken, *(at_artwork(it, place) for it in wrong)]
    why = INKS_UNKNOWN if wrong else NOT_TAKEN if untaken else ""
    return findings, why, bool(held)


def _said_of_signature(artwork: PieceArtwork, place: Place) -> Diagnostic:
    line = f'pieces.{artwork.piece}.waive.{_SIGNED}: "why it may go"'
    return error(
        _SIGNED,
        f"{artwork.path} is signed, and any change breaks the signature",
        place=place,
        hint=f"or, if the signature may go, say so in the order: {line}",
    )


def _held(order: Order, artwork: PieceArtwork, bench: Bench) -> list[Diagnostic]:
    """Return why it can't be known in what a piece prints; the copy says what can't be made."""
    if not artwork.mixes_elsewhere(order.jobs[artwork.piece].device.drive):
        return []
    from inkaccord.prepress.foretelling import told_of_groups  # noqa: PLC0415 - slow to load

    try:
        said = told_of_groups(order, artwork, bench)
    except InkaccordError:
        return []
    return [it for it in said if it.severity is Severity.ERROR]


def looked_through(bench: Bench, data: bytes, path: str) -> Inventory:
    """Return what an artwork holds. Raises FileError also where only one page can't be read."""
    found = held_in(bench, data, path)
    errors = [it for it in found.findings if it.severity is Severity.ERROR]
    if errors:
        raise FileError(errors)
    return found


def held_in(bench: Bench, data: bytes, path: str) -> Inventory:
    """Return what can be read of what an artwork holds. Raises FileError for none."""
    return ask(bench.recall, _looking(bench, data, path))


def _looking(bench: Bench, data: bytes, path: str) -> partial[Inventory]:
    known = tuple(it for colour in bench.order.colours.values() for it in colour.in_artwork)
    return partial(inventory, data, dpi=AREA_DPI, known=known, name=path)


def _lookings(order: Order, bench: Bench) -> Iterator[partial[Inventory]]:
    for name, piece in order.pieces.items():
        with contextlib.suppress(InkaccordError):  # it is said when its turn comes
            yield _looking(bench, bench.artwork(name), piece.artwork)


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
    brand = {name: it.known_as for name, it in order.colours.items()}
    within = {name: it.within for name, it in order.colours.items()}
    entries: list[ColourEntry] = []
    shares: list[int] = []
    wholes: list[ColourEntry] = []
    for entry in found.colours:
        whole = entry.colour.by_numbers if alone else entry.colour
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
                colour=said.brand or _finish_of(order, entry.colour),
                tint=round(said.tint_percent or 100.0, 2),
                profiled=entry.colour.numbers is not None,
                look=entry.colour.profiled_look,
                shown=entry.shown,
                area_mm2=round((entry.area_mm2 or 0.0) / share, 3),
                pages=tuple(entry.pages.numbers),
                roles=tuple(role.value for role in entry.roles),
            ),
        )


def _found_as(order: Order, entry: ColourEntry, said: Nearest) -> FoundAs:
    if said.standing in {ColourStanding.MAPPED, ColourStanding.TINT}:
        return FoundAs.BRAND
    if _finish_of(order, entry.colour) is not None:
        return FoundAs.FINISH
    paint = entry.colour.paint
    named = paint is not None and any(_same(paint, kept) for kept in order.stays)
    named = named or _looks_kept(order, entry.colour) or _of_kept_spots(order, entry.colour)
    if said.standing is ColourStanding.KEPT or named or entry.colour.paints_nothing:
        return FoundAs.KEPT
    return FoundAs.NEAR_MISS if said.standing is ColourStanding.NEAR_MISS else FoundAs.UNKNOWN


def _finish_of(order: Order, colour: ArtworkColour) -> str | None:
    """Return the finish that a colour is the plate of, with nothing else in it."""
    plates = {name for name, amount in colour.inks or () if amount > 0}
    names = {order.plates.get(plate) for plate in plates}
    return next(iter(names)) if len(names) == 1 else None


def _looks_kept(order: Order, colour: ArtworkColour) -> bool:
    """Whether the order keeps a colour with a profile by what it looks like."""
    kept = [Known(index, paint, SAME_PERCENT) for index, paint in enumerate(order.keep)]
    look = colour.look
    return look is not None and ByLook(kept).of(look, colour.numbers, tints=False) is not None


def _of_kept_spots(order: Order, colour: ArtworkColour) -> bool:
    """Whether a colour is a tint of a spot that stays with all its tints, alone or with others."""
    spots = {kept.name for kept in order.stays if kept == Paint.spot(kept.name or "", 100)}
    inks = {name for name, amount in colour.inks or () if amount > 0}
    return bool(inks & spots) and inks <= spots | set(PROCESS_INKS)


def _same(one: Paint, other: Paint) -> bool:
    return (
        one.kind is other.kind
        and one.name == other.name
        and all(abs(a - b) <= SAME_PERCENT for a, b in zip(one.values, other.values, strict=True))
    )


def _but(artwork: PieceArtwork, slips: Iterable[Misspelt]) -> PieceArtwork:
    """Return an artwork without the spots of which it is told that they are spelt otherwise."""
    told = {slip.meant for slip in slips}
    colours = (it for it in artwork.colours if it.paint is None or it.paint.name not in told)
    return artwork.model_copy(update={"colours": tuple(colours)})


def _unused(
    order: Order, artworks: Sequence[PieceArtwork], slips: Sequence[Misspelt], bench: Bench
) -> Iterator[Diagnostic]:
    used = {colour for artwork in artworks for colour in artwork.brand_colours}
    finished = {name for artwork in artworks for name in artwork.finishes}
    told = {it.field[:2] for it in slips}
    for name in order.colours:
        if name not in used and ("colours", name) not in told:
            yield warning(
                "unused-colour",
                f"no artwork holds the colour '{name}'",
                place=bench.place("colours", name),
                hint=_COMPARE,
            )
    for name in order.finishes:
        if name not in finished and ("finishes", name) not in told:
            yield warning(
                "unused-finish",
                f"no artwork holds the finish '{name}'",
                place=bench.place("finishes", name),
                hint=_COMPARE,
            )
