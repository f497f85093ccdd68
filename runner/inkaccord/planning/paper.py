"""What paper could settle, and which paper does it cheapest."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import combinations

import numpy as np

from inkaccord.colour.arrays import Array
from inkaccord.colour.pairs import Pair
from inkaccord.colour.sampling.gain import bound_after, chance_decided
from inkaccord.colour.sampling.planning import closing_set
from inkaccord.knowledge.pairs import PairKnowledge
from inkaccord.knowledge.values import Evidence, Translation
from inkaccord.order.model import Order
from inkaccord.planning.doubts import Doubt
from inkaccord.planning.rounds import may_be_read
from inkaccord.run.bench import Bench
from inkaccord.sheets.controls import control_builds
from inkaccord.sheets.model import SampleSheet

CLOSING = 5
"""Swatches round one predicted build."""
WORTH = 0.5
"""Chance of letting the pieces go from which on a sheet is worth its paper. That a distance may
turn out surely too large is no gain: a person is asked then as they can be asked now."""
WORTH_BESIDE = 0.15
"""The same for swatches on a sheet that is asked for anyway: they cost next to nothing."""
GAINED = 0.1
"""How much surer swatches on such a sheet must make what is to be settled already."""
MATTERS = 0.9
"""A pair is asked only if its readings would bring a distance's bound below this share of itself:
else it is not what makes the distance doubtful."""
LIKELY = 0.5
"""Chance of being inside from which on a distance is not worth a round of its own: a person is
asked, who knows what days are worth, and is told the chance."""
SPARED = 4.0
"""What it counts to let the pieces go and spare a question, in pages: a second pair is asked beside
the first where that makes it so much surer, as there is no third round."""
A_DAY = 1.0
"""What a working day of waiting counts, in pages of a new sheet."""
A_SWATCH = 0.02
"""What a swatch counts, likewise, for its printed area and its reading."""

Asked = dict[Pair, list[str]]
"""The colours that swatches are printed for, by pair."""


@dataclass
class Paper:
    """Weighs what readings of some pairs would tell, each worked out once."""

    order: Order
    bench: Bench
    _swatches: dict[tuple[Pair, str], Array] = field(default_factory=dict)
    _after: dict[tuple[Pair, str, str], float] = field(default_factory=dict)

    def swatches(self, translation: Translation) -> Array:
        """Return the builds (n, k) that would pin down a translation."""
        key = translation.pair, translation.colour
        if key not in self._swatches:
            known = self.bench.pair(translation.pair)
            build = np.array([translation.build.values])
            found = known.recall(closing_set, known.model, build, CLOSING, known.policy)
            (self._swatches[key],) = found
        return self._swatches[key]

    def may_ask(self, translation: Translation) -> bool:
        """Tell whether swatches of a translation may be asked for: the rounds are not used up."""
        return translation.evidence is Evidence.READ and self.rounds_left

    def is_printed(self, sheet: SampleSheet) -> bool:
        """Tell whether a waiting sheet is on paper."""
        return sheet.id in self.bench.pair(sheet.pair).printed

    @cached_property
    def rounds_left(self) -> bool:
        """Whether the order may ask for one more round of sheets to be read."""
        pairs = (self.bench.pair(pair) for pair in self.order.pairs_needed())
        return may_be_read(self.order, pairs)

    def bound_with(self, translation: Translation, sheet: SampleSheet | None = None) -> float:
        """Return how sure a translation would be with swatches of its own, or with a sheet's."""
        key = translation.pair, translation.colour, sheet.id if sheet is not None else ""
        if key not in self._after:
            known = self.bench.pair(translation.pair)
            rows = self.swatches(translation) if sheet is None else _builds(sheet)
            if sheet is None:
                rows = np.concatenate([rows, _controls(known)])
            after = known.recall(bound_after, known.model, [translation.build.values], rows)
            (self._after[key],) = after.tolist()
        return min(self._after[key], translation.uncertainty)

    def chance(self, doubt: Doubt, bounds: dict[Pair, float]) -> float:
        """Return the chance that a distance lets its pieces go, were some bounds narrower.

        What its uncertainty holds beside the bounds of its sides, such as the eye's, stays.
        """
        now = doubt.distance.uncertainty
        gained = sum(
            side.uncertainty**2 - bounds[side.pair] ** 2
            for side in doubt.sides
            if side.pair in bounds
        )
        after = float(np.sqrt(max(now**2 - gained, 0.0)))
        if after > MATTERS * now:
            return 0.0
        inside, _ = chance_decided(
            doubt.distance.delta_e_00, now, after, doubt.distance.tolerance, doubt.by_nature
        )
        return float(inside)


@dataclass(frozen=True)
class Chosen:
    """Which paper is worth it.

    Attributes
    ----------
    asked
        The colours to print new swatches for, by pair.
    for_what
        The doubts that each pair's sheet may settle.
    waiting
        Ids of sheets that wait already and do as well.
    settled
        All doubts that paper may settle.
    spared
        How sure (ΔE00) the surest colour is that a round was not worth its days for, as all that it
        might settle is inside most likely; None where no round was spared.
    """

    asked: Asked
    for_what: dict[Pair, list[Doubt]]
    waiting: frozenset[str]
    settled: frozenset[Doubt]
    spared: float | None = None


def choose(
    paper: Paper,
    doubts: Sequence[Doubt],
    waiting: Iterable[SampleSheet],
    unsure: Asked,
    *,
    anyway: bool = False,
) -> Chosen:
    """Return the cheapest paper for the doubts that paper can settle.

    Parameters
    ----------
    paper
        Weighs it.
    doubts
        The distances that are too uncertain, the least certain first served.
    waiting
        Sheets that are planned or printed already and not read.
    unsure
        Colours that get swatches in any case.
    anyway
        Whether something is printed whatever this finds: then a round costs no more days.
    """
    asked: Asked = {pair: list(colours) for pair, colours in unsure.items()}
    for_what: dict[Pair, list[Doubt]] = {}
    serves: dict[Doubt, tuple[SampleSheet, ...]] = {}
    settled: set[Doubt] = set()
    lying = list(waiting)
    by_doubt = sorted(doubts, key=lambda doubt: -doubt.distance.uncertainty)
    for beside in (False, True):
        for doubt in by_doubt:
            if doubt in settled:
                continue
            here = [sheet for sheet in lying if sheet.pair in doubt.pairs]
            if (sheets := _lying(paper, doubt, here)) is not None:
                serves[doubt] = sheets
                pairs = {sheet.pair for sheet in sheets}
            elif (sides := _cheapest(paper, doubt, asked, beside=beside)) is not None:
                for side in sides:
                    colours = asked.setdefault(side.pair, [])
                    colours += [side.colour] if side.colour not in colours else []
                pairs = {side.pair for side in sides}
            else:
                continue
            settled.add(doubt)
            for pair in pairs:
                for_what.setdefault(pair, []).append(doubt)
    useful = _useful(paper, serves, asked)
    likely = all(doubt.chance >= LIKELY for doubt in settled)
    if settled and likely and not (anyway or unsure or useful):
        return Chosen({}, {}, frozenset(), frozenset(), spared=_surest(settled, asked))
    _beside(paper, settled, asked)
    return Chosen(asked, for_what, frozenset(useful), frozenset(settled))


def _surest(settled: Iterable[Doubt], asked: Asked) -> float:
    """Return the narrowest bound of the colours that would have been asked for."""
    sides = (side for doubt in settled for side in doubt.sides)
    return min(side.uncertainty for side in sides if side.colour in asked.get(side.pair, ()))


def _beside(paper: Paper, settled: Iterable[Doubt], asked: Asked) -> None:
    """Add swatches to sheets that are asked for anyway, where they make a round less likely.

    A doubt that one pair's readings may settle is settled more surely by the other's too.
    """
    for doubt in sorted(settled, key=lambda doubt: -doubt.distance.uncertainty):
        usable = [side for side in doubt.sides if side.pair in asked and paper.may_ask(side)]
        there = [side for side in usable if side.colour in asked[side.pair]]
        now = paper.chance(doubt, {side.pair: paper.bound_with(side) for side in there})
        more = paper.chance(doubt, {side.pair: paper.bound_with(side) for side in usable})
        if more - now >= GAINED:
            for side in usable:
                asked[side.pair] += [side.colour] if side.colour not in asked[side.pair] else []


def _useful(paper: Paper, serves: Mapping[Doubt, Sequence[SampleSheet]], asked: Asked) -> set[str]:
    """Return the waiting sheets that serve: all that are printed, and those still needed.

    What the swatches that are asked for anyway settle as well needs no other sheet.
    """
    useful: set[str] = set()
    for doubt, sheets in serves.items():
        there = [side for side in doubt.sides if side.colour in asked.get(side.pair, ())]
        settles = paper.chance(doubt, {side.pair: paper.bound_with(side) for side in there})
        useful |= {it.id for it in sheets if settles < WORTH or paper.is_printed(it)}
    return useful


def _lying(
    paper: Paper, doubt: Doubt, sheets: Sequence[SampleSheet]
) -> tuple[SampleSheet, ...] | None:
    """Return the fewest waiting sheets that may settle a doubt, or None."""
    sides = {side.pair: side for side in doubt.sides if side.evidence is Evidence.READ}
    usable = [sheet for sheet in sheets if sheet.pair in sides]
    for count in range(1, len(usable) + 1):
        for some in combinations(usable, count):
            bounds: dict[Pair, float] = {}
            for sheet in some:
                bound = paper.bound_with(sides[sheet.pair], sheet)
                bounds[sheet.pair] = min(bound, bounds.get(sheet.pair, bound))
            if paper.chance(doubt, bounds) >= WORTH:
                return some
    return None


def _cheapest(
    paper: Paper, doubt: Doubt, asked: Asked, *, beside: bool
) -> tuple[Translation, ...] | None:
    """Return the sides to print swatches of, so that the doubt may be settled cheapest; or None.

    ``beside`` asks for swatches on sheets that are asked for anyway, and for no other sheet.
    """
    usable = [side for side in doubt.sides if paper.may_ask(side)]
    if beside:
        usable = [side for side in usable if side.pair in asked]
    worth = WORTH_BESIDE if beside else WORTH
    found: list[tuple[float, int, tuple[Translation, ...]]] = []
    for count in range(1, len(usable) + 1):
        for number, some in enumerate(combinations(usable, count)):
            bounds = {side.pair: paper.bound_with(side) for side in some}
            if (chance := paper.chance(doubt, bounds)) >= worth:
                cost = sum(_price(paper.order, side, asked) for side in some)
                found.append((cost - SPARED * chance, number, some))
    return min(found, key=lambda it: it[:2])[2] if found else None


def _price(order: Order, translation: Translation, asked: Asked) -> float:
    """Return what swatches of a translation cost beside what is asked for already, in pages."""
    if translation.colour in asked.get(translation.pair, ()):
        return 0.0
    swatches = CLOSING * A_SWATCH
    if translation.pair in asked:
        return swatches
    return 1.0 + A_DAY * order.on(translation.pair).vendor.lead_days + swatches


def _builds(sheet: SampleSheet) -> Array:
    return np.array([swatch.build.values for swatch in sheet.swatches])


def _controls(known: PairKnowledge) -> Array:
    return np.array([build.values for build in control_builds(known.drive)])
