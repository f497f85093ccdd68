"""Judge every shading of a recoloured copy: it gives the exact mixture of the new colours.

Both files' shadings are computed on a grid by a reader of the proof's own. What the new one must
give is worked out here from the old one and the swaps: at its stops the new colours, between two
stops the same mixture of what they become, and elsewhere what was there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
import pikepdf
from numpy.typing import NDArray

from inkaccord.artwork.proof.shading_values import (
    FunctionPart,
    Numbers,
    UnreadableShadingError,
    evaluator,
    leaves,
    mesh_records,
    numbers_of,
)
from inkaccord.artwork.swaps import Mapped, ProfiledMode, SwapTable
from inkaccord.colour.paints import Paint, PaintKind
from inkaccord.pdf.entries import entry, plain, word

CLOSE = 2 / 255
"""How far a shading may be off the exact mixture: two steps of 8 bits."""
TABLED = 0.02
"""How far between the steps of a tint table, which a shading follows in straight lines."""
BEND = 0.006
SAMPLES = 1025
"""Places at which a calculator is looked at."""
EACH = 24
"""Places looked at in each part of another function."""
GRID = 41
MUCH = 0.02
"""A calculator that changes by more, and much faster than around it, jumps there."""

_KINDS = {"/DeviceCMYK": PaintKind.CMYK, "/DeviceRGB": PaintKind.RGB, "/DeviceGray": PaintKind.GRAY}
_PROFILED = {1: PaintKind.GRAY, 3: PaintKind.RGB, 4: PaintKind.CMYK}
_WHITES = {
    PaintKind.CMYK: (0.0,) * 4,
    PaintKind.RGB: (1.0,) * 3,
    PaintKind.GRAY: (1.0,),
}
_UNREADABLE = (
    ArithmeticError, AttributeError, IndexError, KeyError, RecursionError, StopIteration,
    TypeError, ValueError, pikepdf.PdfError,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class ShadingPair:
    """A shading of both files, and where it stands."""

    old: Any
    new: Any
    path: str


def shading_differences(pairs: Sequence[ShadingPair], table: SwapTable) -> tuple[int, list[str]]:
    """Return how many shadings were judged, and in words what is wrong with them."""
    details = []
    for pair in pairs:
        wrong = _judged(pair, table)
        if wrong:
            details.append(f"{pair.path}: the gradient {wrong}")
    return len(pairs), details


def _judged(pair: ShadingPair, table: SwapTable) -> str:
    try:
        judge = _Judge(pair.old, pair.new, table)
        return judge.verdict()
    except _UNREADABLE:
        same = _unparsed(pair.old) == _unparsed(pair.new)
        return "" if same else "can't be read, and was changed"


def _unparsed(shading: Any) -> tuple[bytes, bytes]:
    data = bytes(shading.read_bytes()) if isinstance(shading, pikepdf.Stream) else b""
    whole = pikepdf.Dictionary(
        {k: v for k, v in shading.items() if k not in ("/Length", "/Filter", "/DecodeParms")}
    )
    return bytes(whole.unparse(resolved=True)), data


class _Space:
    """As much of a colour space as the judge has to know."""

    def __init__(self, definition: Any, *, by_numbers: bool) -> None:
        parts = list(definition) if isinstance(definition, pikepdf.Array) else [definition]
        self.family = word(parts[0])
        self.kind: PaintKind | None = _KINDS.get(self.family)
        self.profiled = False
        self.names: tuple[str, ...] = ()
        if self.family == "/Separation":
            self.kind, self.names = PaintKind.SPOT, (plain(parts[1]),)
            self.size = 1
        elif self.family == "/DeviceN":
            self.names = tuple(plain(name) for name in parts[1])
            self.size = len(self.names)
        elif self.family == "/ICCBased":
            self.size = int(parts[1]["/N"])
            self.profiled = by_numbers
        elif self.family in ("/CalRGB", "/CalGray"):
            self.size = 3 if self.family == "/CalRGB" else 1
            self.profiled = by_numbers
        elif self.family == "/Lab":
            self.size, self.kind = 3, PaintKind.LAB
        elif self.kind is not None:
            self.size = len(_WHITES[self.kind])
        else:
            raise UnreadableShadingError(f"the colour space {self.family}")
        if self.profiled:
            self.kind = _PROFILED[self.size]

    @property
    def key(self) -> object:
        return self.family, self.names, self.size

    def paint(self, numbers: Numbers) -> Paint | None:
        unit = [min(max(v, 0.0), 1.0) for v in numbers]
        match self.kind:
            case PaintKind.CMYK:
                return Paint(kind=PaintKind.CMYK, values=tuple(100 * v for v in unit))
            case PaintKind.RGB:
                return Paint(kind=PaintKind.RGB, values=tuple(255 * v for v in unit))
            case PaintKind.GRAY:
                return Paint(kind=PaintKind.GRAY, values=(100 * (1 - unit[0]),))
            case PaintKind.SPOT:
                return Paint.spot(self.names[0], 100 * unit[0])
        return None

    def numbers(self, paint: Paint) -> Numbers | None:
        match paint.kind:
            case self.kind if paint.kind is PaintKind.CMYK:
                return tuple(v / 100 for v in paint.values)
            case self.kind if paint.kind is PaintKind.RGB:
                return tuple(v / 255 for v in paint.values)
            case self.kind if paint.kind is PaintKind.GRAY:
                return (1 - paint.values[0] / 100,)
        return None


@dataclass(frozen=True, slots=True)
class _Chain:
    """A part of a gradient without a jump, and where its stops may be."""

    leaves: list[FunctionPart]
    places: list[float]
    fixed: set[int]
    """Which of the places are stops that somebody has set."""
    free: set[int]
    """Which are samples, and stops if they show a swapped colour."""
    loose: float

    def at(self, place: float) -> Numbers:
        leaf = next((one for one in self.leaves if place <= one.high), self.leaves[-1])
        return leaf.at(min(max(place, leaf.low), leaf.high))


class _Judge:
    """Judges one shading."""

    def __init__(self, old: Any, new: Any, table: SwapTable) -> None:
        self._old, self._new, self._table = old, new, table
        self._known: dict[Numbers, Mapped | None] = {}
        by_numbers = table.profiled is ProfiledMode.BY_NUMBERS
        self._from = _Space(old["/ColorSpace"], by_numbers=by_numbers)
        self._to = _Space(new["/ColorSpace"], by_numbers=by_numbers)

    def verdict(self) -> str:
        """Return what is wrong, empty if nothing is."""
        old, new = self._old, self._new
        if old["/ShadingType"] != new["/ShadingType"] or ("/Function" in old) != (
            "/Function" in new
        ):
            return "is of another kind"
        if not self._background_holds():
            return "has another background than asked for"
        kind = int(old["/ShadingType"])
        if "/Function" not in old:
            return self._mesh()
        if kind == 1:
            return self._field()
        if kind > 3:
            if bytes(old.read_bytes()) != bytes(new.read_bytes()):
                return "has other corners than before"
            low, high = numbers_of(old["/Decode"])[4:6]
            if [low, high] != numbers_of(new["/Decode"])[4:6]:
                return "has other corners than before"
        else:
            low, high = sorted(numbers_of(old.get("/Domain", [0, 1])))
        return self._ramp(low, high)

    # -- colours ----------------------------------------------------------------------------

    def _mapped(self, numbers: Numbers) -> Mapped | None:
        if numbers not in self._known:
            paint = self._from.paint(numbers)
            self._known[numbers] = None if paint is None else self._table.of_paint(paint)
        return self._known[numbers]

    def _becomes(self, numbers: Numbers) -> Numbers | None:
        """Return what a colour alone becomes; None where that can't stand in the new space."""
        mapped = self._mapped(numbers)
        return self._kept(numbers) if mapped is None else self._to.numbers(mapped.paint)

    def _kept(self, numbers: Numbers) -> Numbers | None:
        """Return a colour that stays, as the new space has it; None where it has it not."""
        same = self._to.key == self._from.key
        if same or (self._from.profiled and self._to.kind is self._from.kind):
            return numbers
        return _WHITES[self._to.kind] if self._white(numbers) and self._to.kind else None

    def _white(self, numbers: Numbers) -> bool:
        if self._from.kind is PaintKind.SPOT:
            return numbers[0] <= 0
        white = _WHITES.get(self._from.kind) if self._from.kind else None
        return white is not None and _apart(numbers, white) < 1e-6

    def _mixture(self, ends: tuple[Numbers, Numbers], numbers: Numbers) -> Numbers | None:
        """Return what a colour between two stops becomes."""
        mapped = [self._mapped(end) for end in ends]
        if mapped == [None, None]:
            return self._kept(numbers)
        share = _share(numbers, *ends)
        tints = self._tints(ends, mapped)
        if tints is not None:
            swap, first, last = tints
            tint = first + share * (last - first)
            return self._to.numbers(self._table.swaps[swap].build_at(tint, self._table.tints))
        first_new, last_new = (self._becomes(end) for end in ends)
        if first_new is None or last_new is None:
            return None
        return tuple(a + share * (b - a) for a, b in zip(first_new, last_new, strict=True))

    def _tints(
        self, ends: tuple[Numbers, Numbers], mapped: Sequence[Mapped | None]
    ) -> tuple[int, float, float] | None:
        """Return which swap both ends are tints of, bare paper being one, and which tints."""
        swaps = {one.swap for one in mapped if one is not None}
        if len(swaps) != 1:
            return None
        if any(m is None and not self._white(end) for m, end in zip(mapped, ends, strict=True)):
            return None
        first, last = (one.tint if one is not None else 0.0 for one in mapped)
        return swaps.pop(), first, last

    def _background_holds(self) -> bool:
        old, new = entry(self._old, "/Background"), entry(self._new, "/Background")
        if old is None or new is None:
            return old is None and new is None
        want = self._becomes(tuple(numbers_of(old)))
        return want is not None and _apart(want, tuple(numbers_of(new))) <= CLOSE

    # -- one direction ----------------------------------------------------------------------

    def _ramp(self, low: float, high: float) -> str:
        old_at, new_at = evaluator(self._old["/Function"]), evaluator(self._new["/Function"])
        if not low < high:
            return self._ends(old_at, new_at, [low])
        chains = list(_chains(leaves(self._old["/Function"], low, high)))
        for chain in chains:
            wrong = self._chain(chain, new_at)
            if wrong:
                return wrong
        # What goes on beyond the end may be a colour of its own.
        if _apart(chains[-1].at(high), old_at(high)) > 1e-4:
            return self._ends(old_at, new_at, [high])
        return ""

    def _ends(self, old_at: Any, new_at: Any, places: Sequence[float]) -> str:
        for place in places:
            want = self._becomes(old_at(place))
            if want is None or _apart(want, new_at(place)) > CLOSE:
                return _off(place, want, new_at(place))
        return ""

    def _chain(self, chain: _Chain, new_at: Callable[..., Numbers]) -> str:
        colours = [chain.at(place) for place in chain.places]
        stops = sorted(self._stops(chain, colours))
        low, high = chain.places[0], chain.places[-1]
        edge = 1e-5 * (high - low)
        for first, last in pairwise(stops):
            ends = (colours[first], colours[last])
            inside = chain.places[first : last + 1]
            middles = [(a + b) / 2 for a, b in pairwise(inside)]
            touched = self._mapped(ends[0]) or self._mapped(ends[1])
            loose = max(chain.loose, self._tabled(ends)) if touched else CLOSE
            for place in (*inside, *middles):
                at = min(max(place, low + edge), high - edge)
                want, have = self._mixture(ends, chain.at(at)), new_at(at)
                if want is None or _apart(want, have) > loose:
                    return _off(at, want, have)
        return ""

    def _tabled(self, ends: tuple[Numbers, Numbers]) -> float:
        mapped = [self._mapped(end) for end in ends]
        tints = self._tints(ends, mapped)
        followed = tints is not None and self._table.swaps[tints[0]].tints is not None
        return TABLED if followed else 0.0

    def _stops(self, chain: _Chain, colours: list[Numbers]) -> set[int]:
        found = {0, len(colours) - 1, *chain.fixed, *self._shown(chain, colours)}
        array = np.array(colours)
        pending = list(pairwise(sorted(found)))
        while pending:
            low, high = pending.pop()
            off = _off_line(array[low : high + 1])
            if off.max(initial=0.0) > BEND:
                bend = low + int(off.argmax())
                found.add(bend)
                pending += [(low, bend), (bend, high)]
        return found

    def _shown(self, chain: _Chain, colours: list[Numbers]) -> Iterator[int]:
        """Yield the samples at which a swapped colour stands: of neighbours, the nearest."""
        group: list[tuple[float, int, int]] = []
        for index in [*range(len(colours)), -1]:
            mapped = self._mapped(colours[index]) if index in chain.free else None
            solid = mapped if mapped is not None and mapped.tint == 100 else None
            if group and (solid is None or solid.swap != group[0][1]):
                best = min(off for off, _, _ in group)
                near = [at for off, _, at in group if off <= best + 0.01]
                yield from (near[0], near[-1])
                group = []
            if solid is not None:
                paint, swap = self._from.paint(colours[index]), self._table.swaps[solid.swap]
                values = paint.values if paint is not None else ()
                group.append((_apart(values, swap.old.values), solid.swap, index))

    # -- two directions ---------------------------------------------------------------------

    def _field(self) -> str:
        old_at, new_at = evaluator(self._old["/Function"]), evaluator(self._new["/Function"])
        domain = numbers_of(self._old.get("/Domain", [0, 1, 0, 1]))
        columns, rows = _grid(self._old["/Function"])
        across = [domain[0] + (domain[1] - domain[0]) * i / (columns - 1) for i in range(columns)]
        down = [domain[2] + (domain[3] - domain[2]) * i / (rows - 1) for i in range(rows)]
        places = [(x, y) for y in down for x in across]
        colours = [old_at(*place) for place in places]
        ends = _line(np.array(colours))
        pair = (colours[ends[0]], colours[ends[1]]) if ends else None
        if pair is not None and self._mapped(pair[0]) is self._mapped(pair[1]) is None:
            pair = None
        for place, colour in zip(places, colours, strict=True):
            want = self._mixture(pair, colour) if pair is not None else self._becomes(colour)
            have = new_at(*place)
            loose = max(CLOSE, self._tabled(pair)) if pair is not None else CLOSE
            if want is None or _apart(want, have) > loose:
                return _off(place, want, have)
        return ""

    def _mesh(self) -> str:
        before = list(mesh_records(self._old, self._from.size))
        after = list(mesh_records(self._new, self._to.size))
        frames = [numbers_of(one["/Decode"])[:4] for one in (self._old, self._new)]
        if len(before) != len(after) or frames[0] != frames[1]:
            return "has other corners than before"
        for (place, old), (new_place, new) in zip(before, after, strict=True):
            if place != new_place:
                return "has other corners than before"
            for i in range(len(old) // self._from.size):
                colour = old[i * self._from.size : (i + 1) * self._from.size]
                have = new[i * self._to.size : (i + 1) * self._to.size]
                want = self._becomes(colour)
                if want is None or _apart(want, have) > CLOSE:
                    return _off("a corner", want, have)
        return ""


# -- parts ------------------------------------------------------------------------------------


def _chains(parts: list[FunctionPart]) -> Iterator[_Chain]:
    """Yield the parts of a gradient between its jumps."""
    chain: _Chain | None = None
    for leaf in parts:
        for piece, places in _without_jumps(leaf):
            meets = chain is not None and _apart(chain.at(piece.low), piece.at(piece.low)) <= 1e-4
            if chain is not None and not meets:
                yield chain
                chain = None
            if chain is None:
                chain = _Chain([], [], set(), set(), CLOSE)
            start = max(len(chain.places) - 1, 0)
            chain = _Chain(
                [*chain.leaves, piece],
                [*chain.places, *places[1 if chain.places else 0 :]],
                chain.fixed,
                chain.free,
                TABLED if piece.kind == "curve" else chain.loose,
            )
            ends = {start, len(chain.places) - 1}
            if piece.kind == "set":
                chain.fixed.update(ends)
            else:
                chain.free.update(range(start, len(chain.places)))
    if chain is not None:
        yield chain


def _without_jumps(leaf: FunctionPart) -> Iterator[tuple[FunctionPart, list[float]]]:
    """Yield a part with the places to look at; a calculator cut where it jumps."""
    if leaf.kind == "table":
        yield leaf, list(leaf.places)
        return
    count = SAMPLES if leaf.kind == "curve" else EACH
    places = [leaf.low + (leaf.high - leaf.low) * i / (count - 1) for i in range(count)]
    if leaf.kind == "set":
        yield leaf, places
        return
    colours = np.array([leaf.at(place) for place in places])
    steps = np.abs(np.diff(colours, axis=0)).max(axis=1)
    around = np.maximum(np.append(0, steps[:-1]), np.append(steps[1:], 0))
    jumps = [int(i) for i in np.flatnonzero((steps > MUCH) & (steps > 4 * around))]
    start, first = places[0], 0
    for index in jumps:
        before, after = _jump(leaf, places[index], places[index + 1])
        inner = [start, *places[first + (start == places[first]) : index + 1], before]
        yield FunctionPart(start, before, leaf.at, "curve"), inner
        start, first = after, index + 1
    rest = [start, *places[first + (start == places[first]) :]]
    yield FunctionPart(start, places[-1], leaf.at, "curve"), rest


def _jump(leaf: FunctionPart, low: float, high: float) -> tuple[float, float]:
    """Return the last place before a jump and the first behind it."""
    while low < (middle := (low + high) / 2) < high:
        here = leaf.at(middle)
        if _apart(leaf.at(low), here) > _apart(here, leaf.at(high)):
            high = middle
        else:
            low = middle
    return low, high


def _grid(function: Any) -> tuple[int, int]:
    """Return how many places in each direction are looked at: a table's samples."""
    first = function[0] if isinstance(function, pikepdf.Array) else function
    if int(first["/FunctionType"]) == 0 and "/Encode" not in first:
        columns, rows = (int(n) for n in first["/Size"])
        return max(columns, 2), max(rows, 2)
    return GRID, GRID


def _line(colours: NDArray[np.float64]) -> tuple[int, int] | None:
    """Return which two colours are the ends of the line on which all of them lie."""
    one = int(np.abs(colours - colours[0]).max(axis=1).argmax())
    other = int(np.abs(colours - colours[one]).max(axis=1).argmax())
    ends = np.vstack([colours[one], colours, colours[other]])
    return (one, other) if _off_line(ends).max() <= BEND else None


def _off_line(colours: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return how far each of several colours lies off the line between the first and last."""
    first, way = colours[0], colours[-1] - colours[0]
    weight = float(way @ way)
    shares = np.clip((colours - first) @ way / weight, 0, 1) if weight else np.zeros(len(colours))
    found: NDArray[np.float64] = np.abs(colours - first - np.outer(shares, way)).max(axis=1)
    return found


def _share(numbers: Numbers, first: Numbers, last: Numbers) -> float:
    way = np.subtract(last, first)
    weight = float(way @ way)
    return float(np.clip(np.subtract(numbers, first) @ way / weight, 0, 1)) if weight else 0.0


def _apart(one: Sequence[float], other: Sequence[float]) -> float:
    return max((abs(a - b) for a, b in zip(one, other, strict=True)), default=0.0)


def _off(place: object, want: Numbers | None, have: Numbers) -> str:
    if want is None:
        return f"holds a colour that can't be what was asked for (at {place})"
    listed = ["[" + " ".join(f"{v:.3f}" for v in one) + "]" for one in (have, want)]
    return f"gives {listed[0]} where {listed[1]} is asked for (at {place})"
