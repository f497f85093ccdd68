"""Marks on a sheet: crop, fold and register marks, slug line, control swatches.

All of them lie outside every bleed and inside what the device prints. A mark that finds no room
is left out and reported; it is never moved onto a piece.
"""

from collections.abc import Iterable, Sequence
from enum import StrEnum
from typing import Annotated, NamedTuple, Self

from pydantic import Field

from inkaccord.colour.builds import Build, Drive
from inkaccord.diagnostics import Diagnostic, note
from inkaccord.drawing.canvas import REGULAR, fit_text, text_width
from inkaccord.layout.linemarks import CropMarks, LineRules, MarkLine, crop_marks, fold_marks
from inkaccord.layout.model import Item, Placement
from inkaccord.models import Frozen
from inkaccord.sizes import Box, Size
from inkaccord.units import PT_PER_MM, mm


class MarkInk(StrEnum):
    """The ink of marks."""

    BLACK = "black"
    ALL = "all"
    """Every ink at once, so that misregister shows. For presses; CMYK only."""


class ColourPatch(Frozen):
    """A control swatch to be printed in the waste."""

    label: str
    build: Build


class MarkRules(LineRules):
    """Which marks are wanted, and how they look."""

    crop: bool = True
    fold: bool = True
    register_marks: bool = False
    slug: str | None = None
    """The slug line; ``{pieces}`` and ``{side}`` stand for what the sheet shows."""
    swatches: tuple[ColourPatch, ...] = ()
    text_pt: Annotated[float, Field(gt=0)] = 6.5
    swatch_pt: Annotated[float, Field(gt=0)] = 11 * PT_PER_MM
    """Side of a control swatch: what an instrument's opening and a shaky hand ask for."""
    fewest_swatches: Annotated[int, Field(ge=1)] = 1
    """Where not even the first so many have room, there are none."""
    ink: MarkInk = MarkInk.BLACK
    drive: Drive = Drive.CMYK

    def with_slug(self, line: str | None) -> Self:
        """Return the rules with a slug line of one page's own, where there is one."""
        return self if line is None else self.model_copy(update={"slug": line})

    def showing(self, pieces: Iterable[str], side: str) -> Self:
        """Return the rules with the slug line filled in for one side of a sheet."""
        if self.slug is None:
            return self
        named = ", ".join(sorted(set(pieces)))
        text = self.slug.replace("{pieces}", named).replace("{side}", side)
        return self.model_copy(update={"slug": text})


class TextLine(Frozen):
    """A line of text in its box; upright ones read from bottom to top."""

    text: str
    box: Box
    size_pt: float
    upright: bool = False


class SwatchBox(Frozen):
    """A control swatch and where it lies; its label stands in the lower part of the box."""

    swatch: ColourPatch
    box: Box


class Missing(NamedTuple):
    """What of one side's marks found no room, the worst first; of two sides the lesser is better.

    Lines that other pieces hide count nowhere: no room round the pieces would serve them.
    """

    trims: int = 0
    """Trim lines without a mark."""
    slug: int = 0
    folds: int = 0
    """Pieces with fold or score lines that lack a mark."""
    swatches: int = 0
    targets: int = 0
    """Register marks short of the two that are needed."""
    one_ended: int = 0
    """Trim lines with a mark at one end only."""


class MarkSet(Frozen):
    """Every mark of one side of one sheet."""

    lines: tuple[MarkLine, ...] = ()
    targets: tuple[Box, ...] = ()
    """Register marks."""
    slug: TextLine | None = None
    swatches: tuple[SwatchBox, ...] = ()
    remark: TextLine | None = None
    """Why control swatches are lacking."""
    missing: Missing = Missing()
    findings: tuple[Diagnostic, ...] = ()

    @property
    def texts(self) -> tuple[TextLine, ...]:
        """The lines of text."""
        return tuple(line for line in (self.slug, self.remark) if line is not None)


TARGET_PT = 14.0
"""Width of a register mark."""
LABEL_PT = 7.0
"""Type below a control swatch: as small as a sample sheet's."""
_LABEL_ROOM_PT = 9.0
_CONTROLS_ALONE = (
    "'inkaccord controls DEVICE@STOCK' makes a small sheet of them alone; an instrument with a "
    "smaller 'aperture' needs less room"
)
_CLEAR_PT = 2.5
"""What marks keep free between each other."""
_CLEAR_WORDS_PT = 9.0
"""What stands between a line of text and the label of a swatch behind it."""


def marks_for(
    placements: Sequence[Placement],
    printable: Box,
    items: Sequence[Item],
    rules: MarkRules,
    *,
    size: Size,
    blank: Sequence[Box] = (),
) -> MarkSet:
    """Return the marks of one side.

    Parameters
    ----------
    placements
        What this side shows, seen from this side.
    printable
        What the device prints of this side.
    size
        The sheet: register marks stand on its middle lines, so that they back up.
    blank
        Pieces that have nothing on this side. Marks keep off them too.
    """
    bleeds = [*(placed.bleed for placed in placements), *blank]
    by_name = {item.name: item for item in items}
    findings: list[Diagnostic] = []
    crops = crop_marks(placements, bleeds, printable, rules) if rules.crop else CropMarks()
    lines = [*crops.lines]
    if crops.bare or crops.hidden:
        findings.append(_lines_without_marks(crops))
    lacking: list[str] = []
    if rules.fold:
        found, lacking = fold_marks(placements, by_name, bleeds, printable, rules)
        lines += found
        findings += [_left_out(what, _ROOM_HINT) for what in lacking]
    taken = [bleed.grown(rules.gap_pt) for bleed in bleeds]
    taken += [line.box.grown(_CLEAR_PT) for line in lines]
    targets: list[Box] = []
    if rules.register_marks:
        targets = _targets(size, printable, taken)
        taken += [target.grown(_CLEAR_PT) for target in targets]
        if len(targets) < 2:
            findings.append(_left_out("register marks", _ROOM_HINT))
    slug: TextLine | None = None
    if rules.slug:
        slug = _text_line(rules.slug, rules.text_pt, printable, taken)
        if slug is None:
            findings.append(_left_out("slug line", _ROOM_HINT))
        else:
            taken.append(_clear_of(slug))
    swatches = _swatches(rules, printable, taken)
    remark: TextLine | None = None
    if len(swatches) < len(rules.swatches):
        why = _lacking(len(swatches), len(rules.swatches), rules.swatch_pt)
        taken += [placed.box.grown(_CLEAR_PT) for placed in swatches]
        remark = _text_line(why, rules.text_pt, printable, taken)
        findings.append(note("mark-left-out", why, hint=_CONTROLS_ALONE))
    return MarkSet(
        lines=tuple(lines),
        targets=tuple(targets),
        slug=slug,
        swatches=tuple(swatches),
        remark=remark,
        missing=Missing(
            trims=crops.bare,
            slug=int(bool(rules.slug) and slug is None),
            folds=len(lacking),
            swatches=len(rules.swatches) - len(swatches),
            targets=max(0, 2 - len(targets)) if rules.register_marks else 0,
            one_ended=crops.one_ended,
        ),
        findings=tuple(findings),
    )


def find_room(area: Box, taken: Sequence[Box], width_pt: float, height_pt: float) -> Box | None:
    """Return the lowest, then leftmost free place of a size within an area, or None."""
    levels = sorted(
        {area.bottom, *(box.top for box in taken if area.bottom < box.top <= area.top - height_pt)}
    )
    for bottom in levels:
        if bottom + height_pt > area.top + 1e-9:
            break
        row = Box(area.left, bottom, area.right, bottom + height_pt)
        left = area.left
        for box in sorted(box for box in taken if box.meets(row, 1e-6)):
            if box.left - left >= width_pt - 1e-9:
                break
            left = max(left, box.right)
        if left + width_pt <= area.right + 1e-9:
            return Box(left, bottom, left + width_pt, bottom + height_pt)
    return None


_ROOM_HINT = "leave more room round the pieces: the vendor's 'frame'"


def _lines_without_marks(crops: CropMarks) -> Diagnostic:
    number = crops.bare + crops.hidden
    hint = "cut these by the measures of the cut plan"
    left_out = _left_out(
        f"crop marks at {number} of {crops.trims} trim lines",
        f"{hint}, or {_ROOM_HINT}" if crops.bare else hint,
    )
    if not crops.hidden:
        return left_out
    which = "them" if crops.hidden == number else f"{crops.hidden} of them"
    return left_out.model_copy(
        update={"message": f"{left_out.message}; other pieces lie at both ends of {which}"}
    )


def _left_out(what: str, hint: str) -> Diagnostic:
    return note("mark-left-out", f"no room for the {what} outside the bleeds", hint=hint)


def _lacking(placed: int, wanted: int, side_pt: float) -> str:
    """Say how many control swatches a sheet carries, and why no more."""
    what = f"{placed} of {wanted} control swatches" if placed else "no control swatches"
    return f"{what}: what is cut off has no room for {mm(side_pt):.0f} mm, which reading takes"


def _targets(size: Size, printable: Box, taken: Sequence[Box]) -> list[Box]:
    """Return register marks on the sheet's middle lines, where they have room."""
    x, y = (size.width_pt - TARGET_PT) / 2, (size.height_pt - TARGET_PT) / 2
    corners = [
        (x, printable.bottom),
        (x, printable.top - TARGET_PT),
        (printable.left, y),
        (printable.right - TARGET_PT, y),
    ]
    boxes = [Box(left, low, left + TARGET_PT, low + TARGET_PT) for left, low in corners]
    return [box for box in boxes if not any(box.meets(other) for other in taken)]


def _text_line(text: str, size_pt: float, printable: Box, taken: Sequence[Box]) -> TextLine | None:
    """Return a line of text where it has room, smaller or shorter if need be."""
    height = size_pt * 1.3
    for share in (1.0, 0.85, 0.7):  # smaller type first, then fewer words
        size = size_pt * share
        width = text_width(text, size) + 2
        box = find_room(printable, taken, width, height)
        if box is not None:
            return TextLine(text=text, box=box, size_pt=size)
        box = _find_upright(printable, taken, width, height)
        if box is not None:
            return TextLine(text=text, box=box, size_pt=size, upright=True)
    size = size_pt * 0.7
    for width in (300.0, 200.0, 120.0):
        box = find_room(printable, taken, width, height)
        if box is not None:
            return TextLine(text=fit_text(text, width - 2, size, REGULAR), box=box, size_pt=size)
    return None


def _clear_of(line: TextLine) -> Box:
    """Return what text keeps free: more at its ends, or a label there reads as its next word."""
    left, bottom, right, top = line.box.grown(_CLEAR_PT)
    more = _CLEAR_WORDS_PT - _CLEAR_PT
    if line.upright:
        return Box(left, bottom - more, right, top + more)
    return Box(left - more, bottom, right + more, top)


def _find_upright(
    area: Box, taken: Sequence[Box], length_pt: float, thickness_pt: float
) -> Box | None:
    box = find_room(_flipped(area), [_flipped(b) for b in taken], length_pt, thickness_pt)
    return None if box is None else _flipped(box)


def _flipped(box: Box) -> Box:
    return Box(box.bottom, box.left, box.top, box.right)


def _swatches(rules: MarkRules, printable: Box, taken: Sequence[Box]) -> list[SwatchBox]:
    """Return the swatches side by side in the fewest rows that the waste has room for.

    A row begins above the last one where it can: one block, and no stairs.
    """
    side, height = rules.swatch_pt, rules.swatch_pt + _LABEL_ROOM_PT
    taken = list(taken)
    waiting = list(rules.swatches)
    placed: list[SwatchBox] = []
    above = printable
    while waiting:
        for many in range(len(waiting), 0, -1):
            row = many * side, height
            box = find_room(above, taken, *row) or find_room(printable, taken, *row)
            upright = box is None and many > 1
            if upright:
                box = _find_upright(printable, taken, many * height, side)
            if box is not None:
                break
        else:
            break
        taken.append(box)
        above = printable if upright else printable._replace(left=box.left)
        for k, swatch in enumerate(waiting[:many]):
            left = box.left + (0 if upright else k * side)
            low = box.bottom + (k * height if upright else 0)
            placed.append(SwatchBox(swatch=swatch, box=Box(left, low, left + side, low + height)))
        waiting = waiting[many:]
    return placed if len(placed) >= rules.fewest_swatches else []
