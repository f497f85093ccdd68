"""PDF functions of types 0, 2, 3 and 4 (ISO 32000-2, 7.10): read and evaluate."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise, product
from typing import Any, NamedTuple

import pikepdf

from inkaccord.pdf.colours.calculator import BadProgramError, parse_program, run_program
from inkaccord.pdf.colours.sections import (
    Numbers,
    Section,
    between,
    clipped,
    flat,
    moved,
    searched,
    together,
)
from inkaccord.pdf.limits import FileLimits
from inkaccord.pdf.streams import StreamReader

MAX_DEPTH = 16
SAME = 1e-6
"""Values that differ by less are one."""
NARROW = 1e-6
"""How much of a gradient stands for a value that only its end has: files hold six digits."""
_ENDS_KEPT = 4096
"""How many values of a table are kept: sections are asked for those at their ends over and over."""


@dataclass(frozen=True, slots=True)
class Function:
    """A function that can be evaluated.

    ``cut`` gives the sections between the jumps of a function of one variable. ``grid`` is the
    sample count per input of a sampled function. ``begins`` gives the values of readers
    that have others at its bounds (:func:`_stitched`).
    """

    kind: int
    domain: tuple[tuple[float, float], ...]
    outputs: int
    evaluate: Callable[[Numbers], Numbers]
    cut: Callable[[], Sequence[Section]] = tuple
    grid: tuple[int, ...] = ()
    begins: Callable[[float], Numbers] | None = None

    def __call__(self, *inputs: float) -> Numbers:
        """Return the outputs; inputs are brought into the domain."""
        return self.evaluate(
            tuple(
                min(max(v, low), high) for v, (low, high) in zip(inputs, self.domain, strict=True)
            )
        )

    def beginning(self, place: float) -> Numbers:
        """Return the value at a place; at a bound, that of the part before it."""
        if self.begins is None:
            return self(place)
        low, high = self.domain[0]
        return self.begins(min(max(place, low), high))

    def sections(self, one: float, other: float) -> list[Section]:
        """Return the sections between two inputs, in rising order, with the limits at each jump.

        Where the first or the last input has a value of its own, which is what goes on beyond a
        gradient's end, that is a section without a width, and a narrow one where all readers take
        that value: a part without a width is one that only some of them show. Raises
        BadFunctionError.
        """
        low, high = sorted((one, other))
        found = self.within(low, high)
        begin, end = self.beginning(low), self(high)
        if found and not _is_same(found[0](low), begin):
            edge = low + _narrow(found[0], low, high) * _is_same(begin, self(low))
            found[:1] = [flat(low, edge, begin), found[0].within(edge, high)]
        if not found:
            found.append(flat(high, high, end))
        elif not _is_same(found[-1](high), end):
            edge = high - _narrow(found[-1], low, high) * _is_same(end, self.beginning(high))
            found[-1:] = [found[-1].within(low, edge), flat(edge, high, end)]
        return found

    def within(self, low: float, high: float) -> list[Section]:
        """Return the sections between two inputs, but for values that stand at an end alone.

        Raises BadFunctionError.
        """
        try:
            return between(self.cut(), low, high)
        except (ArithmeticError, TypeError, ValueError) as problem:
            raise BadFunctionError(str(problem)) from problem


def _is_same(one: Numbers, other: Numbers) -> bool:
    return all(abs(a - b) <= SAME for a, b in zip(one, other, strict=False))


def _narrow(section: Section, low: float, high: float) -> float:
    return min(NARROW * (high - low), (section.high - section.low) / 2)


class BadFunctionError(ValueError):
    """A function that does not follow the standard, or one that can't be evaluated safely."""


def read_function(definition: Any, streams: StreamReader, depth: int = 0) -> Function:
    """Return a function, or an array of one-output functions as one. Raises BadFunctionError."""
    try:
        return _read(definition, streams, depth)
    except (BadFunctionError, BadProgramError) as problem:
        raise BadFunctionError(str(problem)) from problem
    except _DAMAGE as problem:
        raise BadFunctionError("a function that does not follow the standard") from problem


_DAMAGE = (
    ArithmeticError,
    AttributeError,
    IndexError,
    KeyError,
    TypeError,
    ValueError,
    pikepdf.PdfError,
)


def _read(definition: Any, streams: StreamReader, depth: int) -> Function:
    if depth > MAX_DEPTH:
        raise BadFunctionError("functions nested too deep")
    if isinstance(definition, pikepdf.Array):
        if depth:
            raise BadFunctionError("an array of functions inside a function")
        return _together([read_function(one, streams, depth + 1) for one in definition])
    if not isinstance(definition, (pikepdf.Dictionary, pikepdf.Stream)):
        raise BadFunctionError("no function")
    kind = int(definition["/FunctionType"])
    if kind in (0, 4) and not isinstance(definition, pikepdf.Stream):
        raise BadFunctionError("a function without its data")
    domain = _pairs(definition["/Domain"])
    match kind:
        case 0:
            return _sampled(definition, domain, streams)
        case 2:
            function = _exponential(definition, domain)
        case 3:
            function = _stitched(definition, domain, streams, depth)
        case 4:
            return _calculator(definition, domain, streams)
        case _:
            raise BadFunctionError(f"a function of type {kind}")
    if "/Range" in definition:
        return _ranged(function, _pairs(definition["/Range"]))
    return function


def _pairs(array: Any) -> tuple[tuple[float, float], ...]:
    values = [float(v) for v in array]
    return tuple(zip(values[::2], values[1::2], strict=True))


def _clip(values: Sequence[float], bounds: Sequence[tuple[float, float]]) -> Numbers:
    return tuple(min(max(v, low), high) for v, (low, high) in zip(values, bounds, strict=False))


def _ranged(function: Function, bounds: tuple[tuple[float, float], ...]) -> Function:
    inner, cut, begins = function.evaluate, function.cut, function.begins
    return replace(
        function,
        evaluate=lambda x: _clip(inner(x), bounds),
        cut=lambda: list(clipped(cut(), lambda values: _clip(values, bounds))),
        begins=None if begins is None else lambda x: _clip(begins(x), bounds),
    )


def _together(parts: list[Function]) -> Function:
    if not parts or any(len(part.domain) != len(parts[0].domain) for part in parts):
        raise BadFunctionError("an array of functions that do not fit together")
    first = parts[0]
    alike = all(part.grid == first.grid for part in parts)
    return Function(
        first.kind if len(parts) == 1 else -1,
        first.domain,
        sum(part.outputs for part in parts),
        lambda x: tuple(value for part in parts for value in part(*x)),
        lambda: together([part.within(*first.domain[0]) for part in parts]),
        first.grid if alike else (),
        lambda x: tuple(value for one in parts for value in one.beginning(x)),
    )


def _exponential(definition: Any, domain: tuple[tuple[float, float], ...]) -> Function:
    c0 = [float(v) for v in definition.get("/C0", [0])]
    c1 = [float(v) for v in definition.get("/C1", [1])]
    exponent = float(definition["/N"])
    if len(c0) != len(c1) or len(domain) != 1:
        raise BadFunctionError("an exponential function with unequal ends")

    def evaluate(inputs: Numbers) -> Numbers:
        x = inputs[0]
        share = x if exponent == 1 else (x**exponent if x > 0 or exponent > 0 else 0.0)
        return tuple(a + share * (b - a) for a, b in zip(c0, c1, strict=True))

    section = Section(*domain[0], lambda x: evaluate((x,)), straight=exponent == 1)
    return Function(2, domain, len(c0), evaluate, lambda: (section,))


def _stitched(
    definition: Any, domain: tuple[tuple[float, float], ...], streams: StreamReader, depth: int
) -> Function:
    parts = [read_function(one, streams, depth + 1) for one in definition["/Functions"]]
    bounds = [float(v) for v in definition.get("/Bounds", [])]
    encode = _pairs(definition["/Encode"])
    if len(parts) != len(bounds) + 1 or len(encode) < len(parts) or len(domain) != 1:
        raise BadFunctionError("a stitching function whose parts do not add up")
    edges = [domain[0][0], *bounds, domain[0][1]]

    def place(x: float, *, upper: bool = False) -> tuple[int, float]:
        index = 0
        while index < len(bounds) and (x > bounds[index] or (x == bounds[index] and not upper)):
            index += 1
        low, high = edges[index], edges[index + 1]
        e0, e1 = encode[index]
        return index, e0 if high == low else e0 + (x - low) * (e1 - e0) / (high - low)

    def evaluate(inputs: Numbers) -> Numbers:
        index, x = place(inputs[0])
        return parts[index](x)

    def cut() -> list[Section]:
        found: list[Section] = []
        reached = domain[0][0]
        for part, ends, (low, high) in zip(parts, encode, pairwise(edges), strict=False):
            visible = (max(low, reached), min(high, domain[0][1]))
            if visible[0] < visible[1]:
                found += _placed(part, ends, (low, high), visible)
                reached = visible[1]
        return found

    def begins(x: float) -> Numbers:
        # Parts that hold their upper bound, not the lower: so Ghostscript 10.00 has it (tried), and
        # shows before a gradient's start a first part without a width.
        index, inner = place(x, upper=True)
        return parts[index].beginning(inner)

    return Function(3, domain, parts[0].outputs, evaluate, cut, begins=begins)


def _placed(
    part: Function,
    encode: tuple[float, float],
    edges: tuple[float, float],
    visible: tuple[float, float],
) -> list[Section]:
    """Return the sections of one part of a stitching function, where they stand in the whole."""
    (e0, e1), (low, high) = encode, edges
    if e0 == e1:
        return [flat(*visible, part(e0))]
    inputs = [e0 + (x - low) * (e1 - e0) / (high - low) for x in visible]
    inner = part.within(*sorted(inputs))
    placed = sorted((moved(one, encode, edges) for one in inner), key=lambda one: one.low)
    return [one.within(*visible) for one in placed]


def unpack_samples(data: bytes, bits: int, count: int) -> list[int]:
    """Return ``count`` unsigned numbers of ``bits`` bits each, packed without gaps."""
    if len(data) * 8 < bits * count:
        raise BadFunctionError("a table that is too short")
    if bits == 8:
        return list(data[:count])
    if bits in (16, 24, 32):
        size = bits // 8
        return [int.from_bytes(data[i : i + size], "big") for i in range(0, count * size, size)]
    mask = (1 << bits) - 1
    found: list[int] = []
    accumulator = held = 0
    for byte in data:
        accumulator = (accumulator << 8 | byte) & 0xFFFFFFFFFF
        held += 8
        while held >= bits and len(found) < count:
            held -= bits
            found.append(accumulator >> held & mask)
        if len(found) == count:
            break
    return found


class _Samples(NamedTuple):
    """The table of a sampled function, as it is written."""

    size: tuple[int, ...]
    """Samples for each input."""
    encode: tuple[tuple[float, float], ...]
    """For each input, the places in the table at which its domain begins and ends."""
    decode: tuple[tuple[float, float], ...]
    """For each output, what its least and its greatest sample mean."""
    raw: Sequence[int]
    """Output by output, then along the first input, the second …"""
    top: float
    """The greatest sample that there can be."""


def _samples(
    definition: Any, inputs: int, bounds: tuple[tuple[float, float], ...], streams: StreamReader
) -> _Samples:
    """Return the table of a function with so many inputs. Raises BadFunctionError, FileError."""
    size = tuple(int(v) for v in definition["/Size"])
    bits = int(definition["/BitsPerSample"])
    encode = (
        _pairs(definition["/Encode"])
        if "/Encode" in definition
        else tuple((0.0, float(n - 1)) for n in size)
    )
    decode = _pairs(definition["/Decode"]) if "/Decode" in definition else bounds
    count = math.prod(size) * len(bounds)
    fits = len(size) == len(encode) == inputs and len(decode) == len(bounds)
    if not fits or min(size) < 1 or count < 1 or len(size) > 8:
        raise BadFunctionError("a sampled function whose table does not add up")
    if count > FileLimits.function_samples:
        raise BadFunctionError(
            f"a sampled function of {count} numbers; the limit function_samples is "
            f"{FileLimits.function_samples}"
        )
    if bits not in (1, 2, 4, 8, 12, 16, 24, 32):
        raise BadFunctionError(f"samples of {bits} bits")
    raw = unpack_samples(streams.read(definition), bits, count)
    return _Samples(size, encode, decode, raw, float((1 << bits) - 1))


def _sampled(
    definition: Any, domain: tuple[tuple[float, float], ...], streams: StreamReader
) -> Function:
    bounds = _pairs(definition["/Range"])
    outputs = len(bounds)
    size, encode, decode, raw, top = _samples(definition, len(domain), bounds, streams)
    strides = [math.prod(size[:i]) * outputs for i in range(len(size))]

    def at(index: Sequence[int]) -> Numbers:
        start = sum(i * stride for i, stride in zip(index, strides, strict=True))
        return tuple(
            low + raw[start + j] * (high - low) / top for j, (low, high) in enumerate(decode)
        )

    def evaluate(inputs: Numbers) -> Numbers:
        corners: list[tuple[tuple[int, float], ...]] = []
        for x, (d0, d1), (e0, e1), n in zip(inputs, domain, encode, size, strict=True):
            e = e0 if d1 == d0 else e0 + (x - d0) * (e1 - e0) / (d1 - d0)
            e = min(max(e, 0.0), n - 1.0)
            low = min(int(e), max(n - 2, 0))
            share = e - low
            corners.append(
                ((low, 1 - share), (low + 1, share)) if share and n > 1 else ((low, 1.0),)
            )
        total = [0.0] * outputs
        for corner in product(*corners):
            weight = math.prod(share for _, share in corner)
            for j, value in enumerate(at([index for index, _ in corner])):
                total[j] += weight * value
        return _clip(total, bounds)

    def cut() -> list[Section]:
        (d0, d1), (e0, e1) = domain[0], encode[0]
        if e0 == e1:
            return [flat(d0, d1, evaluate((d0,)))]
        places = (d0 + (i - e0) * (d1 - d0) / (e1 - e0) for i in range(size[0]))
        edges = sorted({d0, d1, *(x for x in places if d0 < x < d1)})
        at_place = lru_cache(_ENDS_KEPT)(lambda x: evaluate((x,)))
        level = all(
            _clip(pair, (bound, bound)) == pair for pair, bound in zip(decode, bounds, strict=True)
        )
        return [Section(a, b, at_place, straight=level, table=True) for a, b in pairwise(edges)]

    return Function(0, domain, outputs, evaluate, cut, size)


def _calculator(
    definition: Any, domain: tuple[tuple[float, float], ...], streams: StreamReader
) -> Function:
    bounds = _pairs(definition["/Range"])
    program = parse_program(streams.read(definition))

    def evaluate(inputs: Numbers) -> Numbers:
        stack: list[Any] = list(inputs)
        try:
            run_program(program, stack)
            values = [float(v) for v in stack[-len(bounds) :]]
        except (ArithmeticError, IndexError, TypeError, ValueError) as problem:
            raise BadFunctionError("a calculator function that fails") from problem
        if len(values) != len(bounds) or any(isinstance(v, complex) for v in stack):
            raise BadFunctionError("a calculator function that leaves too little")
        return _clip(values, bounds)

    evaluate(tuple(low for low, _ in domain))
    return Function(
        4, domain, len(bounds), evaluate, lambda: searched(lambda x: evaluate((x,)), *domain[0])
    )
