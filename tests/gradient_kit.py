"""Gradients that jump, written in every construct of the standard, and their exact colours.

What a written function gives is computed here from ISO 32000-2, 7.10, on its own: no code of the
recolourer takes part.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import pikepdf

from artwork_kit import parsed

Numbers = tuple[float, ...]


def mixed(share: float, first: Numbers, last: Numbers) -> Numbers:
    """Return the mixture of two colours, by the share of the second."""
    return tuple(a + (b - a) * share for a, b in zip(first, last, strict=True))


@dataclass(frozen=True)
class Stripe:
    """A part of a gradient: from colour to colour, the share raised to a power."""

    low: float
    high: float
    first: Numbers
    last: Numbers
    power: float = 1.0

    def at(self, place: float) -> Numbers:
        share = ((place - self.low) / (self.high - self.low)) ** self.power
        return mixed(share, self.first, self.last)


Stripes = Sequence[Stripe]


def exact(stripes: Stripes, place: float) -> Numbers:
    """Return the colour of stripes at a place; at a jump, that of the stripe which begins."""
    for stripe in stripes:
        if place < stripe.high:
            return stripe.at(place)
    return stripes[-1].last


def swapped(stripes: Stripes, swaps: dict[Numbers, Numbers]) -> list[Stripe]:
    """Return stripes whose ends became what they are to become: the exact mixture."""
    return [
        Stripe(s.low, s.high, swaps.get(s.first, s.first), swaps.get(s.last, s.last), s.power)
        for s in stripes
    ]


# -- constructs -------------------------------------------------------------------------------

Build = Callable[[pikepdf.Pdf, Stripes], Any]


def _list(values: Sequence[float]) -> str:
    return "[" + " ".join(f"{value:.6f}" for value in values) + "]"


def _exponential(stripe: Stripe) -> str:
    return (
        f"<< /FunctionType 2 /Domain [0 1] /N {stripe.power:g} /C0 {_list(stripe.first)} "
        f"/C1 {_list(stripe.last)} >>"
    )


def _stitch(parts: Sequence[str], edges: Sequence[float], encode: str = "") -> str:
    return (
        f"<< /FunctionType 3 /Domain [{edges[0]:g} {edges[-1]:g}] /Functions [{' '.join(parts)}] "
        f"/Bounds {_list(edges[1:-1])} /Encode [{encode or '0 1 ' * len(parts)}] >>"
    )


def _edges(stripes: Stripes) -> list[float]:
    return [stripes[0].low, *(stripe.high for stripe in stripes)]


def stitched(pdf: pikepdf.Pdf, stripes: Stripes) -> Any:
    return parsed(_stitch([_exponential(one) for one in stripes], _edges(stripes)))


def equal_bounds(pdf: pikepdf.Pdf, stripes: Stripes) -> Any:
    """As some programs write a jump: a part without a width that runs across it."""
    parts, edges = [_exponential(stripes[0])], [stripes[0].low, stripes[0].high]
    for before, one in pairwise(stripes):
        parts += [
            _exponential(Stripe(0, 1, before.last, one.first)),
            _exponential(one),
        ]
        edges += [one.low, one.high]
    return parsed(_stitch(parts, edges))


def nested(pdf: pikepdf.Pdf, stripes: Stripes) -> Any:
    """All but the first and the last stripe stand in a function of their own."""
    last = stripes[-1:] if len(stripes) > 2 else []
    inside = stripes[1 : len(stripes) - len(last)]
    inner = _stitch([_exponential(one) for one in inside], _edges(inside))
    parts = [_exponential(stripes[0]), inner, *(_exponential(one) for one in last)]
    edges = [stripes[0].low, stripes[0].high, inside[-1].high, *(one.high for one in last)]
    encode = f"0 1 {inside[0].low:g} {inside[-1].high:g}" + " 0 1" * len(last)
    return parsed(_stitch(parts, edges, encode))


def backwards(pdf: pikepdf.Pdf, stripes: Stripes) -> Any:
    """The gradient from its end to its beginning, turned round by an outer function."""
    turned = [
        f"<< /FunctionType 3 /Domain [0 1] /Functions [{_exponential(one)}] /Bounds [] "
        "/Encode [1 0] >>"
        for one in reversed(stripes)
    ]
    inner = _stitch(turned, [1 - edge for edge in reversed(_edges(stripes))])
    return parsed(_stitch([inner], [0, 1], "1 0"))


def _program(stripes: Stripes, inks: Sequence[int]) -> str:
    """Return a calculator's words that leave the inks of the stripe in which its input lies."""

    def formula(stripe: Stripe) -> str:
        share = f"{stripe.low:g} sub {stripe.high - stripe.low:.6f} div {stripe.power:g} exp"
        words = [
            f"dup {stripe.last[i] - stripe.first[i]:.6f} mul {stripe.first[i]:.6f} add exch"
            for i in inks
        ]
        return f"{share} {' '.join(words)} pop"

    text = formula(stripes[-1])
    for stripe in reversed(stripes[:-1]):
        text = f"dup {stripe.high:g} lt {{ {formula(stripe)} }} {{ {text} }} ifelse"
    return text


def calculated(pdf: pikepdf.Pdf, words: str, outputs: int, inputs: int = 1) -> Any:
    made = pdf.make_stream(f"{{ {words} }}".encode())
    made["/FunctionType"] = 4
    made["/Domain"] = pikepdf.Array([0, 1] * inputs)
    made["/Range"] = pikepdf.Array([0, 1] * outputs)
    return made


def calculator(pdf: pikepdf.Pdf, stripes: Stripes) -> Any:
    count = len(stripes[0].first)
    return calculated(pdf, _program(stripes, range(count)), count)


def calculators(pdf: pikepdf.Pdf, stripes: Stripes) -> Any:
    """One calculator for each ink."""
    count = len(stripes[0].first)
    return pikepdf.Array([calculated(pdf, _program(stripes, [i]), 1) for i in range(count)])


def one_ink_each(pdf: pikepdf.Pdf, stripes: Stripes) -> Any:
    """One stitching function for each ink, which leaves out the jumps that its ink lacks."""
    functions = []
    for i in range(len(stripes[0].first)):
        parts: list[Stripe] = []
        for one in stripes:
            ink = Stripe(one.low, one.high, (one.first[i],), (one.last[i],), one.power)
            last = parts[-1] if parts else None
            if last and last.first == last.last == ink.first == ink.last:
                parts[-1] = Stripe(last.low, ink.high, ink.first, ink.last)
            else:
                parts.append(ink)
        functions.append(_stitch([_exponential(one) for one in parts], _edges(parts)))
    return parsed(f"[{' '.join(functions)}]")


SAMPLES = 1001


def sampled(pdf: pikepdf.Pdf, stripes: Stripes, bits: int = 16) -> Any:
    """A table; at a jump it falls or rises within one sample's width."""
    count, top = len(stripes[0].first), (1 << bits) - 1
    data = b"".join(
        round(value * top).to_bytes(bits // 8, "big")
        for i in range(SAMPLES)
        for value in exact(stripes, i / (SAMPLES - 1))
    )
    made = pdf.make_stream(data)
    made["/FunctionType"] = 0
    made["/Domain"] = pikepdf.Array([0, 1])
    made["/Range"] = pikepdf.Array([0, 1] * count)
    made["/Size"] = pikepdf.Array([SAMPLES])
    made["/BitsPerSample"] = bits
    return made


def sampled_8(pdf: pikepdf.Pdf, stripes: Stripes) -> Any:
    return sampled(pdf, stripes, 8)


CONSTRUCTS: tuple[Build, ...] = (
    stitched, equal_bounds, nested, backwards, calculator, calculators, one_ink_each,
    sampled, sampled_8,
)  # fmt: skip


# -- shadings ---------------------------------------------------------------------------------

Frame = Callable[[pikepdf.Pdf, Any, str], Any]


def axial(pdf: pikepdf.Pdf, function: Any, space: str) -> Any:
    made = parsed(
        f"<< /ShadingType 2 /ColorSpace {space} /Coords [20 0 80 0] /Extend [true true] >>"
    )
    made["/Function"] = function
    return pdf.make_indirect(made)


def radial(pdf: pikepdf.Pdf, function: Any, space: str) -> Any:
    made = parsed(
        f"<< /ShadingType 3 /ColorSpace {space} /Coords [0 50 20 0 50 80] /Extend [true true] >>"
    )
    made["/Function"] = function
    return pdf.make_indirect(made)


def mesh(pdf: pikepdf.Pdf, function: Any, space: str) -> Any:
    """Two triangles that make a square of 20 to 80 pt, its parameter running from left to right."""
    corners = [(0, 0, 0), (255, 0, 255), (0, 255, 0), (255, 0, 255), (0, 255, 0), (255, 255, 255)]
    made = pdf.make_stream(b"".join(bytes([0, *corner]) for corner in corners))
    for key, value in parsed(
        f"<< /ShadingType 4 /ColorSpace {space} /BitsPerCoordinate 8 /BitsPerComponent 8 "
        "/BitsPerFlag 8 /Decode [20 80 20 80 0 1] >>"
    ).items():
        made[key] = value
    made["/Function"] = function
    return made


FRAMES: tuple[Frame, ...] = (axial, radial, mesh)


# -- what a written function gives ------------------------------------------------------------


def value(function: Any, *inputs: float) -> Numbers:
    """Return what a PDF function, or an array of them, gives (ISO 32000-2, 7.10)."""
    if isinstance(function, pikepdf.Array):
        return tuple(number for one in function for number in value(one, *inputs))
    domain = [float(v) for v in function["/Domain"]]
    inputs = tuple(min(max(x, domain[2 * i]), domain[2 * i + 1]) for i, x in enumerate(inputs))
    match int(function["/FunctionType"]):
        case 0:
            out = _table_value(function, domain, inputs)
        case 2:
            share = inputs[0] ** float(function["/N"])
            pairs = zip(function["/C0"], function["/C1"], strict=True)
            out = tuple(float(a) + share * (float(b) - float(a)) for a, b in pairs)
        case 3:
            out = _stitched_value(function, domain, inputs[0])
        case _:
            out = _run(bytes(function.read_bytes()).decode().split(), list(inputs))
    if "/Range" in function:
        bounds = [float(v) for v in function["/Range"]]
        out = tuple(min(max(v, bounds[2 * i]), bounds[2 * i + 1]) for i, v in enumerate(out))
    return out


def _stitched_value(function: Any, domain: list[float], x: float) -> Numbers:
    bounds = [float(v) for v in function["/Bounds"]]
    number = sum(bound <= x for bound in bounds)
    low = [domain[0], *bounds][number]
    high = [*bounds, domain[1]][number]
    e0, e1 = (float(v) for v in list(function["/Encode"])[2 * number : 2 * number + 2])
    inner = e0 if high == low else e0 + (x - low) * (e1 - e0) / (high - low)
    return value(function["/Functions"][number], inner)


def _table_value(function: Any, domain: list[float], inputs: Numbers) -> Numbers:
    size = [int(v) for v in function["/Size"]]
    width = int(function["/BitsPerSample"]) // 8
    data = bytes(function.read_bytes())
    count = len(function["/Range"]) // 2
    top = 256**width - 1
    total = [0.0] * count
    places = []
    for i, (x, n) in enumerate(zip(inputs, size, strict=True)):
        e = (x - domain[2 * i]) / (domain[2 * i + 1] - domain[2 * i]) * (n - 1)
        low = min(math.floor(e), max(n - 2, 0))
        places.append([(low, 1 - (e - low)), (min(low + 1, n - 1), e - low)])
    corners = [((), 1.0)]
    for pair in places:
        corners = [((*at, i), w * v) for at, w in corners for i, v in pair]
    for at, weight in corners:
        index = sum(i * math.prod(size[:d]) for d, i in enumerate(at)) * count
        for j in range(count):
            start = (index + j) * width
            total[j] += weight * int.from_bytes(data[start : start + width], "big") / top
    return tuple(total)


def _run(words: list[str], stack: list[Any]) -> Numbers:
    """Run the few words of a calculator that these tests and the recolourer write."""
    position = 0

    def block() -> list[str]:
        nonlocal position
        depth, start = 1, position + 1
        while depth:
            position += 1
            depth += {"{": 1, "}": -1}.get(words[position], 0)
        position += 1
        return words[start : position - 1]

    blocks: list[list[str]] = []
    while position < len(words):
        word = words[position]
        if word == "{":
            blocks.append(block())
            continue
        position += 1
        if word in ("if", "ifelse"):
            otherwise = blocks.pop() if word == "ifelse" else []
            then = blocks.pop()
            stack[:] = _run(then if stack.pop() else otherwise, stack)
        else:
            _step(word, stack)
    if blocks:  # the braces round the whole
        return _run(blocks[0], stack)
    return tuple(stack)


def _step(word: str, stack: list[Any]) -> None:
    two = {
        "add": lambda a, b: a + b, "sub": lambda a, b: a - b, "mul": lambda a, b: a * b,
        "div": lambda a, b: a / b, "exp": lambda a, b: a**b, "lt": lambda a, b: a < b,
        "gt": lambda a, b: a > b, "and": lambda a, b: a and b,
    }  # fmt: skip
    if word in two:
        b = stack.pop()
        stack.append(two[word](stack.pop(), b))
    elif word == "dup":
        stack.append(stack[-1])
    elif word == "pop":
        stack.pop()
    elif word == "abs":
        stack.append(abs(stack.pop()))
    elif word == "exch":
        stack[-2:] = stack[-1], stack[-2]
    elif word == "copy":
        count = stack.pop()
        stack += stack[-int(count) :]
    elif word == "roll":
        by, count = int(stack.pop()), int(stack.pop())
        top = stack[-count:]
        stack[-count:] = top[-by:] + top[:-by]
    else:
        stack.append(float(word))
