"""The flights of a content stream that begin or end with a swapped colour."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from inkaccord.artwork.content.reading import FillSet
from inkaccord.artwork.content.steps import ColourStep
from inkaccord.artwork.flights import Climb, climbed
from inkaccord.artwork.lines import apart
from inkaccord.artwork.mixing import WHITE
from inkaccord.artwork.swap_table import SwapTable
from inkaccord.colour.paints import PaintKind
from inkaccord.pdf.colours.sections import Numbers
from inkaccord.pdf.colours.spaces import DEVICE, Space, device_numbers

NEARLY_WHITE = 0.02
"""A flight that comes so close to paper white was meant to end there."""


@dataclass(frozen=True, slots=True)
class Flight:
    """A flight, and which of the fills are its steps."""

    space: Space
    climb: Climb
    indices: tuple[int, ...]


def find_flights(table: SwapTable, fills: Sequence[FillSet | None]) -> Iterator[Flight]:
    """Yield the flights among the fills of a content stream.

    From a swapped colour on, either way, each fill lies on the line to the last, and the next
    swapped colour, or paper white, ends it. Black leads to nothing: each grey has its own build.
    Where the swapped colour itself is left out, the fill that just misses it takes its part.
    """
    steps = [_plain(fill) for fill in fills]
    solid = [i for i, step in enumerate(steps) if step is not None and _leads(table, step)]
    near = [i for i, step in enumerate(steps) if step is not None and step.remark is not None]
    taken: set[int] = set()
    for start in (*solid, *(i for i in near if i not in taken)):
        for way in (1, -1):
            flight = _climbed(table, steps, start, way)
            if flight is not None and not taken.issuperset(flight.indices):
                taken.update(flight.indices)
                yield flight


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


def _leads(table: SwapTable, step: ColourStep) -> bool:
    mapped = step.pen.mapped if step.pen is not None else None
    return _is_solid(step) and mapped is not None and table.leads([mapped])


def _climbed(
    table: SwapTable, steps: Sequence[ColourStep | None], start: int, way: int
) -> Flight | None:
    row = _row(steps, start, way)

    def end_of(index: int, _: Numbers) -> Numbers:
        return _end(table, steps[start + way * index])

    climb = climbed((step.numbers for step in row), end_of)
    first = steps[start]
    if climb is None or first is None:
        return None
    indices = range(start, start + way * len(climb.colours), way)
    return Flight(_space(first), climb, tuple(indices))


def _row(steps: Sequence[ColourStep | None], start: int, way: int) -> Iterator[ColourStep]:
    """Yield the fills of one space from a place on, up to a swapped colour or paper white."""
    first = steps[start]
    at = start
    while 0 <= at < len(steps):
        step = steps[at]
        if step is None or first is None or _space(step) is not _space(first):
            return
        yield step
        if at != start and (_is_solid(step) or step.numbers == _white(_space(step))):
            return
        at += way


def _end(table: SwapTable, step: ColourStep | None) -> Numbers:
    """Return the colour that was meant where a flight ends with this fill."""
    assert step is not None  # noqa: S101 - only fills make a row
    space = _space(step)
    if step.remark is not None:
        old = space.numbers_of(table.swaps[step.remark.swap].old)
        if old is not None:
            return old
    white = _white(space)
    return white if apart(step.numbers, white) <= NEARLY_WHITE else step.numbers


def _white(space: Space) -> Numbers:
    return device_numbers(WHITE[PaintKind(space.kind.value)])
