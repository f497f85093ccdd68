"""Pages and groups that mix their colours in another kind than the device prints.

A transparency group can name the colour space that everything in it is converted to before it is
mixed (ISO 32000-2, 11.4.7 and 11.6.6). Vector editors and drawing libraries write RGB for every
page, and with it a press prints other inks than the builds, opaque or not. Where nothing there
rests on it, the group names the device's own space in the copy; else nobody can know the inks.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from copy import copy
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pikepdf

from inkaccord.artwork.marks.mark import Mark
from inkaccord.artwork.marks.reader import marks_of
from inkaccord.artwork.proof.group_proof import GroupProof, prove_groups
from inkaccord.artwork.roles import Role
from inkaccord.artwork.swaps import Swap
from inkaccord.artwork.taking_up import PICTURES_MATCHED, OrderSays, taken_up
from inkaccord.colour.builds import Drive
from inkaccord.colour.paints import PaintKind
from inkaccord.diagnostics import Diagnostic, Place, error, note
from inkaccord.pdf.colours.colours import ArtworkColour, ColourKind
from inkaccord.pdf.colours.spaces import SpaceKind
from inkaccord.pdf.entries import objgen
from inkaccord.pdf.groups import drawn_from, group_holders, mixed_in
from inkaccord.pdf.opening import open_artwork, pdf_bytes
from inkaccord.pdf.writing import save_as_packed
from inkaccord.words import joined

MIXED = {
    "cmyk": "mixed-in-cmyk",
    "rgb": "mixed-in-rgb",
    "gray": "mixed-in-gray",
}
"""The finding for what a page mixes its colours in, though its device prints in another kind."""
INKS_NOT_KNOWN = frozenset(MIXED.values())
"""The findings that leave open what a piece prints in."""
_OWN = {
    Drive.CMYK: {ColourKind.CMYK, ColourKind.GRAY, ColourKind.SPOT, ColourKind.DEVICEN},
    Drive.RGB: {ColourKind.RGB, ColourKind.GRAY},
}
"""Colours that a device prints as their numbers say."""
_SAME_IN_BOTH = frozenset({"Multiply", "Darken"})
"""Blend modes that lay inks upon each other in CMYK as they darken in RGB. The others treat black
ink as a fourth colour (11.3.5): black screened over cyan is cyan in RGB, and bare paper in CMYK."""


@dataclass(frozen=True, slots=True)
class _Obstacle:
    """Why a page's groups can't be given the device's own space."""

    why: str
    place: Place
    kind: str
    otherwise: str = ""
    """What can be done about it in the order, or by the command."""


def mend_groups(
    source: Path | bytes,
    drive: Drive,
    *,
    says: OrderSays | None = None,
) -> tuple[bytes | None, tuple[Diagnostic, ...]]:
    """Return a file whose groups mix in what the device is driven in, and what is to be said.

    No file where nothing was changed. A page that can't be mended without another look gets an
    error (``mixed-in-rgb``, ``mixed-in-cmyk``, ``mixed-in-gray``) and keeps its groups. Soft masks
    are never touched: their group's space says what is light.

    Raises
    ------
    FileError
        When the file can't be read or may not be changed.
    """
    before = pdf_bytes(source)
    with open_artwork(before, changing=True) as pdf:
        pages = _pages_with_groups(pdf, drive)
        if not pages:
            return None, ()
        obstacles, mended = _judge(pdf, pages, drive, says)
        kinds = sorted({kind for number in mended for kind in pages[number]})
        own = pikepdf.Name.DeviceCMYK if drive is Drive.CMYK else pikepdf.Name.DeviceRGB
        for number in mended:
            for holder in group_holders(pdf.pages[number - 1]):
                if _other_kind(holder, drive):
                    if holder["/Group"].is_indirect:  # and another page's, perhaps
                        holder["/Group"] = pdf.make_indirect(copy(holder["/Group"]))
                    holder["/Group"]["/CS"] = own
        after = save_as_packed(pdf) if mended else None
    told = [_unknown(one, drive) for one in obstacles]
    if after is None:
        return None, tuple(told)
    proof = prove_groups(before, after, mended, str(own))
    if not proof.passed:
        return None, (*told, *_unproved(mended, kinds, proof, drive))
    return after, (*told, _mended(mended, kinds, drive))


def drive_of(swaps: Sequence[Swap]) -> Drive:
    """Return what a copy is printed in, by what its colours become."""
    in_rgb = swaps and all(swap.new.kind is PaintKind.RGB for swap in swaps)
    return Drive.RGB if in_rgb else Drive.CMYK


# -- looking ----------------------------------------------------------------------------------


def _pages_with_groups(pdf: pikepdf.Pdf, drive: Drive) -> dict[int, set[str]]:
    """Return the pages with groups of another kind than the device's, and those kinds."""
    found: dict[int, set[str]] = {}
    for number, page in enumerate(pdf.pages, start=1):
        kinds = {_other_kind(holder, drive) for holder in group_holders(page)} - {""}
        if kinds:
            found[number] = kinds
    return found


def _other_kind(holder: Any, drive: Drive) -> str:
    """Return what kind of colour a group mixes in; nothing if that is the device's own."""
    kind, family = mixed_in(holder)
    return "" if kind is SpaceKind(drive.value) else family


# -- judging ----------------------------------------------------------------------------------


def _judge(
    pdf: pikepdf.Pdf,
    pages: dict[int, set[str]],
    drive: Drive,
    says: OrderSays | None,
) -> tuple[list[_Obstacle], list[int]]:
    """Return what stands in the way, the first of each page, and the pages that can be mended.

    A page with nothing in the device's own kind of colour is neither: whatever stands there is
    converted once, groups or not.
    """
    obstacles: list[_Obstacle] = []
    mended: list[int] = []
    staying: list[int] = []
    marks: dict[int, list[Mark]] = {number: [] for number in pages}
    for mark in marks_of(pdf):
        if mark.page in marks:
            marks[mark.page].append(mark)
    for number, kinds in pages.items():
        own = _OWN[drive] - ({ColourKind.GRAY} if "gray" in kinds else set())
        has_own = any(_is_of(mark.colour, own) for mark in marks[number])
        kind = "gray" if "gray" in kinds else min(kinds)
        found = _obstacle(pdf.pages[number - 1], marks[number], kind, drive, says)
        if found is not None:
            staying.append(number)
            obstacles += [found] if has_own else []
        elif has_own:
            mended.append(number)
    holders = {it: {objgen(one) for one in group_holders(pdf.pages[it - 1])} for it in pages}
    for other in staying:
        for number in [it for it in mended if holders[it] & holders[other]]:
            mended.remove(number)
            staying.append(number)
            why = f"a form on it lies on page {other} too, where its colours rest on that space"
            obstacles.append(_Obstacle(why, Place(page=number), min(pages[number])))
    return obstacles, mended


def _obstacle(
    page: pikepdf.Page, marks: list[Mark], kind: str, drive: Drive, says: OrderSays | None
) -> _Obstacle | None:
    here = Place(page=page.index + 1)
    if kind == "gray":
        return _Obstacle("colours lie in what is to be shown in gray", here, kind)
    default = "/DefaultCMYK" if drive is Drive.CMYK else "/DefaultRGB"
    if any(default in one for one in drawn_from(page)):
        return _Obstacle("it puts a colour profile in place of plain colour", here, kind)
    odd = next((mark for mark in marks if mark.blend_modes - _SAME_IN_BOTH), None)
    if odd is not None:
        mode = min(odd.blend_modes - _SAME_IN_BOTH)
        place = Place(page=odd.page, box_mm=odd.box.in_mm)
        why = f"{_article(odd.role)} ({odd.colour}) is laid on it in the blend mode '{mode}'"
        return _Obstacle(why, place, kind)
    mark = _mixed_with_others(marks, drive)
    if mark is None:
        return None
    place = Place(page=mark.page, box_mm=mark.box.in_mm)
    why = f"{_article(mark.role)} ({mark.colour}) is see-through, or lies under something that is"
    return _Obstacle(why, place, kind, _answer(marks, drive, says) or _otherwise(mark))


def _answer(marks: list[Mark], drive: Drive, says: OrderSays | None) -> str | None:
    """Return how an order can take up what is of another kind than the device's on a page."""
    if says is None:
        return None
    others = [mark for mark in marks if not _is_of(mark.colour, _OWN[drive], every=True)]
    colours = {part: None for mark in others for part in (mark.colour, *mark.colour.parts)
               if not part.is_white and not _is_of(part, _OWN[drive])}  # fmt: skip
    said = taken_up(list(colours), says)
    pictures = any(mark.role is Role.IMAGE for mark in others) and not says.translates
    matched = (
        f"or have pictures matched to the pair: paste\n{PICTURES_MATCHED}" if pictures else None
    )
    return "\n".join(filter(None, (said, matched))) or None


def _mixed_with_others(marks: list[Mark], drive: Drive) -> Mark | None:
    """Return the first mark of another kind of colour that is mixed with anything, paper too."""
    others: list[Mark] = []
    for mark in marks:
        clear = mark.see_through or (mark.picture is not None and mark.picture.soft_mask)
        if clear:
            found = next((one for one in others if _meet(one, mark)), None)
            if found is not None:
                return found
        if not _is_of(mark.colour, _OWN[drive], every=True) and not mark.colour.is_white:
            if clear:
                return mark
            others.append(mark)
    return None


def _meet(one: Mark, other: Mark) -> bool:
    a, b = one.box, other.box
    return a.left < b.right and b.left < a.right and a.bottom < b.top and b.bottom < a.top


def _is_of(colour: ArtworkColour, kinds: set[ColourKind], *, every: bool = False) -> bool:
    """Whether a colour, or a colour of a picture or gradient (or every one), is of these kinds."""
    if colour.kind in (ColourKind.IMAGE, ColourKind.GRADIENT):
        if colour.parts:
            return (all if every else any)(_is_of(part, kinds) for part in colour.parts)
        return any(colour.text.endswith(f", {kind}") for kind in kinds)
    return colour.kind in kinds


def _otherwise(mark: Mark) -> str:
    """Return how a mark in the way would get colours of the device's own kind in the copy."""
    if mark.role is Role.IMAGE:
        return "or let the order match pictures: 'photographs: matched'"
    if mark.colour.paint is None:
        return ""
    return (
        f"or say what becomes of '{mark.colour.paint}', so that it is of the device's kind in the "
        "copy: under 'colours', or as a swap of the command"
    )


def _article(role: Role) -> str:
    return {Role.IMAGE: "a picture", Role.GRADIENT: "a gradient", Role.TEXT: "text"}.get(
        role, "a shape"
    )


# -- saying -----------------------------------------------------------------------------------


def _unknown(one: _Obstacle, drive: Drive) -> Diagnostic:
    own = drive.value.upper()
    return error(
        MIXED[one.kind],
        f"everything on the page is converted to {_named(one.kind, drive)} before it is printed in "
        f"{own}, so that its inks can't be known: {one.why}",
        place=one.place,
        hint=one.otherwise or None,
    )


def _unproved(
    pages: list[int], kinds: list[str], proof: GroupProof, drive: Drive
) -> Iterator[Diagnostic]:
    for number in pages:
        yield _unknown(_Obstacle(proof.why, Place(page=number), kinds[0]), drive)


def _mended(pages: list[int], kinds: list[str], drive: Drive) -> Diagnostic:
    kind = joined([_named(one, drive) for one in kinds])
    shown = ", ".join(map(str, pages[1:9])) + (" …" if len(pages) > 9 else "")
    return note(
        "mixing-mended",
        f"everything on the page was to be converted to {kind} before it is printed, all brand "
        f"colours with it; nothing there rests on that, so the copy says {drive.value.upper()}"
        + (f" (also on page {shown})" if len(pages) > 1 else ""),
        place=Place(page=pages[0]),
    )


def _named(kind: str, drive: Drive) -> str:
    return f"{kind.upper()} with a profile" if kind == drive.value else kind.upper()
