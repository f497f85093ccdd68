"""Swapping the colours of function-based shadings, which vary in two directions.

What a calculator computes is kept to the letter, and words behind it swap its colours, so that
every edge stays where it was. A table is swapped sample by sample.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import pikepdf

from inkaccord.artwork.recolouring.conversion import (
    Conversion,
    MixedKindsError,
    convert,
    convert_stretch,
)
from inkaccord.artwork.recolouring.stops import ON_LINE, Vertex, share_between
from inkaccord.artwork.swaps import WHITE, SwapTable
from inkaccord.colour.paints import PaintKind
from inkaccord.pdf.colours.functions import Function
from inkaccord.pdf.colours.ramps import write_samples
from inkaccord.pdf.colours.sections import Numbers
from inkaccord.pdf.colours.spaces import Space, device_numbers, write_number
from inkaccord.pdf.entries import entry
from inkaccord.pdf.streams import StreamReader, deflate

LOOKED_AT = 65
"""Places in each direction at which a calculator's colours are looked at."""
MOST_COLOURS = 48
"""A calculator that gives more is no field of flat colours."""
EQUAL = 0.001
"""How far a calculator's arithmetic moves one colour."""

New = tuple[Conversion, pikepdf.Object]
"""What the colours become, and the function that gives them."""


def rewrite_field(
    pdf: pikepdf.Pdf,
    table: SwapTable,
    space: Space,
    function: Function,
    definition: Any,
    streams: StreamReader,
) -> New | None:
    """Return what a function of two variables becomes; None if nothing is swapped.

    Raises MixedKindsError.
    """
    parts = list(definition) if isinstance(definition, pikepdf.Array) else [definition]
    if len(function.grid) == 2 and not any("/Encode" in part for part in parts):
        colours = _looked_at(function, function.grid)
        made = _table(table, space, colours, function.grid)
        if made is None:
            return None
        return made, write_samples(pdf, function.domain, function.grid, made.numbers)
    colours = list(dict.fromkeys(_looked_at(function, (LOOKED_AT, LOOKED_AT))))
    swapped = _words_for(table, space, colours)
    if swapped is None:
        return None
    if any(entry(part, "/FunctionType") != 4 for part in parts):
        raise MixedKindsError("its function of two variables is built of several kinds")
    made, words = swapped
    text = f"{{ {_joined_programs(parts, streams)} {words} }}"
    return made, _calculator(pdf, function, text, made.space.components)


def _looked_at(function: Function, size: Sequence[int]) -> list[Numbers]:
    """Return the colours of an even grid, the first variable fastest."""
    (x0, x1), (y0, y1) = function.domain
    columns, rows = size
    return [
        function(x0 + (x1 - x0) * i / max(columns - 1, 1), y0 + (y1 - y0) * j / max(rows - 1, 1))
        for j in range(rows)
        for i in range(columns)
    ]


def _line(colours: Sequence[Numbers]) -> tuple[Numbers, Numbers] | None:
    """Return the ends of the straight line on which all colours lie, if there is one."""
    one = max(colours, key=lambda colour: share_between(colour, colours[0], colours[0])[1])
    other = max(colours, key=lambda colour: share_between(colour, one, one)[1])
    on_it = all(share_between(colour, one, other)[1] <= ON_LINE for colour in colours)
    return (one, other) if on_it else None


# -- tables -----------------------------------------------------------------------------------


def _table(
    table: SwapTable, space: Space, colours: Sequence[Numbers], size: Sequence[int]
) -> Conversion | None:
    alone = convert(table, space, colours)
    if alone is None:
        return None
    ends = _line(colours)
    if ends is not None and any(table.of(space.colour(end)) for end in ends):
        part = [Vertex(0, colour, stop=False) for colour in (ends[0], *colours, ends[1])]
        whole = convert_stretch(table, space, part)
        if whole is not None:
            return Conversion(whole.space, whole.numbers[1:-1], whole.used)
    _refuse_smooth(table, space, colours, size)
    return alone


def _refuse_smooth(
    table: SwapTable, space: Space, colours: Sequence[Numbers], size: Sequence[int]
) -> None:
    """Refuse a table that runs smoothly through a swapped colour: a thin line would stand there."""
    columns, rows = size
    swapped = [table.of(space.colour(colour)) is not None for colour in colours]
    for index, is_swapped in enumerate(swapped):
        row, column = divmod(index, columns)
        for step, at, count in ((1, column, columns), (columns, row, rows)):
            if not is_swapped or not 0 < at < count - 1:
                continue
            before, after = index - step, index + step
            share, off = share_between(colours[index], colours[before], colours[after])
            if not (swapped[before] or swapped[after]) and off <= ON_LINE and 0 < share < 1:
                raise MixedKindsError("its table of samples runs smoothly through a swapped colour")


# -- calculators ------------------------------------------------------------------------------


def _words_for(
    table: SwapTable, space: Space, colours: Sequence[Numbers]
) -> tuple[Conversion, str] | None:
    """Return what colours on the stack become, and the words that make them so."""
    if len(colours) <= MOST_COLOURS:
        known = [*colours, *_old_colours(table, space)]
        made = convert(table, space, known)
        return None if made is None else (made, _chain(known, made, space.components))
    if convert(table, space, colours) is None:
        return None
    ends = _line(colours)
    made = None
    if ends is not None:
        pair = [Vertex(0, ends[0], stop=True), Vertex(1, ends[1], stop=True)]
        made = convert_stretch(table, space, pair)
    if ends is None or made is None:
        raise MixedKindsError("its calculator gives colours that are no mixture of two")
    return made, _along(ends, (made.numbers[0], made.numbers[-1]))


def _old_colours(table: SwapTable, space: Space) -> list[Numbers]:
    """Return the swapped colours of a space, which may stand where nothing was looked at."""
    found = []
    for swap in table.swaps:
        numbers = space.numbers_of(swap.old)
        if numbers is not None and table.of(space.colour(numbers)) is not None:
            found.append(numbers)
    return found


def _chain(old: Sequence[Numbers], made: Conversion, count: int) -> str:
    """Return words that replace each colour by its new one; what none of them is stays."""
    drop = "pop " * count
    white = device_numbers(WHITE[PaintKind(made.space.kind.value)])
    words = "" if len(white) == count else drop + _listed(white)
    for before, after in zip(old, made.numbers, strict=True):
        if before == after:
            continue
        tests = [
            f"{write_number(value)} sub abs {write_number(EQUAL)} lt" for value in reversed(before)
        ]
        test = " exch ".join((tests[0], *(f"{one} and" for one in tests[1:])))
        words = f"{count} copy {test} {{ {drop}{_listed(after)} }} {{ {words} }} ifelse"
    return words


def _along(old: tuple[Numbers, Numbers], new: tuple[Numbers, Numbers]) -> str:
    """Return words that carry the line between two colours over to that between two others."""
    first, last = old
    weight = sum((b - a) ** 2 for a, b in zip(first, last, strict=True))
    share = [
        f"{write_number(a)} sub {(b - a) / weight:.9f} mul"
        for a, b in reversed(list(zip(first, last, strict=True)))
    ]
    words = " exch ".join((share[0], *(f"{one} add" for one in share[1:])))
    words += " dup 0 lt { pop 0 } if dup 1 gt { pop 1 } if"
    for a, b in zip(*new, strict=True):
        words += f" dup {b - a:.7f} mul {write_number(a)} add exch"
    return words + " pop"


def _listed(numbers: Numbers) -> str:
    return " ".join(write_number(number) for number in numbers)


def _joined_programs(parts: Sequence[Any], streams: StreamReader) -> str:
    """Return the words of one calculator, or of several of one value each, brought into range."""
    programs = []
    for part in parts:
        text = streams.read(part).decode("latin-1").strip()
        # A comment would take in what is written behind it.
        lines = (line.split("%")[0] for line in text.replace("\r", "\n").split("\n"))
        text = " ".join(lines).strip()
        bounds = [float(v) for v in part["/Range"]]
        pairs = list(zip(bounds[::2], bounds[1::2], strict=True))
        clip = "".join(
            f" dup {write_number(low)} lt {{ pop {write_number(low)} }} if"
            f" dup {write_number(high)} gt {{ pop {write_number(high)} }} if"
            f" {len(pairs)} 1 roll"
            for low, high in reversed(pairs)
        )
        programs.append(text[1:-1] + clip)
    if len(programs) == 1:
        return programs[0]
    return " ".join(f"2 copy {program} 3 1 roll" for program in programs) + " pop pop"


def _calculator(pdf: pikepdf.Pdf, function: Function, text: str, outputs: int) -> pikepdf.Object:
    made = pdf.make_stream(deflate(text.encode("latin-1")))
    made["/Filter"] = pikepdf.Name.FlateDecode
    made["/FunctionType"] = 4
    made["/Domain"] = pikepdf.Array([edge for pair in function.domain for edge in pair])
    made["/Range"] = pikepdf.Array([0, 1] * outputs)
    return made
