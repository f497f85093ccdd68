"""Gradients that a program wrote as flat fills in a row, each counted as one colour."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from inkaccord.artwork.flights import LEAST_COLOURS, climbed, may_begin
from inkaccord.artwork.marks.mark import Mark
from inkaccord.artwork.roles import Role
from inkaccord.colour.paints import PaintKind
from inkaccord.pdf.colours.colours import ArtworkColour, ColourKind
from inkaccord.pdf.colours.sections import Numbers
from inkaccord.pdf.colours.spaces import device_numbers

_PLAIN = {PaintKind.CMYK, PaintKind.RGB, PaintKind.GRAY}


def steps_of_gradients(
    marks: Sequence[Mark],
) -> tuple[dict[ArtworkColour, ArtworkColour], set[ArtworkColour]]:
    """Return which colours of a page are steps of a gradient, and that gradient; and what is not.

    A colour can be both, and is then no step. A gradient's first and last colours are its parts,
    and remain colours of their own.
    """
    steps: dict[ArtworkColour, ArtworkColour] = {}
    inside: set[int] = set()
    for flight in _flights(marks):
        first, last = marks[flight[0]].colour, marks[flight[-1]].colour
        gradient = ArtworkColour(
            kind=ColourKind.GRADIENT,
            text=f"gradient in flat steps, {first.text} to {last.text}",
            parts=(first, last),
        )
        for index in flight:
            if marks[index].colour not in (first, last):
                steps.setdefault(marks[index].colour, gradient)
                inside.add(index)
    return steps, {mark.colour for index, mark in enumerate(marks) if index not in inside}


def _flights(marks: Sequence[Mark]) -> Iterator[list[int]]:
    """Yield the flights of marks that follow each other in one place."""
    plain = [index for index, mark in enumerate(marks) if mark.role is Role.FILL]
    for kind, group in groupby(plain, lambda index: _place(marks[index])):
        row = list(group)
        if kind is None or len(row) < LEAST_COLOURS:
            continue
        colours = [_numbers(marks[index]) for index in row]
        start = 0
        for begins in map(int, may_begin(colours)):
            if begins < start:
                continue
            ahead = (colours[at] for at in range(begins, len(colours)))
            climb = climbed(ahead, lambda _, numbers: numbers)
            start = begins + 1
            if climb is not None:
                yield row[begins : begins + len(climb.colours)]
                start = begins + max(len(climb.colours) - 1, 1)


def _place(mark: Mark) -> tuple[object, ...] | None:
    paint = mark.colour.paint
    if paint is None or paint.kind not in _PLAIN:
        return None
    return mark.page, mark.where, paint.kind


def _numbers(mark: Mark) -> Numbers:
    paint = mark.colour.paint
    return device_numbers(paint) if paint is not None else ()
