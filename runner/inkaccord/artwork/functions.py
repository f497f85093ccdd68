"""PDF functions of types 0, 2, 3 and 4 (ISO 32000-2, 7.10): read, evaluate, sample, write."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Any

import pikepdf

from inkaccord.artwork.streams import StreamReader, deflate

MAX_DEPTH = 16
SMOOTH_SAMPLES = 33
"""Samples taken of a stretch that is no straight line (exponents, calculators)."""

Numbers = tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Function:
    """A function that can be evaluated.

    ``knots`` are the inputs between which a function of one variable is smooth: the places of
    its gradient stops. ``grid`` is the sample count per input of a sampled function.
    """

    kind: int
    domain: tuple[tuple[float, float], ...]
    outputs: int
    evaluate: Callable[[Numbers], Numbers]
    knots: Numbers = ()
    straight: bool = True
    """Whether it is a straight line between the knots."""
    grid: tuple[int, ...] = ()

    def __call__(self, *inputs: float) -> Numbers:
        """Return the outputs; inputs are brought into the domain."""
        return self.evaluate(
            tuple(
                min(max(v, low), high) for v, (low, high) in zip(inputs, self.domain, strict=True)
            )
        )

    def stops(self, low: float, high: float) -> Numbers:
        """Return the inputs of the gradient stops from ``low`` to ``high``, ends included."""
        inner = [knot for knot in self.knots if low < knot < high]
        return (low, *inner, high)

    def fine_stops(self, low: float, high: float) -> Numbers:
        """Return the stops, with more between them where the function is curved."""
        stops = self.stops(low, high)
        if self.straight:
            return stops
        fine: list[float] = []
        for a, b in zip(stops, stops[1:], strict=False):
            fine += [a + (b - a) * i / (SMOOTH_SAMPLES - 1) for i in range(SMOOTH_SAMPLES - 1)]
        return (*fine, stops[-1])


class BadFunctionError(ValueError):
    """A function that does not follow the standard, or one that can't be evaluated safely."""


def read_function(definition: Any, streams: StreamReader, depth: int = 0) -> Function:
    """Return a function, or an array of one-output functions as one. Raises BadFunctionError."""
    if depth > MAX_DEPTH:
        raise BadFunctionError("functions nested too deep")
    try:
        if isinstance(definition, pikepdf.Array):
            return _together([read_function(one, streams, depth + 1) for one in definition])
        if not isinstance(definition, (pikepdf.Dictionary, pikepdf.Stream)):
            raise BadFunctionError("no function")
        kind = int(definition["/FunctionType"])
        domain = _pairs(definition["/Domain"])
        match kind:
            case 0:
                function = _sampled(definition, domain, streams)
            case 2:
                function = _exponential(definition, domain)
            case 3:
                function = _stitched(definition, domain, streams, depth)
            case 4:
                function = _calculator(definition, domain, streams)
            case _:
                raise BadFunctionError(f"a function of type {kind}")
        if kind in (2, 3) and "/Range" in definition:
            return _ranged(function, _pairs(definition["/Range"]))
        return function
    except BadFunctionError:
        raise
    except (
        AttributeError, KeyError, IndexError, TypeError, ValueError, OverflowError,
        ZeroDivisionError, pikepdf.PdfError,
    ) as problem:  # fmt: skip
        raise BadFunctionError("a function that does not follow the standard") from problem


def _pairs(array: Any) -> tuple[tuple[float, float], ...]:
    values = [float(v) for v in array]
    return tuple(zip(values[::2], values[1::2], strict=True))


def _clip(values: Sequence[float], bounds: Sequence[tuple[float, float]]) -> Numbers:
    return tuple(min(max(v, low), high) for v, (low, high) in zip(values, bounds, strict=False))


def _ranged(function: Function, bounds: tuple[tuple[float, float], ...]) -> Function:
    inner = function.evaluate
    return Function(
        function.kind, function.domain, function.outputs,
        lambda x: _clip(inner(x), bounds), function.knots, function.straight, function.grid,
    )  # fmt: skip


def _together(parts: list[Function]) -> Function:
    if not parts or any(len(part.domain) != len(parts[0].domain) for part in parts):
        raise BadFunctionError("an array of functions that do not fit together")
    knots = sorted({knot for part in parts for knot in part.knots})
    return Function(
        parts[0].kind if len(parts) == 1 else -1,
        parts[0].domain,
        sum(part.outputs for part in parts),
        lambda x: tuple(value for part in parts for value in part.evaluate(x)),
        tuple(knots),
        all(part.straight for part in parts),
        parts[0].grid,
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

    return Function(2, domain, len(c0), evaluate, domain[0], straight=exponent == 1)


def _stitched(
    definition: Any, domain: tuple[tuple[float, float], ...], streams: StreamReader, depth: int
) -> Function:
    parts = [read_function(one, streams, depth + 1) for one in definition["/Functions"]]
    bounds = [float(v) for v in definition.get("/Bounds", [])]
    encode = _pairs(definition["/Encode"])
    if len(parts) != len(bounds) + 1 or len(encode) < len(parts) or len(domain) != 1:
        raise BadFunctionError("a stitching function whose parts do not add up")
    edges = [domain[0][0], *bounds, domain[0][1]]

    def place(x: float) -> tuple[int, float]:
        index = 0
        while index < len(bounds) and x >= bounds[index]:
            index += 1
        low, high = edges[index], edges[index + 1]
        e0, e1 = encode[index]
        return index, e0 if high == low else e0 + (x - low) * (e1 - e0) / (high - low)

    def evaluate(inputs: Numbers) -> Numbers:
        index, x = place(inputs[0])
        return parts[index](x)

    knots = set(edges)
    for index, part in enumerate(parts):
        e0, e1 = encode[index]
        low, high = edges[index], edges[index + 1]
        if e1 != e0:
            for knot in part.knots:
                share = (knot - e0) / (e1 - e0)
                if 0 < share < 1:
                    knots.add(low + share * (high - low))
    return Function(
        3, domain, parts[0].outputs, evaluate, tuple(sorted(knots)),
        straight=all(part.straight for part in parts),
    )  # fmt: skip


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
    found = []
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


def _sampled(
    definition: Any, domain: tuple[tuple[float, float], ...], streams: StreamReader
) -> Function:
    size = tuple(int(v) for v in definition["/Size"])
    bits = int(definition["/BitsPerSample"])
    bounds = _pairs(definition["/Range"])
    outputs = len(bounds)
    count = math.prod(size) * outputs
    if len(size) != len(domain) or min(size) < 1 or not 0 < count <= 16_000_000 or len(size) > 8:
        raise BadFunctionError("a sampled function whose table does not add up")
    if bits not in (1, 2, 4, 8, 12, 16, 24, 32):
        raise BadFunctionError(f"samples of {bits} bits")
    encode = (
        _pairs(definition["/Encode"])
        if "/Encode" in definition
        else tuple((0.0, float(n - 1)) for n in size)
    )
    decode = _pairs(definition["/Decode"]) if "/Decode" in definition else bounds
    raw = unpack_samples(streams.read(definition), bits, count)
    top = float((1 << bits) - 1)
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

    knots: Numbers = ()
    if len(size) == 1 and encode[0][0] != encode[0][1]:
        (d0, d1), (e0, e1) = domain[0], encode[0]
        places = (d0 + (i - e0) * (d1 - d0) / (e1 - e0) for i in range(size[0]))
        knots = tuple(sorted(x for x in places if d0 <= x <= d1))
    return Function(0, domain, outputs, evaluate, knots, straight=len(size) == 1, grid=size)


# -- type 4 -----------------------------------------------------------------------------------

_TOKEN = re.compile(rb"\s*(?:%[^\r\n]*+\s*)*+([{}]|[^\s{}%]+)")
_MAX_TOKENS = 20_000

Program = list[Any]


def _parse(data: bytes) -> Program:
    tokens = _TOKEN.findall(data)
    if len(tokens) > _MAX_TOKENS:
        raise BadFunctionError("a calculator function that is too long")
    stack: list[Program] = [[]]
    for token in tokens:
        if token == b"{":
            if len(stack) > MAX_DEPTH * 4:
                raise BadFunctionError("a calculator function nested too deep")
            stack.append([])
        elif token == b"}":
            if len(stack) < 2:
                raise BadFunctionError("a calculator function with unbalanced braces")
            inner = stack.pop()
            stack[-1].append(inner)
        else:
            word = token.decode("latin-1")
            try:
                stack[-1].append(int(word) if re.fullmatch(r"[+-]?\d+", word) else float(word))
            except ValueError:
                if word not in _WORDS:
                    raise BadFunctionError(f"the calculator operator {word}") from None
                stack[-1].append(word)
    if len(stack) != 1 or len(stack[0]) != 1 or not isinstance(stack[0][0], list):
        raise BadFunctionError("a calculator function with unbalanced braces")
    return stack[0][0]


def _int32(value: int) -> int:
    return (value + 2**31) % 2**32 - 2**31


def _shift(a: int, b: int) -> int:
    if abs(b) > 31:
        return 0
    return _int32(a << b) if b >= 0 else (a & 0xFFFFFFFF) >> -b


def _atan(a: float, b: float) -> float:
    return math.degrees(math.atan2(a, b)) % 360


def _logic(a: Any, b: Any, op: Callable[[Any, Any], Any]) -> Any:
    return op(bool(a), bool(b)) if isinstance(a, bool) else op(int(a), int(b))


_ONE: dict[str, Callable[[Any], Any]] = {
    "abs": abs,
    "neg": lambda a: -a,
    "ceiling": lambda a: a if isinstance(a, int) else float(math.ceil(a)),
    "floor": lambda a: a if isinstance(a, int) else float(math.floor(a)),
    "round": lambda a: a if isinstance(a, int) else float(math.floor(a + 0.5)),
    "truncate": lambda a: a if isinstance(a, int) else float(math.trunc(a)),
    "sqrt": lambda a: math.sqrt(a),
    "sin": lambda a: math.sin(math.radians(a)),
    "cos": lambda a: math.cos(math.radians(a)),
    "ln": lambda a: math.log(a),
    "log": lambda a: math.log10(a),
    "cvi": lambda a: int(a),
    "cvr": lambda a: float(a),
    "not": lambda a: (not a) if isinstance(a, bool) else ~int(a),
}
_TWO: dict[str, Callable[[Any, Any], Any]] = {
    "add": lambda a, b: a + b,
    "sub": lambda a, b: a - b,
    "mul": lambda a, b: a * b,
    "div": lambda a, b: a / b,
    "idiv": lambda a, b: int(a / b),
    "mod": lambda a, b: int(math.fmod(a, b)),
    "exp": lambda a, b: float(a) ** b,
    "atan": _atan,
    "eq": lambda a, b: a == b,
    "ne": lambda a, b: a != b,
    "gt": lambda a, b: a > b,
    "ge": lambda a, b: a >= b,
    "lt": lambda a, b: a < b,
    "le": lambda a, b: a <= b,
    "and": lambda a, b: _logic(a, b, lambda x, y: x & y),
    "or": lambda a, b: _logic(a, b, lambda x, y: x | y),
    "xor": lambda a, b: _logic(a, b, lambda x, y: x ^ y),
    "bitshift": _shift,
}
_STACK_WORDS = frozenset({"pop", "exch", "dup", "copy", "index", "roll", "true", "false"})
_WORDS = frozenset(_ONE) | frozenset(_TWO) | _STACK_WORDS | {"if", "ifelse"}
_MAX_STACK = 100


def _run(program: Program, stack: list[Any]) -> None:
    for position, token in enumerate(program):
        if isinstance(token, (int, float)):
            stack.append(token)
        elif isinstance(token, list):
            continue
        elif token in _ONE:
            stack.append(_ONE[token](stack.pop()))
        elif token in _TWO:
            b = stack.pop()
            stack.append(_TWO[token](stack.pop(), b))
        elif token == "if":
            if stack.pop():
                _run(program[position - 1], stack)
        elif token == "ifelse":
            _run(program[position - 2 if stack.pop() else position - 1], stack)
        else:
            _move(token, stack)
        if len(stack) > _MAX_STACK:
            raise BadFunctionError("a calculator function that needs too much stack")


def _move(word: str, stack: list[Any]) -> None:
    match word:
        case "pop":
            stack.pop()
        case "exch":
            stack[-1], stack[-2] = stack[-2], stack[-1]
        case "dup":
            stack.append(stack[-1])
        case "true" | "false":
            stack.append(word == "true")
        case "copy":
            count = int(stack.pop())
            if not 0 <= count <= len(stack):
                raise BadFunctionError("copy of what is not there")
            stack.extend(stack[len(stack) - count :])
        case "index":
            depth = int(stack.pop())
            if not 0 <= depth < len(stack):
                raise BadFunctionError("index of what is not there")
            stack.append(stack[-1 - depth])
        case "roll":
            by = int(stack.pop())
            count = int(stack.pop())
            if not 0 <= count <= len(stack):
                raise BadFunctionError("roll of what is not there")
            if count:
                top = stack[-count:]
                by %= count
                stack[-count:] = top[-by:] + top[:-by] if by else top


def _calculator(
    definition: Any, domain: tuple[tuple[float, float], ...], streams: StreamReader
) -> Function:
    bounds = _pairs(definition["/Range"])
    program = _parse(streams.read(definition))

    def evaluate(inputs: Numbers) -> Numbers:
        stack: list[Any] = list(inputs)
        try:
            _run(program, stack)
            values = [float(v) for v in stack[-len(bounds) :]]
        except (ArithmeticError, IndexError, TypeError, ValueError) as problem:
            raise BadFunctionError("a calculator function that fails") from problem
        if len(values) != len(bounds) or any(isinstance(v, complex) for v in stack):
            raise BadFunctionError("a calculator function that leaves too little")
        return _clip(values, bounds)

    evaluate(tuple(low for low, _ in domain))
    knots = domain[0] if len(domain) == 1 else ()
    return Function(4, domain, len(bounds), evaluate, knots, straight=False)


# -- writing ----------------------------------------------------------------------------------


def write_ramp(
    pdf: pikepdf.Pdf, stops: Sequence[float], colours: Sequence[Numbers]
) -> pikepdf.Object:
    """Return a new function that runs straight from stop to stop.

    Two stops make an exponential function, more a stitching function of them, so that end
    colours stay exact and nothing is rounded to samples. Many evenly spaced stops make a
    sampled function of 16 bits.
    """

    def piece(a: Numbers, b: Numbers) -> pikepdf.Dictionary:
        return pikepdf.Dictionary(FunctionType=2, Domain=[0, 1], N=1, C0=_array(a), C1=_array(b))

    if len(stops) == 2 and (stops[0], stops[1]) == (0, 1):
        return pdf.make_indirect(piece(colours[0], colours[1]))
    if len(stops) > 64:
        return write_samples(
            pdf, ((stops[0], stops[-1]),), (len(stops),), list(colours), even_stops=stops
        )
    pieces = [piece(a, b) for a, b in zip(colours, colours[1:], strict=False)]
    return pdf.make_indirect(
        pikepdf.Dictionary(
            FunctionType=3,
            Domain=_array((stops[0], stops[-1])),
            Functions=pikepdf.Array(pieces),
            Bounds=_array(stops[1:-1]),
            Encode=pikepdf.Array([0, 1] * len(pieces)),
        )
    )


def write_samples(
    pdf: pikepdf.Pdf,
    domain: Sequence[tuple[float, float]],
    size: Sequence[int],
    colours: Sequence[Numbers],
    even_stops: Sequence[float] | None = None,
) -> pikepdf.Object:
    """Return a new sampled function of 16 bits; first input varies fastest; outputs 0 to 1."""
    if even_stops is not None:
        colours = _evenly(even_stops, colours)
        size = (len(colours),)
    data = b"".join(
        round(min(max(value, 0.0), 1.0) * 65535).to_bytes(2, "big")
        for colour in colours
        for value in colour
    )
    outputs = len(colours[0])
    stream = pdf.make_stream(deflate(data))
    stream["/Filter"] = pikepdf.Name.FlateDecode
    stream["/FunctionType"] = 0
    stream["/Domain"] = _array([edge for pair in domain for edge in pair])
    stream["/Range"] = pikepdf.Array([0, 1] * outputs)
    stream["/Size"] = pikepdf.Array(list(size))
    stream["/BitsPerSample"] = 16
    return stream


def _evenly(stops: Sequence[float], colours: Sequence[Numbers]) -> list[Numbers]:
    """Return the ramp sampled evenly, at least as fine as its stops."""
    count = min(max(len(stops), 256), 4096)
    low, high = stops[0], stops[-1]
    result = []
    index = 0
    for i in range(count):
        x = low + (high - low) * i / (count - 1)
        while index < len(stops) - 2 and x > stops[index + 1]:
            index += 1
        width = stops[index + 1] - stops[index]
        share = min(max((x - stops[index]) / width, 0.0), 1.0) if width else 0.0
        result.append(
            tuple(
                a + share * (b - a) for a, b in zip(colours[index], colours[index + 1], strict=True)
            )
        )
    return result


def _array(values: Sequence[float]) -> pikepdf.Array:
    from decimal import Decimal

    return pikepdf.Array(
        [Decimal(f"{value:.6f}".rstrip("0").rstrip(".") or "0") for value in values]
    )
