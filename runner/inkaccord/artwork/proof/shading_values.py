"""What the shadings of a written file give, read anew for the proof (ISO 32000-2, 7.10, 8.7.4.5).

Nothing here is shared with the readers that serve the recolouring, so that a slip of theirs does
not hide itself.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise, product
from typing import Any

import pikepdf

Numbers = tuple[float, ...]
Evaluate = Callable[..., Numbers]

MOST_DEEP = 24


class UnreadableShadingError(ValueError):
    """A shading that this reader can make nothing of."""


@dataclass(frozen=True, slots=True)
class FunctionPart:
    """A part of a function of one variable, and which of its ends somebody has set."""

    low: float
    high: float
    at: Callable[[float], Numbers]
    """Gives the limits from inside at both ends."""
    kind: str
    """``set`` (from end to end), ``table`` or ``curve``."""
    places: tuple[float, ...] = ()
    """Where a table has its samples."""


def numbers_of(array: Any) -> list[float]:
    """Return an array as floats."""
    return [float(value) for value in array]


def evaluator(function: Any, depth: int = 0) -> Evaluate:
    """Return what computes a function or an array of them."""
    if depth > MOST_DEEP:
        raise UnreadableShadingError("nested too deep")
    if isinstance(function, pikepdf.Array):
        if depth:
            raise UnreadableShadingError("an array of functions inside a function")
        parts = [evaluator(one, depth + 1) for one in function]
        return lambda *x: tuple(value for part in parts for value in part(*x))
    domain = numbers_of(function["/Domain"])
    inner = _KINDS[int(function["/FunctionType"])](function, domain, depth)
    bounds = numbers_of(function["/Range"]) if "/Range" in function else None

    def evaluate(*inputs: float) -> Numbers:
        found = inner(*_clip(inputs, domain))
        return _clip(found, bounds) if bounds is not None else tuple(found)

    return evaluate


def inside(at: Evaluate, bounds: Sequence[float]) -> Evaluate:
    """Return what computes values that are brought into bounds."""
    return lambda *x: _clip(at(*x), bounds)


def _clip(values: Sequence[float], bounds: Sequence[float]) -> Numbers:
    return tuple(
        min(max(v, bounds[2 * i]), bounds[2 * i + 1])
        for i, v in enumerate(values)
        if 2 * i + 1 < len(bounds)
    )


def _exponential(function: Any, domain: list[float], depth: int) -> Evaluate:
    del domain, depth
    first, last = numbers_of(function.get("/C0", [0])), numbers_of(function.get("/C1", [1]))
    power = float(function["/N"])

    def evaluate(x: float) -> Numbers:
        share = x**power if x > 0 else float(power == 0)
        return tuple(a + share * (b - a) for a, b in zip(first, last, strict=True))

    return evaluate


def _stitched(function: Any, domain: list[float], depth: int) -> Evaluate:
    parts = [evaluator(one, depth + 1) for one in function["/Functions"]]
    bounds, encode = numbers_of(function.get("/Bounds", [])), numbers_of(function["/Encode"])
    edges = [domain[0], *bounds, domain[1]]

    def evaluate(x: float) -> Numbers:
        index = next((i for i, bound in enumerate(bounds) if x < bound), len(bounds))
        return parts[index](_into(x, edges[index : index + 2], encode[2 * index : 2 * index + 2]))

    return evaluate


def beginning(function: Any, x: float, depth: int = 0) -> Numbers:
    """Return a gradient's value at an input, where parts hold their upper bound.

    Where the first part has no width, they begin with it.
    """
    if isinstance(function, pikepdf.Array):
        return tuple(value for one in function for value in beginning(one, x, depth + 1))
    if int(function["/FunctionType"]) != 3 or depth > MOST_DEEP:
        return evaluator(function, depth)(x)
    domain, bounds = numbers_of(function["/Domain"]), numbers_of(function.get("/Bounds", []))
    encode = numbers_of(function["/Encode"])
    edges = [domain[0], *bounds, domain[1]]
    at = min(max(x, domain[0]), domain[1])
    index = next((i for i, bound in enumerate(bounds) if at <= bound), len(bounds))
    inner = _into(at, edges[index : index + 2], encode[2 * index : 2 * index + 2])
    found = beginning(function["/Functions"][index], inner, depth + 1)
    return _clip(found, numbers_of(function["/Range"])) if "/Range" in function else found


def _into(x: float, span: Sequence[float], encode: Sequence[float]) -> float:
    if span[0] == span[1]:
        return encode[0]
    return encode[0] + (x - span[0]) / (span[1] - span[0]) * (encode[1] - encode[0])


def _samples(function: Any) -> tuple[list[int], list[int], int]:
    """Return the sizes, the samples and the bits of a table."""
    size = [int(n) for n in function["/Size"]]
    bits = int(function["/BitsPerSample"])
    count = math.prod(size) * (len(function["/Range"]) // 2)
    if not 0 < count <= 4_000_000:
        raise UnreadableShadingError("a table of too many samples")
    data = bytes(function.read_bytes())
    whole = int.from_bytes(data[: (count * bits + 7) // 8], "big") if bits % 8 else 0
    if bits % 8 == 0:
        step = bits // 8
        found = [int.from_bytes(data[i : i + step], "big") for i in range(0, count * step, step)]
    else:
        length = (count * bits + 7) // 8 * 8
        found = [whole >> (length - bits * (i + 1)) & (1 << bits) - 1 for i in range(count)]
    return size, found, bits


def _table(function: Any, domain: list[float], depth: int) -> Evaluate:
    del depth
    size, raw, bits = _samples(function)
    outputs = len(function["/Range"]) // 2
    decode = numbers_of(function.get("/Decode", function["/Range"]))
    encode = numbers_of(
        function.get("/Encode", pikepdf.Array([e for n in size for e in (0, n - 1)]))
    )
    top = (1 << bits) - 1

    def evaluate(*inputs: float) -> Numbers:
        sides = []
        for i, x in enumerate(inputs):
            e = _into(x, domain[2 * i : 2 * i + 2], encode[2 * i : 2 * i + 2])
            e = min(max(e, 0), size[i] - 1)
            low = min(math.floor(e), max(size[i] - 2, 0))
            sides.append([(low, 1 - e + low), (min(low + 1, size[i] - 1), e - low)])
        total = [0.0] * outputs
        for corner in product(*sides):
            weight = math.prod(share for _, share in corner)
            place = sum(at * math.prod(size[:i]) for i, (at, _) in enumerate(corner))
            for j in range(outputs):
                span = decode[2 * j + 1] - decode[2 * j]
                total[j] += weight * (decode[2 * j] + raw[place * outputs + j] * span / top)
        return tuple(total)

    return evaluate


_MOST_WORDS = 5_000
"""It is computed at a thousand places, twice; the longest of 34 of others has 76 words."""


def _calculator(function: Any, domain: list[float], depth: int) -> Evaluate:
    del domain, depth
    lines = bytes(function.read_bytes()).decode("latin-1").replace("\r", "\n").split("\n")
    text = " ".join(line.split("%")[0] for line in lines)
    found = text.replace("{", " { ").replace("}", " } ").split()
    if len(found) > _MOST_WORDS:
        raise UnreadableShadingError("a calculator that is too long")
    words = iter(found)
    if next(words, "") != "{":
        raise UnreadableShadingError("a calculator without braces")
    program = _block(words)
    count = len(function["/Range"]) // 2

    def evaluate(*inputs: float) -> Numbers:
        stack: list[Any] = list(inputs)
        _run(program, stack)
        return tuple(float(value) for value in stack[-count:])

    return evaluate


def _block(words: Iterator[str]) -> list[Any]:
    found: list[Any] = []
    for word in words:
        if word == "}":
            return found
        if word == "{":
            found.append(_block(words))
        else:
            found.append(_number(word))
    raise UnreadableShadingError("a calculator with unbalanced braces")


def _number(word: str) -> Any:
    try:
        return float(word) if "." in word or "e" in word.lower() else int(word)
    except ValueError:
        return word


def _run(program: list[Any], stack: list[Any]) -> None:
    for index, word in enumerate(program):
        if isinstance(word, list):
            continue
        if not isinstance(word, str):
            stack.append(word)
        elif word == "if":
            if stack.pop():
                _run(program[index - 1], stack)
        elif word == "ifelse":
            _run(program[index - 2] if stack.pop() else program[index - 1], stack)
        elif word in _UNARY:
            stack.append(_UNARY[word](stack.pop()))
        elif word in _BINARY:
            second, first = stack.pop(), stack.pop()
            stack.append(_BINARY[word](first, second))
        else:
            _shuffle(word, stack)


def _shuffle(word: str, stack: list[Any]) -> None:
    if word == "pop":
        stack.pop()
    elif word == "exch":
        stack.append(stack.pop(-2))
    elif word == "dup":
        stack.append(stack[-1])
    elif word in ("true", "false"):
        stack.append(word == "true")
    elif word == "copy":
        count = int(stack.pop())
        stack.extend(stack[len(stack) - count :])
    elif word == "index":
        stack.append(stack[-1 - int(stack.pop())])
    elif word == "roll":
        by, count = int(stack.pop()), int(stack.pop())
        if count:
            top = stack[-count:]
            stack[-count:] = [top[(i - by) % count] for i in range(count)]
    else:
        raise UnreadableShadingError(f"the calculator's word {word}")


def _bits(both: Callable[[Any, Any], Any]) -> Callable[[Any, Any], Any]:
    return lambda a, b: both(a, b) if isinstance(a, bool) else both(int(a), int(b))


def _wrapped(value: int) -> int:
    value &= 0xFFFFFFFF
    return value - 0x100000000 if value & 0x80000000 else value


_UNARY: dict[str, Callable[[Any], Any]] = {
    "abs": abs, "neg": lambda a: -a, "ceiling": math.ceil, "floor": math.floor,
    "round": lambda a: math.floor(a + 0.5), "truncate": math.trunc, "sqrt": math.sqrt,
    "sin": lambda a: math.sin(a * math.pi / 180), "cos": lambda a: math.cos(a * math.pi / 180),
    "ln": math.log, "log": math.log10, "cvi": math.trunc, "cvr": float,
    "not": lambda a: not a if isinstance(a, bool) else ~int(a),
}  # fmt: skip
_BINARY: dict[str, Callable[[Any, Any], Any]] = {
    "add": lambda a, b: a + b, "sub": lambda a, b: a - b, "mul": lambda a, b: a * b,
    "div": lambda a, b: a / b, "idiv": lambda a, b: math.trunc(a / b),
    "mod": lambda a, b: a - b * math.trunc(a / b), "exp": lambda a, b: float(a) ** b,
    "atan": lambda a, b: math.atan2(a, b) * 180 / math.pi % 360,
    "eq": lambda a, b: a == b, "ne": lambda a, b: a != b, "gt": lambda a, b: a > b,
    "ge": lambda a, b: a >= b, "lt": lambda a, b: a < b, "le": lambda a, b: a <= b,
    "and": _bits(lambda a, b: a & b), "or": _bits(lambda a, b: a | b),
    "xor": _bits(lambda a, b: a ^ b),
    "bitshift": lambda a, b: (
        _wrapped(int(a) << int(b)) if b >= 0 else (int(a) & 0xFFFFFFFF) >> -int(b)
    ),
}  # fmt: skip
_KINDS = {0: _table, 2: _exponential, 3: _stitched, 4: _calculator}


# -- parts of a function of one variable ------------------------------------------------------


def leaves(function: Any, low: float, high: float, depth: int = 0) -> list[FunctionPart]:
    """Return the parts of a function between two inputs, none across a bound."""
    if depth > MOST_DEEP or not low < high:
        return []
    at = evaluator(function, depth)
    if isinstance(function, pikepdf.Array):
        return _side_by_side([leaves(one, low, high, depth + 1) for one in function])
    domain = numbers_of(function["/Domain"])
    first, last = max(low, domain[0]), min(high, domain[1])
    found = _inner_leaves(function, at, first, last, depth) if first < last else []
    if low < domain[0]:
        found.insert(0, FunctionPart(low, min(domain[0], high), lambda _: at(domain[0]), "set"))
    if high > domain[1]:
        found.append(FunctionPart(max(domain[1], low), high, lambda _: at(domain[1]), "set"))
    if "/Range" in function and int(function["/FunctionType"]) in (2, 3):
        found = [within(one, numbers_of(function["/Range"])) for one in found]
    return found


def within(part: FunctionPart, bounds: Sequence[float]) -> FunctionPart:
    """Return a part whose values are brought into bounds, where it bends."""
    ends = [part.at(part.low), part.at(part.high)]
    kind = part.kind if all(_clip(end, bounds) == end for end in ends) else "curve"
    return FunctionPart(part.low, part.high, lambda x: _clip(part.at(x), bounds), kind, part.places)


def _inner_leaves(
    function: Any, at: Evaluate, low: float, high: float, depth: int
) -> list[FunctionPart]:
    kind = int(function["/FunctionType"])
    domain = numbers_of(function["/Domain"])
    if kind == 2:
        return [FunctionPart(low, high, _exponential(function, domain, depth), "set")]
    if kind == 4:
        return [FunctionPart(low, high, at, "curve")]
    if kind == 0:
        size = int(function["/Size"][0])
        e0, e1 = numbers_of(function.get("/Encode", [0, size - 1]))
        places = [
            domain[0] + (i - e0) / ((e1 - e0) or 1) * (domain[1] - domain[0]) for i in range(size)
        ]
        inner = tuple(sorted(x for x in places if low < x < high))
        return [FunctionPart(low, high, at, "table", (low, *inner, high))]
    bounds, encode = numbers_of(function.get("/Bounds", [])), numbers_of(function["/Encode"])
    edges = [domain[0], *bounds, domain[1]]
    found = []
    for index, part in enumerate(function["/Functions"]):
        span, codes = edges[index : index + 2], encode[2 * index : 2 * index + 2]
        a, b = max(span[0], low), min(span[1], high)
        if a < b:
            found += _placed(part, (a, b), span, codes, depth)
    return found


def _placed(
    part: Any, seen: tuple[float, float], span: list[float], codes: list[float], depth: int
) -> list[FunctionPart]:
    inputs = [_into(x, span, codes) for x in seen]
    if inputs[0] == inputs[1]:
        value = evaluator(part, depth + 1)(inputs[0])
        return [FunctionPart(*seen, lambda _: value, "set")]
    found = []
    for one in leaves(part, min(inputs), max(inputs), depth + 1):
        ends = sorted(_into(u, codes, span) for u in (one.low, one.high))
        places = tuple(sorted(_into(u, codes, span) for u in one.places))
        found.append(FunctionPart(ends[0], ends[1], _through(one, span, codes), one.kind, places))
    return sorted(found, key=lambda one: one.low)


def _through(
    leaf: FunctionPart, span: list[float], codes: list[float]
) -> Callable[[float], Numbers]:
    return lambda x: leaf.at(min(max(_into(x, span, codes), leaf.low), leaf.high))


def _side_by_side(parts: list[list[FunctionPart]]) -> list[FunctionPart]:
    edges = sorted({round(x, 9) for part in parts for one in part for x in (one.low, one.high)})
    found = []
    for low, high in pairwise(edges):
        middle = (low + high) / 2
        here = [next((o for o in part if middle <= o.high), part[-1]) for part in parts]
        kinds = {one.kind for one in here}
        kind = "curve" if "curve" in kinds else "set" if "set" in kinds else "table"
        inner = {x for one in here for x in one.places if low < x < high}
        places = (low, *sorted(inner), high) if kind == "table" else ()
        found.append(FunctionPart(low, high, _both(here), kind, places))
    return found


def _both(here: list[FunctionPart]) -> Callable[[float], Numbers]:
    return lambda x: tuple(
        value for one in here for value in one.at(min(max(x, one.low), one.high))
    )


# -- meshes -----------------------------------------------------------------------------------


def mesh_records(shading: Any, components: int) -> Iterator[tuple[str, Numbers]]:
    """Yield what a mesh without a function holds: its flags and places as text, its colours."""
    kind = int(shading["/ShadingType"])
    data = bytes(shading.read_bytes())
    text = "".join(f"{byte:08b}" for byte in data)
    flag = int(shading.get("/BitsPerFlag", 0)) if kind != 5 else 0
    place, bits = int(shading["/BitsPerCoordinate"]), int(shading["/BitsPerComponent"])
    decode = numbers_of(shading["/Decode"])[4:]
    at = 0
    while at + flag + 2 * place + components * bits <= len(text):
        points = corners = 1
        if kind > 5:
            fresh = int(text[at : at + flag], 2) % 4 == 0
            points, corners = (12 if fresh else 8) + 4 * (kind == 7), 4 if fresh else 2
        middle = at + flag + 2 * place * points
        end = middle + corners * components * bits
        if end > len(text):
            return
        values = [int(text[i : i + bits], 2) / (2**bits - 1) for i in range(middle, end, bits)]
        colours = tuple(
            decode[2 * (i % components)]
            + value * (decode[2 * (i % components) + 1] - decode[2 * (i % components)])
            for i, value in enumerate(values)
        )
        yield text[at:middle], colours
        at = (end + 7) // 8 * 8
