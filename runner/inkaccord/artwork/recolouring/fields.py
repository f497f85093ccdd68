"""Swapping the colours of function-based shadings, which vary in two directions.

What a calculator computes is kept to the letter, and words behind it swap its colours, so that
every edge stays where it was. A table is swapped sample by sample.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import pikepdf

from inkaccord.artwork.lines import ON_LINE, line_of, share_between
from inkaccord.artwork.mixing import WHITE
from inkaccord.artwork.recolouring.conversion import (
    Conversion,
    MixedKindsError,
    convert,
    joined,
    mapped_surface,
)
from inkaccord.artwork.swap_table import SwapTable
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
FOLLOWED = 0.02
"""How far a tint table may bend the line that words lead along."""
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
        raise MixedKindsError(
            "what it is computed by is put together of several kinds of functions"
        )
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


# -- tables -----------------------------------------------------------------------------------


def _table(
    table: SwapTable, space: Space, colours: Sequence[Numbers], size: Sequence[int]
) -> Conversion | None:
    mapped = mapped_surface(table, space, colours)
    _refuse_smooth(colours, [one is not None for one in mapped], size)
    return joined(table, space, colours, mapped)


def _refuse_smooth(
    colours: Sequence[Numbers], swapped: Sequence[bool], size: Sequence[int]
) -> None:
    """Refuse a table that runs smoothly through a swapped colour: a thin line would stand there."""
    columns, rows = size
    for index, is_swapped in enumerate(swapped):
        row, column = divmod(index, columns)
        for step, at, count in ((1, column, columns), (columns, row, rows)):
            if not is_swapped or not 0 < at < count - 1:
                continue
            before, after = index - step, index + step
            share, off = share_between(colours[index], colours[before], colours[after])
            if not (swapped[before] or swapped[after]) and off <= ON_LINE and 0 < share < 1:
                raise MixedKindsError(
                    "its table of samples runs smoothly through a colour that is to change"
                )


# -- calculators ------------------------------------------------------------------------------


def _words_for(
    table: SwapTable, space: Space, colours: Sequence[Numbers]
) -> tuple[Conversion, str] | None:
    """Return what colours on the stack become, and the words that make them so."""
    mapped = mapped_surface(table, space, colours)
    if len(colours) <= MOST_COLOURS:
        others = _old_colours(table, space)
        known = [*colours, *others]
        flat = joined(
            table, space, known, [*mapped, *(table.of(space.colour(one)) for one in others)]
        )
        return None if flat is None else (flat, _chain(known, flat, space.components))
    made = joined(table, space, colours, mapped)
    if made is None:
        return None
    ends = line_of(colours)
    pair = convert(table, space, ends) if ends is not None else None
    if ends is None or pair is None:
        raise MixedKindsError("its calculator gives colours that are no mixture of two")
    new = (pair.numbers[0], pair.numbers[1])
    if any(share_between(one, *new)[1] > FOLLOWED for one in made.numbers):
        raise MixedKindsError(
            "its calculator runs through a colour that is to change, between two others"
        )
    return made, _along(ends, new)


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
