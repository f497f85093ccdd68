"""Judge every shading of a recoloured copy: it gives the exact mixture of the new colours.

Both files' shadings are computed on a grid by a reader of the proof's own. What the new one must
give is worked out here from the old one and the swaps: at its stops the new colours, between two
stops the same mixture of what they become, and elsewhere what was there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import combinations, pairwise
from typing import Any, cast

import numpy as np
import pikepdf
from numpy.typing import NDArray

from inkaccord.artwork.profiled import Profiled
from inkaccord.artwork.proof.colour_tables import is_table
from inkaccord.artwork.proof.function_parts import leaves, within
from inkaccord.artwork.proof.gradient_space import CMYK, GradientSpace
from inkaccord.artwork.proof.gradient_stops import (
    CLOSE,
    TABLED,
    Chain,
    apart,
    chains,
    off_line,
    shares_in_doubt,
)
from inkaccord.artwork.proof.ink_part import InkPart
from inkaccord.artwork.proof.shading_pairs import UNREADABLE, ShadingPair, once_each, unparsed
from inkaccord.artwork.proof.shading_values import (
    Evaluate,
    Numbers,
    beginning,
    evaluator,
    inside,
    mesh_records,
    numbers_of,
)
from inkaccord.artwork.proof.wanted_colours import WantedColours
from inkaccord.artwork.swap_table import SwapTable
from inkaccord.pdf.entries import entry

BEND = 0.006
"""How far a colour may be off the line between two others and be a mixture of them."""
GRID = 41
_EDGE = 2e-6
"""How far, of a whole gradient, a jump may lie off its place: files hold six digits, and the value
of an end alone gets a width of one in the last."""
PATCHES = 13
"""Places from stop to stop whose colours are rendered."""

Runs = list[list[tuple[Numbers, Numbers]]] | None
"""Colours along a gradient from stop to stop, and what they are to become.

Empty where nothing is swapped, None for a shading that is no line of colours.
"""


def shading_differences(pairs: Sequence[ShadingPair], table: SwapTable) -> tuple[int, list[str]]:
    """Return how many shadings were judged, and in words what is wrong with them."""
    judged = once_each(pairs, lambda pair: _judged(pair, table))
    details = [f"{pair.path}: the gradient {wrong}" for pair, wrong in judged if wrong]
    return len(pairs), details


def wanted_runs(
    pairs: Iterable[ShadingPair], table: SwapTable
) -> Iterator[tuple[ShadingPair, Runs]]:
    """Yield each shading with its colours."""

    def runs(pair: ShadingPair) -> Runs:
        try:
            return _Judge(pair.old, pair.new, table).runs()
        except UNREADABLE:
            return None

    return once_each(pairs, runs)


def _judged(pair: ShadingPair, table: SwapTable) -> str:
    try:
        spaces = [entry(one, "/ColorSpace") for one in (pair.old, pair.new)]
        if all(is_table(one) for one in spaces):
            return "" if _but_for_space(pair.old) == _but_for_space(pair.new) else "was changed"
        judge = _Judge(pair.old, pair.new, table)
        return judge.verdict()
    except UNREADABLE:
        try:
            same = unparsed(pair.old) == unparsed(pair.new)
        except UNREADABLE:
            same = False
        return "" if same else "can't be read, and was changed"


def _but_for_space(shading: Any) -> object:
    """Return a shading without its space: a table, or the look of inks, which others judge."""
    entries, data = cast("tuple[dict[str, object], bytes]", unparsed(shading))
    return {key: value for key, value in entries.items() if key != "/ColorSpace"}, data


class _Judge:
    """Judges one shading."""

    def __init__(self, old: Any, new: Any, table: SwapTable) -> None:
        self._old, self._new, self._table = old, new, table
        by_numbers = table.profiled is Profiled.PLAIN
        self._from = GradientSpace(old["/ColorSpace"], by_numbers=by_numbers)
        self._to = GradientSpace(new["/ColorSpace"], by_numbers=by_numbers)
        self._inks = InkPart.of(self._from, self._to, table)
        self._judged_as = self._from if self._inks is None else CMYK
        self._wanted = WantedColours(table, self._judged_as, CMYK if self._inks else self._to)

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
        if self._inks is not None and ("/Function" not in old or kind == 1):
            same = self._from.key == self._to.key and _but_for_space(old) == _but_for_space(new)
            return "" if same else "was changed, in several inks"
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

    def runs(self) -> Runs:
        """Return colours along the gradient, and what they are to become; see Runs."""
        if unparsed(self._old) == unparsed(self._new):
            return []
        kind = int(self._old["/ShadingType"])
        if kind not in (2, 3):
            return None
        low, high = sorted(numbers_of(self._old.get("/Domain", [0, 1])))
        found = []
        parts = list(self._chains(low, high))
        for own in self._own_ends(parts, low, high):
            want = self._all_inks(self._wanted.becomes(self._judged(own)), own)
            if want is None:
                return None
            found.append([(own, want)] * 2)
        for chain in parts:
            colours = [self._judged(chain.at(place)) for place in chain.places]
            for first, last in pairwise(sorted(self._stops(chain, colours))):
                ends = (colours[first], colours[last])
                run = []
                for place in np.linspace(chain.places[first], chain.places[last], PATCHES):
                    numbers = chain.at(float(place))
                    mixture = self._wanted.mixture(ends, self._judged(numbers))
                    want = self._all_inks(mixture, numbers)
                    if want is None:
                        return None
                    run.append((numbers, want))
                found.append(run)
        return found

    # -- colours ----------------------------------------------------------------------------

    def _background_holds(self) -> bool:
        old, new = entry(self._old, "/Background"), entry(self._new, "/Background")
        if old is None or new is None:
            return old is None and new is None
        if self._inks is not None:
            return numbers_of(old) == numbers_of(new)
        want = self._wanted.becomes(tuple(numbers_of(old)))
        return want is not None and apart(want, tuple(numbers_of(new))) <= CLOSE

    def _evaluators(self) -> tuple[Evaluate, Evaluate]:
        """Return what computes both gradients, as they print."""
        return (
            inside(evaluator(self._old["/Function"]), self._from.bounds),
            inside(evaluator(self._new["/Function"]), self._to.bounds),
        )

    def _chains(self, low: float, high: float) -> Iterator[Chain]:
        parts = leaves(self._old["/Function"], low, high)
        return chains([within(part, self._from.bounds) for part in parts])

    # -- one direction ----------------------------------------------------------------------

    def _ramp(self, low: float, high: float) -> str:
        old_at, new_at = self._evaluators()
        if not low < high:
            return self._ends(old_at, new_at, [low])
        found = list(self._chains(low, high))
        if self._wanted.all_grey(
            [self._judged(one.at(place)) for one in found for place in one.places]
        ):
            return "is grey, and was left as it is"
        for chain in found:
            wrong = self._chain(chain, new_at, _EDGE * (high - low))
            if wrong:
                return wrong
        # What goes on beyond an end may be a colour of its own.
        return self._ends(old_at, new_at, [low, high]) or self._ends(*self._uppers(), [low, high])

    def _uppers(self) -> tuple[Evaluate, Evaluate]:
        """Return what computes either gradient's ends where parts hold their upper bound."""
        old, new = self._old["/Function"], self._new["/Function"]
        return (
            inside(lambda x: beginning(old, x), self._from.bounds),
            inside(lambda x: beginning(new, x), self._to.bounds),
        )

    def _own_ends(self, parts: list[Chain], low: float, high: float) -> Iterator[Numbers]:
        """Yield what goes on beyond an end where that is a colour of its own."""
        start, end = self._uppers()[0](low), self._evaluators()[0](high)
        if parts and apart(parts[0].at(low), start) > 1e-4:
            yield start
        if parts and apart(parts[-1].at(high), end) > 1e-4:
            yield end

    def _ends(self, old_at: Any, new_at: Any, places: Sequence[float]) -> str:
        for place in places:
            numbers = old_at(place)
            want = self._all_inks(self._wanted.becomes(self._judged(numbers)), numbers)
            if want is None or apart(want, new_at(place)) > CLOSE:
                return _off(place, want, new_at(place))
        return ""

    def _judged(self, numbers: Numbers) -> Numbers:
        """Return what of a colour is swapped: its process inks, where it has others beside them."""
        return self._inks.process(numbers) if self._inks is not None else numbers

    def _all_inks(self, want: Numbers | None, numbers: Numbers) -> Numbers | None:
        """Return what is wanted of what was judged, together with the other inks."""
        return self._inks.together(want, numbers) if self._inks is not None and want else want

    def _chain(self, chain: Chain, new_at: Callable[..., Numbers], about: float) -> str:
        colours = [self._judged(chain.at(place)) for place in chain.places]
        stops = sorted(self._stops(chain, colours))
        low, high = chain.places[0], chain.places[-1]
        edge = min(max(1e-5 * (high - low), about), (high - low) / 4)
        for first, last in pairwise(stops):
            ends = (colours[first], colours[last])
            inside = chain.places[first : last + 1]
            middles = [(a + b) / 2 for a, b in pairwise(inside)]
            touched = self._wanted.mapped(ends[0]) or self._wanted.mapped(ends[1])
            loose = max(chain.loose, self._tabled(ends)) if touched else CLOSE
            for place in (*inside, *middles):
                at = min(max(place, low + edge), high - edge)
                numbers, have = chain.at(at), new_at(at)
                want = self._all_inks(self._wanted.mixture(ends, self._judged(numbers)), numbers)
                if want is None or (
                    apart(want, have) > loose and not self._in_doubt(ends, numbers, have, loose)
                ):
                    return _off(at, want, have)
        return ""

    def _in_doubt(
        self, ends: tuple[Numbers, Numbers], numbers: Numbers, have: Numbers, loose: float
    ) -> bool:
        """Whether a colour is a mixture with a share that the old one may be said to have.

        One a little off the line between two stops is as near to the mixtures before and behind
        it, and between stops that hardly differ that is much of the way.
        """
        first, way = ends[0], np.subtract(ends[1], ends[0])
        wants = [
            self._all_inks(self._wanted.mixture(ends, tuple(first + share * way)), numbers)
            for share in shares_in_doubt(self._judged(numbers), *ends)
        ]
        if any(want is None for want in wants):
            return False
        known = np.array([wants[0], have, wants[1]])
        return float(off_line(known)[1]) <= loose

    def _tabled(self, ends: tuple[Numbers, Numbers]) -> float:
        mapped = [self._wanted.mapped(end) for end in ends]
        tints = self._wanted.tints(ends, mapped)
        followed = tints is not None and self._table.swaps[tints[0]].tints is not None
        return TABLED if followed else 0.0

    def _stops(self, chain: Chain, colours: list[Numbers]) -> set[int]:
        """Return which places are stops, so that all between two of them is their mixture.

        A stop that somebody has set is one if it shows a swapped colour, or lies off the line
        between those beside it; else it was derived from them, and has to stay their mixture.
        """
        fixed = {index for index in chain.fixed if self._wanted.solid(colours[index]) is not None}
        found = {0, len(colours) - 1, *fixed, *self._shown(chain, colours)}
        array = np.array(colours)
        pending = list(pairwise(sorted(found)))
        while pending:
            low, high = pending.pop()
            off = off_line(array[low : high + 1])
            if off.max(initial=0.0) > BEND:
                bend = low + int(off.argmax())
                found.add(bend)
                pending += [(low, bend), (bend, high)]
        return found

    def _shown(self, chain: Chain, colours: list[Numbers]) -> Iterator[int]:
        """Yield the samples at which a swapped colour stands: of neighbours, the nearest."""
        group: list[tuple[float, int, int]] = []
        for index in [*range(len(colours)), -1]:
            solid = self._wanted.solid(colours[index]) if index in chain.free else None
            if group and (solid is None or solid.swap != group[0][1]):
                best = min(off for off, _, _ in group)
                near = [at for off, _, at in group if off <= best + 0.01]
                yield from (near[0], near[-1])
                group = []
            if solid is not None:
                off = self._wanted.off(colours[index], solid.swap)
                group.append((off, solid.swap, index))

    # -- two directions ---------------------------------------------------------------------

    def _field(self) -> str:
        old_at, new_at = self._evaluators()
        domain = numbers_of(self._old.get("/Domain", [0, 1, 0, 1]))
        columns, rows = _grid(self._old["/Function"])
        across = [domain[0] + (domain[1] - domain[0]) * i / (columns - 1) for i in range(columns)]
        down = [domain[2] + (domain[3] - domain[2]) * i / (rows - 1) for i in range(rows)]
        places = [(x, y) for y in down for x in across]
        colours = [old_at(*place) for place in places]
        pairs = self._pairs(colours)
        for place, colour in zip(places, colours, strict=True):
            wrong = self._on_surface(place, pairs, colour, new_at(*place))
            if wrong:
                return wrong
        return ""

    def _mesh(self) -> str:
        before = list(mesh_records(self._old, self._from.size))
        after = list(mesh_records(self._new, self._to.size))
        frames = [numbers_of(one["/Decode"])[:4] for one in (self._old, self._new)]
        if len(before) != len(after) or frames[0] != frames[1]:
            return "has other corners than before"
        size, new_size = self._from.size, self._to.size
        corners = [old[i : i + size] for _, old in before for i in range(0, len(old), size)]
        found = [new[i : i + new_size] for _, new in after for i in range(0, len(new), new_size)]
        if len(corners) != len(found) or [place for place, _ in before] != [p for p, _ in after]:
            return "has other corners than before"
        if self._wanted.all_grey(corners):
            return "is grey, and was left as it is"
        pairs = self._pairs(corners)
        for colour, have in zip(corners, found, strict=True):
            wrong = self._on_surface("a corner", pairs, colour, have)
            if wrong:
                return wrong
        return ""

    def _on_surface(
        self, place: object, pairs: list[tuple[Numbers, Numbers]], colour: Numbers, have: Numbers
    ) -> str:
        """Judge one colour of a surface: a mixture of two others, or a colour by itself."""
        pair = None
        if self._wanted.solid(colour) is None:
            pair = next((ends for ends in pairs if _lies_between(colour, *ends)), None)
        want = (
            self._wanted.mixture(pair, colour) if pair is not None else self._wanted.becomes(colour)
        )
        loose = max(CLOSE, self._tabled(pair)) if pair is not None else CLOSE
        return _off(place, want, have) if want is None or apart(want, have) > loose else ""

    def _pairs(self, colours: list[Numbers]) -> list[tuple[Numbers, Numbers]]:
        """Return the pairs of which another colour of a surface may be a mixture, closest first.

        Both are swapped colours that it shows, one for each swap, or ends of the one line on which
        all of its colours lie.
        """
        ends: dict[object, tuple[float, Numbers]] = {}
        for colour in dict.fromkeys(colours):
            solid = self._wanted.solid(colour)
            if solid is not None:
                off = self._wanted.off(colour, solid.swap)
                ends[solid.swap] = min(ends.get(solid.swap, (off, colour)), (off, colour))
        line = _line(np.array(colours))
        outer = [colours[index] for index in line] if line else []
        known = dict.fromkeys([colour for _, colour in ends.values()] + outer)
        pairs = [
            (a, b)
            for a, b in combinations(known, 2)
            if self._wanted.mapped(a) or self._wanted.mapped(b)
        ]
        return sorted(pairs, key=lambda pair: sum((a - b) ** 2 for a, b in zip(*pair, strict=True)))


# -- places and distances ---------------------------------------------------------------------


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
    return (one, other) if off_line(ends).max() <= BEND else None


def _lies_between(numbers: Numbers, first: Numbers, last: Numbers) -> bool:
    return float(off_line(np.array([first, numbers, last])).max()) <= BEND


def _off(place: object, want: Numbers | None, have: Numbers) -> str:
    if want is None:
        return f"holds a colour that can't be what was asked for (at {place})"
    listed = ["[" + " ".join(f"{v:.3f}" for v in one) + "]" for one in (have, want)]
    return f"gives {listed[0]} where {listed[1]} is asked for (at {place})"
