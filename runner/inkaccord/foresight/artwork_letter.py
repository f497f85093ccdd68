"""What is to be told to whoever made a piece's artwork: understood, mended, to be changed."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from inkaccord.artwork.inventory.inventory import ColourEntry
from inkaccord.artwork.inventory.places import PagePicture, page_places
from inkaccord.colour.paints import grey_share
from inkaccord.diagnostics import Diagnostic, Severity
from inkaccord.errors import InkaccordError
from inkaccord.foresight.taking_stock import identify, looked_through, take_stock
from inkaccord.order.job import Job
from inkaccord.order.model import Order, Photographs
from inkaccord.order.pieces import BleedRepair
from inkaccord.pdf.boxes import PageBoxes
from inkaccord.pdf.colours.colours import ArtworkColour, ColourKind
from inkaccord.prepress.foretelling import foretell
from inkaccord.run.bench import Bench
from inkaccord.run.collected import FoundAs, FoundColour, PieceArtwork
from inkaccord.words import counted, joined

MOST_COLOURS = 8
"""How many colours are shown, the most important first."""
_OF_ARTWORK = {"wrong-trim", "wrong-page-count", "wrong-record-count"}
"""Findings that stand at other fields of a piece, and are the artwork's all the same."""
_ENDS = {0.0: "white", 1.0: "black"}
"""What the ends of the greys are called, by their share of black."""
_FIRST = {"wrong-trim", "converted-export"}
"""What has to be changed before anything else can be said of a copy."""
_RANK = {
    FoundAs.BRAND: 0,
    FoundAs.NEAR_MISS: 1,
    FoundAs.UNKNOWN: 1,
    FoundAs.KEPT: 2,
    FoundAs.FINISH: 2,
}
_MENDED_BLEED = {
    BleedRepair.MIRROR: "where bleed is missing, the rim of the page is mirrored outwards",
    BleedRepair.SCALE: "where bleed is missing, the page is enlarged until it reaches it",
}


@dataclass(frozen=True)
class LetterColour:
    """One colour of a piece, with where it stands.

    Attributes
    ----------
    name
        The brand colour that it is or nearly is; empty for others.
    written
        How the file writes it, the solid first.
    """

    found_as: FoundAs
    name: str
    written: tuple[str, ...]
    picture: PagePicture | None = None


@dataclass(frozen=True)
class ArtworkLetter:
    """What is to be told of one piece's artwork.

    Attributes
    ----------
    page
        The boxes of the first page as they are understood; None where the file can't be read.
    pages
        How many pages it has.
    pictures
        Of its first pages.
    colours
        The most important first; ``more_colours`` are not among them.
    mended
        What needs no change by anyone.
    faults
        What has to be changed, or looked at: errors first.
    """

    job: Job
    page: PageBoxes | None = None
    pages: int = 0
    pictures: tuple[PagePicture, ...] = ()
    colours: tuple[LetterColour, ...] = ()
    more_colours: int = 0
    mended: tuple[str, ...] = ()
    faults: tuple[Diagnostic, ...] = ()


@dataclass
class _Group:
    """What counts as one colour."""

    found_as: FoundAs
    name: str
    area_mm2: float = 0.0
    written: dict[str, float] = field(default_factory=dict)
    """Each way of writing it, with the tint that it stands for."""
    whole: dict[ArtworkColour, None] = field(default_factory=dict)


def artwork_letter(
    order: Order, piece: str, bench: Bench, findings: Sequence[Diagnostic]
) -> ArtworkLetter:
    """Return what is to be told of a piece's artwork.

    ``findings`` are those of the whole order; the ones about this artwork are taken. What can't be
    drawn or foretold is left out: the findings say why.
    """
    job, alone = order.jobs[piece], order.only([piece])
    collected = take_stock(alone, bench)
    said = [it for it in (*findings, *collected.findings) if _is_about(it, piece)]
    if not collected.artworks:
        given = [it for it in findings if _is_about(it, piece)]
        return ArtworkLetter(job=job, faults=_faults(job, given or said))
    found = looked_through(bench, bench.artwork(piece), job.piece.artwork)
    artwork = collected.of(piece)
    groups = sorted(
        _grouped(identify(order, piece, found)), key=lambda it: (_RANK[it.found_as], -it.area_mm2)
    )
    shown = groups[:MOST_COLOURS]
    pictures: tuple[PagePicture, ...] = ()
    places: Sequence[PagePicture | None] = [None] * len(shown)
    try:
        drawn = bench.recall(
            page_places, bench.artwork(piece), tuple(tuple(it.whole) for it in shown)
        )
        pictures, places = drawn.pages, drawn.colours
        if not any(it.code in _FIRST for it in said):
            said += foretell(order, artwork, bench)
    except InkaccordError as problem:
        said += problem.findings
    return ArtworkLetter(
        job=job,
        page=next((it.boxes for it in found.pages if it.boxes is not None), None),
        pages=len(found.pages),
        pictures=pictures,
        colours=tuple(
            LetterColour(group.found_as, group.name, _written(group.written), picture)
            for group, picture in zip(shown, places, strict=True)
        ),
        more_colours=len(groups) - len(shown),
        mended=tuple(_mended(order, artwork, job, said)),
        faults=_faults(job, _once(artwork, said)),
    )


def _once(artwork: PieceArtwork, said: Sequence[Diagnostic]) -> Sequence[Diagnostic]:
    """Return findings without the one that a colour is nobody's where its kind is refused too."""
    nameless = [it for it in artwork.colours if it.found_as is FoundAs.UNKNOWN]
    if len(nameless) > 1 or not any(it.code == "colour-kind" for it in said):
        return said
    return [it for it in said if it.code != "unknown-colour"]


def _is_about(finding: Diagnostic, piece: str) -> bool:
    where = finding.place.field or ""
    if finding.code in _OF_ARTWORK:
        return where.startswith(f"pieces.{piece}.")
    return where == f"pieces.{piece}.artwork"


def _grouped(found: Iterable[tuple[ColourEntry, FoundColour]]) -> list[_Group]:
    """Return what is to be seen, a brand colour with its tints and gradients as one."""
    groups: dict[tuple[FoundAs, str], _Group] = {}
    for entry, colour in found:
        if entry.colour.paints_nothing or entry.area_mm2 == 0:
            continue
        name, written = _named(entry.colour, colour)
        alike = written if colour.found_as is FoundAs.NEAR_MISS else name or written
        group = groups.setdefault((colour.found_as, alike), _Group(colour.found_as, name))
        group.area_mm2 += colour.area_mm2
        group.written.setdefault(written, colour.tint)
        group.whole |= dict.fromkeys((entry.colour, *entry.steps))
    return list(groups.values())


def _named(whole: ArtworkColour, colour: FoundColour) -> tuple[str, str]:
    """Return what a colour is called, if it has a name, and how the file writes it."""
    paint = colour.paint
    written = colour.spoken
    if colour.found_as in {FoundAs.BRAND, FoundAs.NEAR_MISS}:
        return colour.colour or "", written
    if whole.kind is ColourKind.IMAGE:
        return "pictures", written
    share = None if paint is None else grey_share(paint)
    return "" if share is None else _ENDS.get(round(share, 2), ""), written


def _written(texts: Mapping[str, float]) -> tuple[str, ...]:
    return tuple(sorted(texts, key=lambda text: -texts[text]))


def _mended(
    order: Order, artwork: PieceArtwork, job: Job, said: Iterable[Diagnostic]
) -> Iterator[str]:
    if carried := artwork.brand_colours:
        yield (
            f"{joined(carried)}: mixed anew for the printer and the paper, with tints and gradients"
        )
    if artwork.photographs and order.photographs is Photographs.MATCHED:
        yield f"{counted(artwork.photographs, 'picture')}: matched to the printer and the paper"
    if job.piece.bleed_repair in _MENDED_BLEED:
        yield _MENDED_BLEED[job.piece.bleed_repair]
    yield from dict.fromkeys(it.message for it in said if it.severity is Severity.NOTE)


def _faults(job: Job, said: Iterable[Diagnostic]) -> tuple[Diagnostic, ...]:
    """Return what has to be changed or looked at, errors first; what the order waives is not."""
    faults: dict[tuple[str, str], Diagnostic] = {}
    for finding in said:
        if finding.is_to_mend and finding.code not in job.piece.waive:
            faults.setdefault((finding.code, finding.message), finding)
    order = list(Severity)
    return tuple(sorted(faults.values(), key=lambda it: order.index(it.severity)))
