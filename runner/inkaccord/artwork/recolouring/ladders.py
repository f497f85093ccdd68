"""Gradients that a program wrote as a ladder of flat fills, each a little further on.

Office suites do: some 200 fills in a row, all of them mixtures of the first and the last. Such a
fill is no colour of its own, and becomes the same mixture of what the two ends become.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from inkaccord.artwork.content.reading import FillSet
from inkaccord.artwork.content.steps import ColourStep
from inkaccord.artwork.recolouring.stops import ON_LINE, apart, share_between
from inkaccord.artwork.swaps import WHITE, SwapTable
from inkaccord.colour.paints import PaintKind
from inkaccord.pdf.colours.sections import Numbers
from inkaccord.pdf.colours.spaces import DEVICE, Space, device_numbers

LEAST_COLOURS = 8
"""Fewer different colours in a row are no ladder: a few swatches may be mixtures by chance."""
LEAST_WAY = 0.1
"""How far its ends lie apart at least, in one number."""
WIDEST_STEP = 0.25
"""How much of the way between the ends one step may take."""
NEARLY_WHITE = 0.02
"""A ladder that comes so close to paper white was meant to end there."""


@dataclass(frozen=True, slots=True)
class Ladder:
    """Fills in a row that lie on the line between two colours, in their order."""

    space: Space
    ends: tuple[Numbers, Numbers]
    indices: tuple[int, ...]
    """Which of the fills are its steps."""
    colours: tuple[Numbers, ...]


def find_ladders(table: SwapTable, fills: Sequence[FillSet | None]) -> Iterator[Ladder]:
    """Yield the ladders of a content stream that begin or end with a swapped colour.

    From the swapped colour on, either way, each fill lies on the line to the last, and the next
    swapped colour, or paper white, ends it. Where the swapped colour itself is left out, the fill
    that just misses it takes its part.
    """
    steps = [_plain(fill) for fill in fills]
    solid = [i for i, step in enumerate(steps) if step is not None and _is_solid(step)]
    near = [i for i, step in enumerate(steps) if step is not None and step.remark is not None]
    taken: set[int] = set()
    for start in (*solid, *near):
        if start in taken and start in near:
            continue
        for way in (1, -1):
            ladder = _climbed(table, steps, start, way)
            if ladder is not None and not taken.issuperset(ladder.indices):
                taken.update(ladder.indices)
                yield ladder


def _plain(fill: FillSet | None) -> ColourStep | None:
    """Return the step of a plain colour, None for one behind a profile."""
    pen = fill[1].pen if fill is not None else None
    return fill[1] if fill is not None and pen is not None and pen.space.kind in DEVICE else None


def _space(step: ColourStep) -> Space:
    assert step.pen is not None  # noqa: S101 - a step that sets a colour has a pen
    return step.pen.space


def _is_solid(step: ColourStep) -> bool:
    mapped = step.pen.mapped if step.pen is not None else None
    return mapped is not None and mapped.tint == 100


def _climbed(
    table: SwapTable, steps: Sequence[ColourStep | None], start: int, way: int
) -> Ladder | None:
    """Return the ladder from a fill on, as far as it goes."""
    first = steps[start]
    assert first is not None  # noqa: S101 - only a plain colour is climbed from
    space = _space(first)
    end = _end(table, first)
    white = _white(space)
    indices, found = [start], [first]
    at = start + way
    while 0 <= at < len(steps):
        step = steps[at]
        if step is None or _space(step) is not space or _off(found[-1], end, step.numbers):
            break
        indices.append(at)
        found.append(step)
        if _is_solid(step) or step.numbers == white:
            break
        at += way
    while len({step.numbers for step in found}) >= LEAST_COLOURS:
        ends = (end, _end(table, found[-1]))
        if not any(_off(step, *ends) for step in found):
            colours = tuple(step.numbers for step in found)
            return Ladder(space, ends, tuple(indices), colours) if _climbs(ends, colours) else None
        indices.pop()
        found.pop()
    return None


def _climbs(ends: tuple[Numbers, Numbers], colours: Sequence[Numbers]) -> bool:
    shares = [0.0, *(share_between(colour, *ends)[0] for colour in colours), 1.0]
    widest = max(b - a for a, b in pairwise(shares))
    return apart(*ends) >= LEAST_WAY and widest <= WIDEST_STEP


def _off(step: ColourStep, first: Numbers, last: Numbers) -> bool:
    return share_between(step.numbers, first, last)[1] > ON_LINE


def _end(table: SwapTable, step: ColourStep) -> Numbers:
    """Return the colour that a ladder with this last step was meant to end with."""
    space = _space(step)
    if step.remark is not None:
        old = space.numbers_of(table.swaps[step.remark.swap].old)
        if old is not None:
            return old
    white = _white(space)
    return white if apart(step.numbers, white) <= NEARLY_WHITE else step.numbers


def _white(space: Space) -> Numbers:
    return device_numbers(WHITE[PaintKind(space.kind.value)])
