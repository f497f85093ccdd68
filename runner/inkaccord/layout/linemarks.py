"""Marks that stand on the lines of pieces: where they are cut, folded and scored.

Each begins outside the bleed of its piece, and ends before any other bleed and the unprintable
edge. One that would be too short is left out.
"""

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

from pydantic import Field

from inkaccord.layout.folds import fold_lines
from inkaccord.layout.model import Axis, FoldKind, Item, Placement
from inkaccord.models import Frozen
from inkaccord.sizes import Box
from inkaccord.units import PT_PER_MM


class MarkKind(StrEnum):
    """What a line on the sheet says."""

    CROP = "crop"
    FOLD = "fold"
    SCORE = "score"


class LineRules(Frozen):
    """How marks on lines look."""

    gap_pt: Annotated[float, Field(ge=0)] = 1.5
    """From the bleed to where a mark begins."""
    length_pt: Annotated[float, Field(gt=0)] = 12.0
    shortest_pt: Annotated[float, Field(gt=0)] = 1.5 * PT_PER_MM
    """A mark that would be shorter is left out: it could not be told from a speck (a choice of
    ours, no source)."""
    line_pt: Annotated[float, Field(gt=0)] = 0.25

    @property
    def least_room_pt(self) -> float:
        """The narrowest rim beside a bleed that takes a mark."""
        return self.gap_pt + self.shortest_pt


class MarkLine(Frozen):
    """A straight mark from (x1, y1) to (x2, y2)."""

    kind: MarkKind
    x1_pt: float
    y1_pt: float
    x2_pt: float
    y2_pt: float

    @property
    def box(self) -> Box:
        """What the line covers, with a hair's width."""
        return Box(
            min(self.x1_pt, self.x2_pt),
            min(self.y1_pt, self.y2_pt),
            max(self.x1_pt, self.x2_pt),
            max(self.y1_pt, self.y2_pt),
        ).grown(0.2)


@dataclass(frozen=True)
class CropMarks:
    """The crop marks of one side, and how its trim lines are served.

    A trim line is one place where paper is cut, however many pieces lie along it.
    """

    lines: tuple[MarkLine, ...] = ()
    trims: int = 0
    """Trim lines in all."""
    bare: int = 0
    """Those without a mark, though nothing but the sheet's end is in its way."""
    hidden: int = 0
    """Those without a mark because other pieces lie at both of their ends."""
    one_ended: int = 0
    """Those with a mark at one end only, where more room would give one at both."""


def crop_marks(
    placements: Sequence[Placement], bleeds: Sequence[Box], printable: Box, rules: LineRules
) -> CropMarks:
    """Return the crop marks; ``bleeds`` are those of the placements, then what else to spare."""
    found: dict[tuple[float, ...], MarkLine] = {}
    marked: defaultdict[tuple[Axis, float], set[int]] = defaultdict(set)
    open_ends: defaultdict[tuple[Axis, float], set[int]] = defaultdict(set)
    for placed, bleed in zip(placements, bleeds, strict=False):
        for runs, at, start, way in _ends(placed.trim, bleed):
            trim = runs, round(at, 2)
            ends = marked[trim]
            tick = _tick(MarkKind.CROP, runs, at, start, way, rules)
            if not _in_the_way(tick, bleeds, rules):
                open_ends[trim].add(way)
            line = _trimmed(tick, bleeds, printable, rules)
            if line is not None:
                ends.add(way)
                found.setdefault(tuple(round(edge, 2) for edge in line.box), line)
    unmarked = [trim for trim, ends in marked.items() if not ends]
    return CropMarks(
        lines=tuple(found.values()),
        trims=len(marked),
        bare=sum(bool(open_ends[trim]) for trim in unmarked),
        hidden=sum(not open_ends[trim] for trim in unmarked),
        one_ended=sum(bool(ends) and bool(open_ends[t] - ends) for t, ends in marked.items()),
    )


def _ends(trim: Box, bleed: Box) -> Iterator[tuple[Axis, float, float, int]]:
    """Yield the ends of a piece's trim lines: which way each runs, where, and the way outward."""
    for at in (trim.bottom, trim.top):
        yield Axis.LEVEL, at, bleed.left, -1
        yield Axis.LEVEL, at, bleed.right, 1
    for at in (trim.left, trim.right):
        yield Axis.UPRIGHT, at, bleed.bottom, -1
        yield Axis.UPRIGHT, at, bleed.top, 1


def fold_marks(
    placements: Sequence[Placement],
    by_name: dict[str, Item],
    bleeds: Sequence[Box],
    printable: Box,
    rules: LineRules,
) -> tuple[list[MarkLine], list[str]]:
    """Return the marks of every fold, and in words the lines that lack one at either end.

    Copies in a row share a line across the sheet: a mark at each end of it serves them all.
    """
    found: list[MarkLine] = []
    ends_of: dict[tuple[str, MarkKind, Axis, float], set[int]] = {}
    for placed, bleed in zip(placements, bleeds, strict=False):
        for fold, at, runs in fold_lines(by_name[placed.item], placed):
            kind = MarkKind.SCORE if fold.kind is FoldKind.SCORE else MarkKind.FOLD
            served = ends_of.setdefault((placed.item, kind, runs, round(at, 2)), set())
            ends = (bleed.bottom, bleed.top) if runs is Axis.UPRIGHT else (bleed.left, bleed.right)
            for start, way in zip(ends, (-1, 1), strict=True):
                line = _trimmed(_tick(kind, runs, at, start, way, rules), bleeds, printable, rules)
                if line is not None:
                    found.append(line)
                    served.add(way)
    lacking = Counter((item, kind) for (item, kind, *_), ends in ends_of.items() if len(ends) < 2)
    lines = Counter((item, kind) for item, kind, *_ in ends_of)
    words = [
        f"{kind} marks of {item} at both ends of {count} of its {lines[item, kind]} lines"
        for (item, kind), count in lacking.items()
    ]
    return found, words


def _tick(
    kind: MarkKind, runs: Axis, at: float, start: float, way: int, rules: LineRules
) -> MarkLine:
    """Return a mark that begins at ``start`` and points outward (``way`` is −1 or 1)."""
    near = start + way * rules.gap_pt
    far = near + way * rules.length_pt
    if runs is Axis.LEVEL:
        return MarkLine(kind=kind, x1_pt=near, y1_pt=at, x2_pt=far, y2_pt=at)
    return MarkLine(kind=kind, x1_pt=at, y1_pt=near, x2_pt=at, y2_pt=far)


@dataclass(frozen=True)
class _Along:
    """A mark as it is seen along its own line."""

    level: bool
    at: float
    near: float
    far: float

    @classmethod
    def of(cls, line: MarkLine) -> "_Along":
        if line.y1_pt == line.y2_pt:
            return cls(True, line.y1_pt, line.x1_pt, line.x2_pt)
        return cls(False, line.x1_pt, line.y1_pt, line.y2_pt)

    @property
    def way(self) -> int:
        return 1 if self.far > self.near else -1

    def first_edges(self, bleeds: Sequence[Box], rules: LineRules) -> Iterator[float]:
        """Yield where the line, lengthened without end, meets a bleed before it."""
        for bleed in bleeds:
            sides = (bleed.bottom, bleed.top) if self.level else (bleed.left, bleed.right)
            if sides[0] - rules.line_pt < self.at < sides[1] + rules.line_pt:
                ends = (bleed.left, bleed.right) if self.level else (bleed.bottom, bleed.top)
                first, last = ends if self.way > 0 else ends[::-1]
                if self.way * last > self.way * self.near:
                    yield first


def _in_the_way(tick: MarkLine, bleeds: Sequence[Box], rules: LineRules) -> bool:
    return any(True for _ in _Along.of(tick).first_edges(bleeds, rules))


def _trimmed(
    tick: MarkLine, bleeds: Sequence[Box], printable: Box, rules: LineRules
) -> MarkLine | None:
    """Return the mark cut short before any bleed and the unprintable edge, or None."""
    along = _Along.of(tick)
    way, level = along.way, along.level
    sides = (printable.bottom, printable.top) if level else (printable.left, printable.right)
    if not sides[0] <= along.at <= sides[1]:
        return None
    ends = (printable.left, printable.right) if level else (printable.bottom, printable.top)
    reach = [along.far, ends[1] if way > 0 else ends[0]]
    reach += [edge - way * rules.gap_pt for edge in along.first_edges(bleeds, rules)]
    far = min(reach) if way > 0 else max(reach)
    if way * (far - along.near) < rules.shortest_pt - 1e-9:
        return None
    return tick.model_copy(update={"x2_pt": far} if level else {"y2_pt": far})
