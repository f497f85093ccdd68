"""The plates of finishes: do they lie with what else is on the page as the vendor wants."""

from __future__ import annotations

from collections.abc import Iterator, Set

from inkaccord.artwork.marks.mark import Mark
from inkaccord.artwork.plates import spots_of
from inkaccord.artwork.preflight.case import OpenArtwork, more_like
from inkaccord.artwork.preflight.rules import ArtworkRules, FinishRule
from inkaccord.artwork.roles import Role
from inkaccord.diagnostics import Diagnostic, warning


def check_finishes(artwork: OpenArtwork, rules: ArtworkRules) -> Iterator[Diagnostic]:
    """``finish-knocks-out``, ``finish-overprints``, ``finish-covered``: how its plate lies.

    The last goes by the boxes of what is painted, so it says what may be.
    """
    plates = {rule.plate for rule in rules.finishes}
    for rule in rules.finishes:
        if rule.overprint is None:
            continue
        wrong: list[Mark] = []
        over: list[Mark] = []
        for number, _ in artwork.pages():
            drawn: list[Mark] = []
            for mark in artwork.on_page(number):
                if rule.plate in spots_of(mark.colour):
                    drawn.append(mark)
                    if mark.overprint is not rule.overprint:
                        wrong.append(mark)
                elif rule.overprint and _covers(mark, plates):
                    over += [mark] if any(_over(mark, one) for one in drawn) else []
        yield from _said(artwork, rule, wrong, over)


def _covers(mark: Mark, plates: Set[str]) -> bool:
    """Tell whether a mark leaves out what lies under it; a finish's own plate is told of itself."""
    inks = {name for name, amount in mark.colour.inks or () if amount > 0}
    alone = bool(inks) and inks <= plates
    return not mark.overprint and not mark.colour.paints_nothing and not alone


def _over(mark: Mark, plate: Mark) -> bool:
    """Tell whether a mark lies over one in a plate; over a line only where it holds all of it."""
    if plate.role is Role.STROKE:
        return mark.box.holds(plate.box)
    return mark.role is not Role.STROKE and mark.box.meets(plate.box)


def _said(
    artwork: OpenArtwork, rule: FinishRule, wrong: list[Mark], over: list[Mark]
) -> Iterator[Diagnostic]:
    if wrong and rule.overprint:
        yield warning(
            "finish-knocks-out",
            f"a {wrong[0].role} in {rule.what} leaves out what lies under it, and is to overprint"
            + more_like(wrong),
            place=artwork.place(wrong[0].page, wrong[0].box),
            in_program=f"let everything in {rule.plate!r} overprint, fills and lines",
            hint="or let the order set it, by the finish's 'overprint'",
        )
    elif wrong:
        yield warning(
            "finish-overprints",
            f"a {wrong[0].role} in {rule.what} overprints, and is to leave out what lies under it"
            + more_like(wrong),
            place=artwork.place(wrong[0].page, wrong[0].box),
            in_program=f"switch overprint off for everything in {rule.plate!r}, fills and lines",
            hint="or let the order set it, by the finish's 'overprint'",
        )
    if over:
        yield warning(
            "finish-covered",
            f"a {over[0].role} in {over[0].colour} is painted after {rule.what}, in the same "
            "place, and does not overprint: it may leave a hole in that plate" + more_like(over),
            place=artwork.place(over[0].page, over[0].box),
            in_program=f"let it overprint, or bring what is in {rule.plate!r} to the front",
        )
