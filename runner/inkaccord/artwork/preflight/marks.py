"""Crop marks that an export set, where the bleed should be."""

from collections.abc import Iterator

from inkaccord.artwork.marks.mark import Mark
from inkaccord.artwork.preflight.case import OpenArtwork, PreflightContext
from inkaccord.artwork.preflight.rules import ArtworkRules
from inkaccord.artwork.roles import Role
from inkaccord.diagnostics import Diagnostic, warning
from inkaccord.sizes import Box
from inkaccord.units import mm

_FEWEST = 4
_WIDEST_PT = 1.5
_ASIDE_PT = 1.0
"""How far off the cut a mark may stand that means it."""


def check_marks(
    artwork: OpenArtwork, rules: ArtworkRules, _: PreflightContext
) -> Iterator[Diagnostic]:
    """``marks-in-bleed``: short lines in line with the cut, so near it that a cut may show them."""
    if rules.bleed_pt <= 0:
        return
    found = [
        mark
        for number, boxes in artwork.pages()
        for mark in artwork.on_page(number)
        if _is_crop_mark(mark, boxes.trim)
        and mark.box.meets(boxes.trim.grown(rules.bleed_pt - _ASIDE_PT))
    ]
    if len(found) < _FEWEST:
        return
    pages = sorted({mark.page for mark in found})
    yield warning(
        "marks-in-bleed",
        f"{len(found)} crop marks stand within the {mm(rules.bleed_pt):.1f} mm of bleed, where a "
        "cut that is a little off shows them"
        + (f" (on pages {', '.join(map(str, pages))})" if len(pages) > 1 else ""),
        place=artwork.place(found[0].page, found[0].box),
    )


def _is_crop_mark(mark: Mark, trim: Box) -> bool:
    """Whether a mark is a thin line outside the trim that points along one of its edges."""
    if mark.role not in (Role.STROKE, Role.FILL) or mark.box.meets(trim):
        return False
    box = mark.box
    thin, long = sorted((box.width, box.height))
    if thin > _WIDEST_PT or long < 4 * thin or long < _WIDEST_PT:
        return False
    if box.height > box.width:
        across = (box.left + box.right) / 2
        return min(abs(across - trim.left), abs(across - trim.right)) <= _ASIDE_PT
    up = (box.bottom + box.top) / 2
    return min(abs(up - trim.bottom), abs(up - trim.top)) <= _ASIDE_PT
