"""Bleed: colour that runs to a cut runs on past it."""

from __future__ import annotations

from collections.abc import Container, Iterator
from functools import reduce
from typing import NamedTuple

from inkaccord.artwork.inventory.areas import ColourMap
from inkaccord.artwork.inventory.edges import DieCut, bare_edges
from inkaccord.artwork.plates import spots_of
from inkaccord.artwork.preflight.case import OpenArtwork, PreflightContext
from inkaccord.artwork.preflight.rules import ArtworkRules
from inkaccord.diagnostics import Diagnostic, error, note
from inkaccord.pdf.boxes import BLEED_TOLERANCE_PT, PageBoxes
from inkaccord.sizes import Box
from inkaccord.units import PT_PER_MM, mm
from inkaccord.words import joined, plural

_EXACT_PT = 0.02
"""What a page's boxes are not read finer than."""
_BEYOND_PT = 3.0
_DIE = "die"
_SAME_CUT_PT = PT_PER_MM
"""How near to the trim a die line goes that is the piece's cut; the trim is but its frame then."""


class _Short(NamedTuple):
    """A cut that colour runs to without enough bleed."""

    cut: str
    length_mm: float
    reach_mm: float
    """How far past it colour goes, or the page."""
    box: Box
    page: int
    page_ends: bool = False


def check_bleed(
    artwork: OpenArtwork, rules: ArtworkRules, _: PreflightContext
) -> Iterator[Diagnostic]:
    """``no-bleed``, ``bleed-not-filled``, ``no-bleed-round-die``: colour runs on past the cut.

    ``bleed-just-short`` where it is let pass that it does so by a little less. Cuts that are short
    for the same reason are one finding. Where a die line goes round the piece, that is
    its cut; the trim is what it stands in.
    """
    if rules.bleed_pt <= 0:
        return
    alike: dict[tuple[bool, bool], list[_Short]] = {}
    let_pass: list[Diagnostic] = []
    for number, boxes in artwork.pages():
        found = artwork.maps.get(number)
        if found is None:
            yield from _unknown(artwork, rules, number, boxes)
            continue
        short: list[_Short] = []
        die = _die_cut(rules, found)
        if die is not None:
            short += _short_of_die(die, rules, found)
        if die is None or not _is_cut_by(die, boxes):
            short += (edges := list(_short_edges(rules, boxes, found)))
            let_pass += _just_short(artwork, rules, boxes, found, {it.cut for it in edges})
        for cut in short:
            alike.setdefault((cut.page_ends, cut.cut == _DIE), []).append(cut)
    for them in alike.values():
        yield _told(artwork, rules, them)
    yield from let_pass


def _unknown(
    artwork: OpenArtwork, rules: ArtworkRules, number: int, boxes: PageBoxes
) -> Iterator[Diagnostic]:
    if any(by < rules.bleed_pt - BLEED_TOLERANCE_PT for _, by in boxes.room_pt.named()):
        yield note(
            "bleed-unknown",
            "the page could not be drawn, so whether colour needs more bleed is not known",
            place=artwork.place(number, boxes.trim),
            hint="look at the edges by eye",
        )


def _die_cut(rules: ArtworkRules, found: ColourMap) -> DieCut | None:
    """Return what a die cuts out of a page, as far as its plates tell."""
    plates = {rule.plate for rule in rules.finishes if rule.cuts}
    colours = {colour for colour, _ in found.names if plates & spots_of(colour)}
    return DieCut.along(found, colours) if colours else None


def _is_cut_by(die: DieCut, boxes: PageBoxes) -> bool:
    trim = boxes.trim
    return all(abs(one - other) <= _SAME_CUT_PT for one, other in zip(die.box, trim, strict=True))


def _short_of_die(die: DieCut, rules: ArtworkRules, found: ColourMap) -> Iterator[_Short]:
    bare = die.bare(found, rules.bleed_pt)
    if bare is not None:
        yield _Short(_DIE, bare.length_mm, mm(bare.reach_pt), bare.box, found.page)


def _short_edges(rules: ArtworkRules, boxes: PageBoxes, found: ColourMap) -> Iterator[_Short]:
    room = dict(boxes.room_pt.named())
    for edge in bare_edges(found, rules.bleed_pt):
        reach, length, page = room[edge.side], edge.length_mm, found.page
        if reach < rules.bleed_pt - BLEED_TOLERANCE_PT:
            yield _Short(edge.side, length, mm(reach), edge.box, page, page_ends=True)
        else:
            yield _Short(edge.side, length, mm(edge.reach_pt), edge.box, page)


def _told(artwork: OpenArtwork, rules: ArtworkRules, short: list[_Short]) -> Diagnostic:
    """Return what is said of cuts that are short alike: those of the first page, and where else."""
    page, page_ends = short[0].page, short[0].page_ends
    here = [it for it in short if it.page == page]
    several = len(here) > 1
    least, most = (f"{by(it.reach_mm for it in here):.1f}" for by in (min, max))
    reach = least if least == most else f"{least} to {most}"
    others = sorted({it.page for it in short} - {page})
    pages = f"{plural(len(others), 'page')} {joined([str(it) for it in others[:8]])}"
    said = (
        f"colour runs to the {joined([it.cut for it in here])} cut along "
        f"{sum(it.length_mm for it in here):.0f} mm{' in all' if several else ''} "
        f"{'and the page ends' if page_ends else 'but stops'} {reach} mm past "
        f"{'them' if several else 'it'}; {mm(rules.bleed_pt):.1f} mm of bleed is asked"
        + (f" (more like it on {pages})" if others else "")
    )
    place = artwork.place(page, reduce(Box.around, (it.box for it in here)))
    if page_ends:
        return error("no-bleed", said, place=place)
    if short[0].cut == _DIE:
        return error("no-bleed-round-die", said, place=place)
    return error("bleed-not-filled", said, place=place)


def _just_short(
    artwork: OpenArtwork,
    rules: ArtworkRules,
    boxes: PageBoxes,
    found: ColourMap,
    bare: Container[str],
) -> Iterator[Diagnostic]:
    """Tell of sides whose bleed is shorter than asked by no more than what passes."""
    drawn = boxes.with_bleed(boxes.trim, rules.bleed_pt)
    has = boxes.model_copy(update={"media": drawn}).room_pt.named()
    short = {name: by for name, by in has if by < rules.bleed_pt - _EXACT_PT and name not in bare}
    if not short:
        return
    # Nothing reaches so far as this: of all colour that runs to a cut it is said where it stops.
    edges = [it for it in bare_edges(found, rules.bleed_pt + _BEYOND_PT) if it.side in short]
    if edges:
        lengths = (min(short[it.side] for it in edges), rules.bleed_pt, BLEED_TOLERANCE_PT)
        reach, asked, less = (f"{round(mm(length), 2):g} mm" for length in lengths)
        yield note(
            "bleed-just-short",
            f"colour runs {reach} past the {joined([it.side for it in edges])} cut, where the page "
            f"has no more; {asked} of bleed is asked, and up to {less} less passes",
            place=artwork.place(found.page, edges[0].box),
        )
