"""Gangs of pieces against an independent solver: sheets, and layouts at equal sheets.

Draws gangs by a seed and lays each as an order would be laid. For each the other side lists every
mix that straight cuts can take from a sheet with a plain recursion of its own, and lets OR-Tools
CP-SAT find the fewest sheets of all of them, then the fewest layouts with so many sheets. Both of
its searches are bounded by work, not by a clock. A gang whose mixes are too many for the recursion
is drawn again.

Usage: ``python tests/benchmarks/gangs.py [--gangs 30] [--seed 17] [--quick] [--json]``
"""

import argparse
import json
import math
import random
from dataclasses import asdict, dataclass
from functools import cache

from ortools.sat.python import cp_model

from inkaccord.layout.model import Item, LayoutRules, SheetStock
from inkaccord.layout.packing import lay_out
from inkaccord.sizes import Sides, Size
from inkaccord.units import inches, millimetres

SIZES_IN = [(2, 3.5), (3.5, 5), (4, 6), (4, 9), (4.25, 5.5), (5, 5), (5, 7), (5.5, 8.5), (6, 6)]
SHEETS_IN = [(12, 18), (13, 19)]
BLEED = inches(1 / 8)
MARGIN = millimetres(4.2)
MIXES = 1500
"""The most mixes of a rectangle that the other side lists."""
WORK = 30.0
"""Of each search of the other side, in its own units of work (seconds, roughly)."""


@dataclass(frozen=True)
class Gang:
    """Pieces in inches with their quantities, and the sheet."""

    sheet: tuple[float, float]
    pieces: tuple[tuple[float, float], ...]
    quantities: tuple[int, ...]


@dataclass(frozen=True)
class Row:
    """What both sides make of one gang."""

    pieces: int
    mixes: int
    sheets: int
    layouts: int
    other_sheets: int
    other_layouts: int
    proved: bool
    """Whether the other side proved both of its numbers."""


def draw(chance: random.Random) -> Gang:
    """Draw three to five pieces, 20 to 300 of each."""
    count = chance.randint(3, 5)
    return Gang(
        chance.choice(SHEETS_IN),
        tuple(chance.sample(SIZES_IN, count)),
        tuple(chance.randint(20, 300) for _ in range(count)),
    )


def ours(gang: Gang) -> tuple[int, int]:
    """Return sheets and layouts as an order gets them."""
    items = [
        Item(
            name=f"p{number}",
            trim=Size(width_pt=inches(width), height_pt=inches(height)),
            bleed_pt=BLEED,
            quantity=quantity,
        )
        for number, ((width, height), quantity) in enumerate(
            zip(gang.pieces, gang.quantities, strict=True)
        )
    ]
    size = Size(width_pt=inches(gang.sheet[0]), height_pt=inches(gang.sheet[1]))
    sheet = SheetStock(name="sheet", size=size, margins=Sides.even(MARGIN))
    laid = lay_out(items, [sheet], LayoutRules(between_pt=inches(1 / 4)))
    assert all(laid.printed[item.name] >= item.quantity for item in items)
    return laid.sheets, len(laid.layouts)


class TooManyError(Exception):
    """There are more mixes than can be listed."""


def all_mixes(gang: Gang) -> list[tuple[int, ...]]:
    """Return every mix that straight cuts can take from the sheet; none lies under another.

    Lengths in thousandths of an inch; a cell is a trim with its bleed.
    """
    wide, high = (math.floor(1000 * (side - 2 * 4.2 / 25.4) + 1e-6) for side in gang.sheet)
    cells = [(round(1000 * w) + 250, round(1000 * h) + 250) for w, h in gang.pieces]
    ways = {(w, h, n) for n, (a, b) in enumerate(cells) for w, h in ((a, b), (b, a))}

    def sums(lengths: set[int], limit: int) -> list[int]:
        reached = {0}
        for length in range(1, limit + 1):
            if any(length - step in reached for step in lengths):
                reached.add(length)
        return sorted(reached)

    across = sums({w for w, _, _ in ways}, wide)
    upward = sums({h for _, h, _ in ways}, high)

    def down(points: list[int], length: int) -> int:
        return max(point for point in points if point <= length)

    @cache
    def mixes(width: int, height: int) -> frozenset[tuple[int, ...]]:
        found = {(0,) * len(cells)}
        for w, h, piece in ways:
            if w <= width and h <= height:
                found.add(tuple(int(n == piece) for n in range(len(cells))))
        for cut in across:
            if 0 < cut <= width // 2:
                found |= both(mixes(cut, height), mixes(down(across, width - cut), height))
        for cut in upward:
            if 0 < cut <= height // 2:
                found |= both(mixes(width, cut), mixes(width, down(upward, height - cut)))
        return frozenset(undominated(found))

    return sorted(mixes(down(across, wide), down(upward, high)))


def both(
    one: frozenset[tuple[int, ...]], other: frozenset[tuple[int, ...]]
) -> set[tuple[int, ...]]:
    """Return the sums of every two mixes. Raises TooManyError."""
    if len(one) * len(other) > 40 * MIXES:
        raise TooManyError
    return {tuple(map(sum, zip(a, b, strict=True))) for a in one for b in other}


def undominated(found: set[tuple[int, ...]]) -> list[tuple[int, ...]]:
    """Return the mixes of which none lies under another. Raises TooManyError."""
    kept: list[tuple[int, ...]] = []
    for mix in sorted(found, key=sum, reverse=True):
        if not any(all(map(int.__le__, mix, over)) for over in kept):
            kept.append(mix)
        if len(kept) > MIXES:
            raise TooManyError
    return kept


def other_side(gang: Gang, mixes: list[tuple[int, ...]]) -> tuple[int, int, bool]:
    """Return sheets and layouts that CP-SAT finds, and whether it proved them."""
    sheets, first = _solve(gang, mixes, None)
    layouts, second = _solve(gang, mixes, sheets)
    return sheets, layouts, first and second


def _solve(gang: Gang, mixes: list[tuple[int, ...]], sheets: int | None) -> tuple[int, bool]:
    model = cp_model.CpModel()
    most = [
        max(math.ceil(q / n) for q, n in zip(gang.quantities, mix, strict=True) if n)
        for mix in mixes
    ]
    runs = [model.new_int_var(0, longest, "") for longest in most]
    for piece, quantity in enumerate(gang.quantities):
        model.add(
            sum(mix[piece] * run for mix, run in zip(mixes, runs, strict=True) if mix[piece])
            >= quantity
        )
    if sheets is None:
        model.minimize(sum(runs))
    else:
        used = [model.new_bool_var("") for _ in mixes]
        for run, flag, longest in zip(runs, used, most, strict=True):
            model.add(run <= longest * flag)
        model.add(sum(runs) <= sheets)
        model.minimize(sum(used))
    solver = cp_model.CpSolver()
    solver.parameters.max_deterministic_time = WORK
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    status = solver.solve(model)
    if status not in {cp_model.OPTIMAL, cp_model.FEASIBLE}:
        raise TooManyError
    return round(solver.objective_value), status == cp_model.OPTIMAL


def compare(gangs: int, seed: int) -> list[Row]:
    """Draw gangs until so many are compared."""
    chance = random.Random(seed)
    rows: list[Row] = []
    while len(rows) < gangs:
        gang = draw(chance)
        try:
            mixes = all_mixes(gang)
            other_sheets, other_layouts, proved = other_side(gang, mixes)
        except TooManyError:
            continue
        sheets, layouts = ours(gang)
        rows.append(
            Row(len(gang.pieces), len(mixes), sheets, layouts, other_sheets, other_layouts, proved)
        )
    return rows


def worse(rows: list[Row]) -> list[Row]:
    """Return where the other side has fewer sheets, or as many in fewer layouts."""
    return [row for row in rows
            if (row.other_sheets, row.other_layouts) < (row.sheets, row.layouts)]  # fmt: skip


def main() -> None:
    """Compare and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--gangs", type=int, default=30)
    parser.add_argument("--seed", type=int, default=17)
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--quick", action="store_true", help="three gangs")
    options = parser.parse_args()
    rows = compare(3 if options.quick else options.gangs, options.seed)
    if options.json:
        print(json.dumps([asdict(row) for row in rows], indent=2))
        return
    print("pieces  mixes   sheets layouts   other: sheets layouts  proved")
    for row in rows:
        proved = "yes" if row.proved else "no"
        print(f"{row.pieces:6d} {row.mixes:6d} {row.sheets:8d} {row.layouts:7d} "
              f"{row.other_sheets:15d} {row.other_layouts:7d}  {proved}")  # fmt: skip
    print(f"{len(worse(rows))} of {len(rows)} gangs are worse than the other side's")


if __name__ == "__main__":
    main()
