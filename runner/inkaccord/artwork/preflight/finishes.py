"""The plates of finishes: do they lie with what else is on the page as the vendor wants."""

from __future__ import annotations

from collections.abc import Iterator, Set

import numpy as np
from numpy.typing import NDArray

from inkaccord.artwork.marks.mark import Mark
from inkaccord.artwork.plates import plates_of
from inkaccord.artwork.preflight.case import (
    LESS_INK,
    OpenArtwork,
    PreflightContext,
    area_in_words,
    box_of,
    more_like,
)
from inkaccord.artwork.preflight.rules import ArtworkRules, FinishRule
from inkaccord.artwork.roles import Role
from inkaccord.diagnostics import Diagnostic, warning
from inkaccord.pdf.boxes import PageBoxes
from inkaccord.units import PT_PER_MM

_CHOKE_PT = 1.5
"""How far ink may reach past the white under it, which is drawn smaller so that no bright rim
shows (common practice, no source)."""
_IN_ORDER = "or let the order set it, by the finish's 'overprint'"


def check_finishes(artwork: OpenArtwork, rules: ArtworkRules) -> Iterator[Diagnostic]:
    """``finish-knocks-out``, ``finish-overprints``, ``finish-covered``: how its plate lies.

    A hole in a plate is measured on its rendering, where Ghostscript is installed and something
    lies over it; otherwise the boxes of what is painted tell that there may be one.
    """
    plates = {rule.plate for rule in rules.finishes}
    for rule in rules.finishes:
        if rule.overprint is None:
            continue
        wrong: list[Mark] = []
        over: list[Mark] = []
        measured: list[Diagnostic] = []
        for number, boxes in artwork.pages():
            drawn: list[Mark] = []
            upon: list[tuple[Mark, bool]] = []
            for mark in artwork.on_page(number):
                if rule.plate in plates_of(mark):
                    drawn.append(mark)
                    if mark.overprint is not rule.overprint:
                        wrong.append(mark)
                elif rule.overprint and _covers(mark, plates):
                    under = [one for one in drawn if mark.box.meets(one.box)]
                    if under:
                        upon.append((mark, any(_over(mark, one) for one in under)))
            if upon and number in artwork.holes:
                hole = artwork.holes[number].get(rule.plate)
                if hole is not None and hole.any():
                    measured.append(_hole(artwork, rule, number, boxes, hole, upon))
            else:
                over += [mark for mark, surely in upon if surely]
        yield from _said(artwork, rule, wrong, over)
        yield from measured


def _hole(
    artwork: OpenArtwork,
    rule: FinishRule,
    page: int,
    boxes: PageBoxes,
    hole: NDArray[np.bool_],
    upon: list[tuple[Mark, bool]],
) -> Diagnostic:
    """Say how large a hole is, and what makes it: of what lies there, the last that is painted."""
    box = box_of(hole, boxes)
    mark = next((it for it, _ in reversed(upon) if it.box.meets(box)), upon[-1][0])
    mm2 = boxes.media.area / PT_PER_MM**2 / hole.size * float(np.count_nonzero(hole))
    return warning(
        "finish-covered",
        f"a {mark.role} in {mark.colour} is painted over {rule.what} and does not overprint: it "
        f"leaves a hole of {area_in_words(mm2)} in that plate",
        place=artwork.place(page, box),
        in_program=f"let it overprint, or bring what is in {rule.plate!r} to the front",
    )


def check_white_under(
    artwork: OpenArtwork, rules: ArtworkRules, _: PreflightContext
) -> Iterator[Diagnostic]:
    """``ink-off-white``: where white lies under all ink, by the stock, it does.

    Measured on the plates as they print: white that was never drawn there, and white that the ink
    leaves out. Black alone passes, which is matched to nothing. An artwork without any of that
    white is told of as a whole, and nothing is said where pages can't be drawn.
    """
    whites = {rule.plate for rule in rules.finishes if rule.under_all}
    if not any(whites & plates_of(mark) for mark in artwork.shown()):
        return
    from scipy import ndimage  # noqa: PLC0415 - slow to load, seldom needed

    aside = {rule.plate for rule in rules.finishes} | {"Black"}
    pages = dict(artwork.pages())
    for raster in artwork.inks(list(pages), spots_apart=True):
        boxes = pages[raster.page]
        ink = raster.total_percent(without=aside) > 100 * LESS_INK
        holes = artwork.holes.get(raster.page, {})
        gone, drawn = np.zeros((2, *ink.shape), bool)
        for plate in whites:
            gone |= holes.get(plate, False)
            drawn |= raster.plate(plate) >= 1 - LESS_INK
        gone &= ~drawn
        rim = round(_CHOKE_PT / 72 * raster.dpi)
        bare = ink & (gone | ~ndimage.binary_dilation(drawn | gone, iterations=rim))
        bare &= _in_trim(ink.shape, boxes)
        mm2 = boxes.media.area / PT_PER_MM**2 / bare.size * float(np.count_nonzero(bare))
        if not mm2 or mm2 < rules.small_ink_area_mm2:
            continue
        yield warning(
            "ink-off-white",
            f"{area_in_words(mm2)} of ink stand on the bare stock, and colours are set here for "
            "white under all ink: there they come out otherwise",
            place=artwork.place(raster.page, box_of(bare, boxes)),
            in_program="draw the white under all ink, and let the ink on it overprint; or bring "
            "the white to the front, and let it overprint",
        )


def _in_trim(shape: tuple[int, ...], boxes: PageBoxes) -> NDArray[np.bool_]:
    """Return the pixels of a rendering that lie within the cut."""
    within = np.rot90(np.zeros(shape, bool), boxes.rotation // 90)
    height, width = within.shape
    media, trim = boxes.media, boxes.trim
    across, up = width / media.width, height / media.height
    within[
        round((media.top - trim.top) * up) : round((media.top - trim.bottom) * up),
        round((trim.left - media.left) * across) : round((trim.right - media.left) * across),
    ] = True
    return np.rot90(within, -(boxes.rotation // 90))


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
            hint=_IN_ORDER if rule.as_drawn else None,
        )
    elif wrong:
        yield warning(
            "finish-overprints",
            f"a {wrong[0].role} in {rule.what} overprints, and is to leave out what lies under it"
            + more_like(wrong),
            place=artwork.place(wrong[0].page, wrong[0].box),
            in_program=f"switch overprint off for everything in {rule.plate!r}, fills and lines",
            hint=_IN_ORDER if rule.as_drawn else None,
        )
    if over:
        yield warning(
            "finish-covered",
            f"a {over[0].role} in {over[0].colour} is painted after {rule.what}, in the same "
            "place, and does not overprint: it may leave a hole in that plate" + more_like(over),
            place=artwork.place(over[0].page, over[0].box),
            in_program=f"let it overprint, or bring what is in {rule.plate!r} to the front",
        )
