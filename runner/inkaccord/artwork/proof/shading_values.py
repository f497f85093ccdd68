"""What the shadings of a written file give, read anew for the proof (ISO 32000-2, 7.10, 8.7.4.5).

Nothing here is shared with the readers that serve the recolouring, so that a slip of theirs does
not hide itself.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from itertools import product
from typing import Any

import pikepdf

Numbers = tuple[float, ...]
Evaluate = Callable[..., Numbers]

MOST_DEEP = 24


class UnreadableShadingError(ValueError):
    """A shading that this reader can make nothing of."""


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
        found = inner(*clipped(inputs, domain))
        return clipped(found, bounds) if bounds is not None else tuple(found)

    return evaluate


def inside(at: Evaluate, bounds: Sequence[float]) -> Evaluate:
    """Return what computes values that are brought into bounds."""
    return lambda *x: clipped(at(*x), bounds)


def clipped(values: Sequence[float], bounds: Sequence[float]) -> Numbers:
    """Return values brought into bounds; those beyond the last bounds are dropped."""
    return tuple(
        min(max(v, bounds[2 * i]), bounds[2 * i + 1])
        for i, v in enumerate(values)
        if 2 * i + 1 < len(bounds)
    )


def exponential(function: Any, domain: list[float], depth: int) -> Evaluate:
    """Return what computes an exponential function; inputs are not brought into its domain."""
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
        return parts[index](
            interpolated(x, edges[index : index + 2], encode[2 * index : 2 * index + 2])
        )

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
    inner = interpolated(at, edges[index : index + 2], encode[2 * index : 2 * index + 2])
    found = beginning(function["/Functions"][index], inner, depth + 1)
    return clipped(found, numbers_of(function["/Range"])) if "/Range" in function else found


def interpolated(x: float, span: Sequence[float], encode: Sequence[float]) -> float:
    """Return where an input of one span lies in another; the first end of a span of no width."""
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
            e = interpolated(x, domain[2 * i : 2 * i + 2], encode[2 * i : 2 * i + 2])
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
_KINDS = {0: _table, 2: exponential, 3: _stitched, 4: _calculator}


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
