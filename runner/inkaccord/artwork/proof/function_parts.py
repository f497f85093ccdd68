"""The parts of a function of one variable as a written file has it, none across a bound.

Like the values that they give (:mod:`inkaccord.artwork.proof.shading_values`), they are made out
anew for the proof.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import pikepdf

from inkaccord.artwork.proof.shading_values import (
    MOST_DEEP,
    Evaluate,
    Numbers,
    clipped,
    evaluator,
    exponential,
    interpolated,
    numbers_of,
)


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
    kind = part.kind if all(clipped(end, bounds) == end for end in ends) else "curve"
    return FunctionPart(
        part.low, part.high, lambda x: clipped(part.at(x), bounds), kind, part.places
    )


def _inner_leaves(
    function: Any, at: Evaluate, low: float, high: float, depth: int
) -> list[FunctionPart]:
    kind = int(function["/FunctionType"])
    domain = numbers_of(function["/Domain"])
    if kind == 2:
        return [FunctionPart(low, high, exponential(function, domain, depth), "set")]
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
    inputs = [interpolated(x, span, codes) for x in seen]
    if inputs[0] == inputs[1]:
        value = evaluator(part, depth + 1)(inputs[0])
        return [FunctionPart(*seen, lambda _: value, "set")]
    found = []
    for one in leaves(part, min(inputs), max(inputs), depth + 1):
        ends = sorted(interpolated(u, codes, span) for u in (one.low, one.high))
        places = tuple(sorted(interpolated(u, codes, span) for u in one.places))
        found.append(FunctionPart(ends[0], ends[1], _through(one, span, codes), one.kind, places))
    return sorted(found, key=lambda one: one.low)


def _through(
    leaf: FunctionPart, span: list[float], codes: list[float]
) -> Callable[[float], Numbers]:
    return lambda x: leaf.at(min(max(interpolated(x, span, codes), leaf.low), leaf.high))


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
