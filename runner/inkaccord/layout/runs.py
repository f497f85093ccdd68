"""Which mixes to cut and how many sheets of each, so that every quantity is reached.

Column generation (Gilmore & Gomory 1965, *Operations Research* 13:94–120) with
:class:`inkaccord.layout.guillotine.Cutter` as the pricing step, then whole numbers
(:mod:`inkaccord.layout.whole`). The lower bound is Farley's (1990, *Operations Research*
38:922–923): with any prices ≥ 0, the priced demand divided by the dearest sheet. The work is
bounded by counts, not by a clock, so the same order gives the same sheets on any machine.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from inkaccord.layout.columns import Bed, Chosen, Pool, sheets_in
from inkaccord.layout.guillotine import Cutter, Leaf, Part
from inkaccord.layout.model import Costs
from inkaccord.layout.nearbest import near_best
from inkaccord.layout.patterns import Catalogue, TooManyMixesError

ROUNDS = 60
"""The most rounds of pricing, and four more for every part."""
STATES = 60_000
"""The largest table that is priced exactly; beyond, lengths are rounded to a grid."""
WIDEN = 12
"""Up to so many parts near-best mixes are priced as well."""
GRID = 256
"""Steps of that grid along the longer side."""
LISTED = 24
"""Up to so many parts all mixes are listed, if the bound is not reached otherwise."""
CATALOGUE = 4000
"""The most mixes that the whole-number search takes from a catalogue."""
PLANS = 64
"""The most plans that are kept for the same task met again."""
LEAST_SLACK = 0.15
"""How far below the best sheet a mix may lie, in sheets, to be of use for few layouts; more where
rounding up gives more to spare."""


@dataclass(frozen=True)
class Runs:
    """The ways to reach every quantity that are worth weighing, and what was proved."""

    options: tuple[Chosen, ...]
    """The first has the fewest sheets; the others are less work."""
    lower_bound: int
    method: str


def plan_runs(
    beds: Sequence[Bed],
    demand: Sequence[int],
    *,
    max_layouts: int | None = None,
    costs: Costs | None = None,
) -> Runs | None:
    """Return the fewest sheets, on the least paper, in the fewest different layouts.

    Parameters
    ----------
    beds
        The sheets to choose from; each lists the same parts in the same order. Every part must
        fit on some bed.
    demand
        Copies wanted of each part.
    max_layouts
        The most different layouts; None leaves it open.
    costs
        What work costs, which decides among what is equal in sheets and layouts.

    Returns
    -------
    Runs or None
        None if ``max_layouts`` cannot be kept with the layouts that were found.
    """
    snug = tuple(bed.snug for bed in beds)
    return _planned(snug, tuple(demand), max_layouts, costs or Costs())


@lru_cache(maxsize=PLANS)
def _planned(
    beds: tuple[Bed, ...], demand: tuple[int, ...], max_layouts: int | None, costs: Costs
) -> Runs | None:
    pricing = _Pricing(beds, demand, costs)
    if len(beds) == 1 and len(demand) == 1:
        options = pricing.pool.one_by_one()
        bound = sheets_in(options[0]) if pricing.exact else pricing.area_bound
        return Runs(options, bound, pricing.method)
    bound, method = pricing.generate(), pricing.method
    pricing.widen()
    chosen, _ = pricing.pool.choose(max_layouts, bound)
    if chosen is None or sheets_in(chosen) > bound:
        small = len(demand) <= LISTED
        catalogue = _catalogued(pricing.pool) if small else None
        better, proved = catalogue.choose(max_layouts, bound) if catalogue else (None, False)
        if better is not None and (chosen is None or sheets_in(better) <= sheets_in(chosen)):
            chosen = better
            if proved and max_layouts is None:
                bound = max(bound, sheets_in(better))
                method = "all mixes that straight cuts allow were listed and compared"
    if chosen is None:
        return None
    fewer = pricing.pool.with_fewer(len(chosen), sheets_in(chosen))
    in_order = sorted([chosen, *fewer], key=lambda option: (sheets_in(option), len(option)))
    return Runs(tuple(in_order), bound, method)


def bound_on_sheets(beds: Sequence[Bed], demand: Sequence[int]) -> int:
    """Return how many sheets are needed at least, for beds and parts as in :func:`plan_runs`."""
    return _Pricing([bed.snug for bed in beds], demand, Costs()).generate()


class _Pricing:
    """Generates columns until none helps."""

    def __init__(self, beds: Sequence[Bed], demand: Sequence[int], costs: Costs) -> None:
        self._beds = tuple(beds)
        self._demand = np.array(demand, dtype=float)
        self.pool = Pool(beds, demand, costs)
        made = [_cutter(bed) for bed in beds]
        self._cutters = [cutter for cutter, _ in made]
        self._relaxed = [relaxed for _, relaxed in made]
        self.exact = all(cutter is relaxed for cutter, relaxed in made)
        self.method = (
            "linear bound over all mixes that straight cuts allow"
            if self.exact
            else "linear bound with lengths rounded down to a grid"
        )
        for part in range(len(demand)):
            for bed in range(len(beds)):
                self._alone(bed, part)
        if len(demand) == 1:
            self._straight()

    @property
    def area_bound(self) -> int:
        """Sheets that the area alone asks for, of the most spacious bed."""
        areas = [part.width * part.height for part in self._beds[0].parts]
        room = max(bed.width * bed.height * bed.yields for bed in self._beds)
        return math.ceil(float(np.dot(self._demand, areas)) / room - 1e-9)

    def _price(self, bed: int, values: Sequence[float]) -> float:
        value, tree = self._cutters[bed].best(values)
        if tree is not None:
            self.pool.add(bed, tree)
        return value * self._beds[bed].yields

    def _alone(self, bed: int, part: int) -> None:
        """Add a sheet of one part only; one copy where the grid leaves no room for any."""
        turned = self._beds[bed].turned_if_fits(part)
        if turned is None:
            return
        before = len(self.pool.columns)
        self._price(bed, [float(i == part) for i in range(len(self._demand))])
        if len(self.pool.columns) == before:
            self.pool.add(bed, Leaf(part, turned))

    def _straight(self) -> None:
        """Add sheets on which a single part lies one way: less work where no sheet is lost."""
        for number, bed in enumerate(self._beds):
            (part,) = bed.parts
            for turned in {turned for _, _, turned in part.ways()}:
                one_way = replace(part, upright=not turned, turned=turned)
                _, tree = Cutter([one_way], bed.width, bed.height).best([1.0])
                if tree is not None:
                    self.pool.add(number, tree)

    def _linear(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Return fractional run lengths of least sheets, and the price of each part."""
        from scipy.optimize import linprog  # noqa: PLC0415 - slow to load

        matrix = self.pool.matrix
        solved = linprog(np.ones(matrix.shape[1]), A_ub=-matrix, b_ub=-self._demand, method="highs")
        runs = np.asarray(solved.x, dtype=float)
        return runs, np.maximum(-solved.ineqlin.marginals, 0.0)

    def generate(self) -> int:
        """Add columns until none helps; return the lower bound on sheets."""
        bound = self.area_bound
        prices = np.zeros(len(self._demand))
        for _ in range(ROUNDS + 4 * len(self._demand)):
            runs, prices = self._linear()
            before = len(self.pool.columns)
            dearest = max(self._price(bed, prices.tolist()) for bed in range(len(self._beds)))
            if self.exact:
                bound = max(bound, self._farley(prices, dearest))
            settled = math.ceil(float(runs.sum()) - 1e-6) <= bound
            if settled or dearest <= 1 + 1e-9 or len(self.pool.columns) == before:
                break
        if not self.exact:
            dearest = max(
                cutter.best(prices.tolist())[0] * bed.yields
                for cutter, bed in zip(self._relaxed, self._beds, strict=True)
            )
            bound = max(bound, self._farley(prices, dearest))
        return bound

    def widen(self) -> None:
        """Add mixes that whole run lengths and few layouts need."""
        _, prices = self._linear()
        if len(self._demand) <= WIDEN:
            self._bend(prices)
        self._fill_up()
        self._add_near_best()

    def _farley(self, prices: NDArray[np.float64], dearest: float) -> int:
        return math.ceil(float(prices @ self._demand) / max(dearest, 1.0) - 1e-6)

    def _bend(self, prices: NDArray[np.float64]) -> None:
        """Add near-best mixes, which whole run lengths need more often than the linear ones."""
        for part in range(len(prices)):
            for factor in (0.8, 0.92, 1.08, 1.25):
                bent = prices.copy()
                bent[part] *= factor
                for bed in range(len(self._beds)):
                    self._price(bed, bent.tolist())

    def _add_near_best(self) -> None:
        """Add mixes that are worth nearly as much as the best: few layouts need them."""
        runs, prices = self._linear()
        sheets = float(runs.sum())
        slack = max(LEAST_SLACK, math.ceil(sheets - 1e-6) - sheets)
        areas = np.array([part.width * part.height for part in self._beds[0].parts], dtype=float)
        values = prices + 1e-5 * areas / areas.max()  # what is given away still counts a little
        for number, bed in enumerate(self._beds):
            near = near_best(bed.parts, bed.width, bed.height, values.tolist(), slack / bed.yields)
            for tree in near:
                self.pool.add(number, tree)

    def _fill_up(self) -> None:
        """Add mixes for what is left when the linear solution is rounded down."""
        areas = np.array([part.width * part.height for part in self._beds[0].parts], dtype=float)
        for _ in range(6):
            before = len(self.pool.columns)
            runs, _ = self._linear()
            rest = np.maximum(self._demand - self.pool.matrix @ np.floor(runs + 1e-9), 0.0)
            if not rest.any():
                return
            for bed in range(len(self._beds)):
                self._price(bed, (np.where(rest > 0, areas, 0.0) / areas.max()).tolist())
                self._price(bed, (rest / rest.max()).tolist())
            if len(self.pool.columns) == before:
                return


def _catalogued(known: Pool) -> Pool | None:
    """Return a pool of all maximal mixes of every bed, or None if they are too many."""
    beds, demand = known.beds, known.demand
    pool = Pool(beds, demand, known.costs)
    for index, bed in enumerate(beds):
        most = [
            max((c.copies[i] // bed.yields for c in known.columns if c.bed == index), default=0)
            for i in range(len(demand))
        ]
        limits = [min(n, math.ceil(q / bed.yields)) for n, q in zip(most, demand, strict=True)]
        try:
            catalogue = Catalogue(bed.parts, bed.width, bed.height, limits)
        except TooManyMixesError:
            return None
        if len(pool.columns) + len(catalogue.mixes) > CATALOGUE:
            return None
        for mix in catalogue.mixes.tolist():
            tree = catalogue.tree(mix)
            if tree is not None:
                pool.add(index, tree)
    return pool


def _cutter(bed: Bed) -> tuple[Cutter, Cutter]:
    """Return a cutter whose cuttings can be made, and one whose values bound every cutting.

    They are the same unless the exact table would be too large.
    """
    try:
        cutter = Cutter(bed.parts, bed.width, bed.height)
        if cutter.states <= STATES:
            return cutter, cutter
    except OverflowError:
        pass
    grid = -(-max(bed.width, bed.height) // GRID)
    smaller = [
        Part(max(1, p.width // grid), max(1, p.height // grid), p.upright, p.turned)
        for p in bed.parts
    ]
    larger = [
        Part(-(-p.width // grid), -(-p.height // grid), p.upright, p.turned) for p in bed.parts
    ]
    return (
        Cutter(larger, bed.width // grid, bed.height // grid),
        Cutter(smaller, -(-bed.width // grid), -(-bed.height // grid)),
    )
