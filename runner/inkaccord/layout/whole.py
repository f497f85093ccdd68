"""Whole run lengths: how many sheets of each layout, by HiGHS through SciPy."""

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

NODES = 200
"""The most nodes of each search. A count and not a clock, so that results repeat."""
FEW_PARTS = 8
"""Of so many parts the fewest layouts are looked for the longest."""
LAYOUT_NODES = 1000, 600
"""The most nodes of that search: of few parts, of many."""
COLUMNS = 120, 60
"""Up to so many columns it is done: of few parts, of many."""

Numbers = NDArray[np.float64]


@dataclass(frozen=True)
class Demand:
    """What one sheet of each column gives, what is wanted, and what each column takes."""

    copies: Numbers
    """Shape (parts, columns)."""
    wanted: Numbers
    area: Numbers
    """Of each column's sheet."""
    handling: Numbers
    """What a layout costs whatever its run: its set-up and its cutting, in sheets of paper."""

    @property
    def most(self) -> Numbers:
        """The longest run of each column that can be of use."""
        needed = [
            max(math.ceil(q / c) for q, c in zip(self.wanted, column, strict=True) if c)
            for column in self.copies.T
        ]
        return np.array(needed, dtype=float)

    @property
    def paper(self) -> Numbers:
        """Each column's sheet, as a share of the largest."""
        return self.area / float(self.area.max())

    @property
    def is_small(self) -> bool:
        """Whether there is time to ask how many different layouts there are."""
        return len(self.area) <= COLUMNS[self.has_many_parts]

    @property
    def has_many_parts(self) -> bool:
        """Whether there are too many parts to look for few layouts as long as for others."""
        return len(self.wanted) > FEW_PARTS


@dataclass(frozen=True)
class _Task:
    """One search: what a sheet and a layout of each column cost, and what must be kept."""

    demand: Demand
    each_sheet: Numbers
    each_layout: Numbers | None = None
    sheets: tuple[float, float] = (0.0, math.inf)
    paper: float | None = None
    max_layouts: int | None = None
    most: Numbers | None = None
    """The longest run of each column, where it is known better than from the demand."""
    nodes: int = NODES

    @property
    def with_flags(self) -> bool:
        """Whether it is of matter which columns are used at all."""
        return self.each_layout is not None or self.max_layouts is not None


def fewest_sheets(
    demand: Demand, max_layouts: int | None, *, at_least: int
) -> tuple[Numbers | None, bool]:
    """Return run lengths of fewest sheets, then least paper, then fewest layouts.

    Of equally many layouts those are taken that cost the least to handle.

    Parameters
    ----------
    demand
        The columns and what is wanted of them.
    max_layouts
        The most different columns to use.
    at_least
        A proved lower bound on the sheets, which shortens the search.

    Returns
    -------
    tuple
        The run lengths, or None if ``max_layouts`` leaves no way; and whether it is proved that
        these columns cannot do with fewer sheets.
    """
    n = len(demand.area)
    task = _Task(demand, np.ones(n), sheets=(at_least, math.inf), max_layouts=max_layouts)
    best, proved = _solve(task)
    if best is None:
        return None, False
    task = replace(task, sheets=(0.0, float(best.sum())))
    if np.ptp(demand.area) > 0:
        thrifty, _ = _solve(replace(task, each_sheet=demand.paper))
        best = best if thrifty is None else thrifty
        task = replace(task, paper=float(demand.paper @ best))
    if demand.is_small:
        best = _handier(demand, _fewest_layouts(task, best))
    return best, proved


def _fewest_layouts(task: _Task, best: Numbers) -> Numbers:
    """Return run lengths of as few sheets and as little paper, of fewer columns if there are."""
    n = len(best)
    fewer, _ = _solve(
        replace(
            task,
            each_sheet=np.zeros(n),
            each_layout=np.ones(n),
            most=_useful_runs(task),
            nodes=LAYOUT_NODES[task.demand.has_many_parts],
        )
    )
    return best if fewer is None else min(best, fewer, key=np.count_nonzero)


def with_at_most(demand: Demand, layouts: int, *, at_least: int) -> Numbers | None:
    """Return the run lengths of the fewest sheets that were found with so few layouts, or None."""
    if not demand.is_small:
        return None
    task = _Task(demand, demand.paper, sheets=(at_least, math.inf), max_layouts=layouts)
    runs, _ = _solve(task)
    return None if runs is None else _handier(demand, runs)


def _handier(demand: Demand, runs: Numbers) -> Numbers:
    """Return runs of the same lengths, of columns that cost less to handle where they do as well.

    Paper stays the same too: only columns of equal sheets stand in for each other.
    """
    runs = runs.copy()
    for column in np.flatnonzero(runs).tolist():
        run = runs[column]
        others = demand.copies @ runs - demand.copies[:, column] * run
        needed = np.ceil((demand.wanted - others) / run - 1e-9)
        fits = (demand.copies >= needed[:, None]).all(axis=0)
        fits &= (demand.area == demand.area[column]) & (
            (runs == 0) | (np.arange(len(runs)) == column)
        )
        handiest = int(np.argmin(np.where(fits, demand.handling, np.inf)))
        if demand.handling[handiest] < demand.handling[column]:
            runs[column], runs[handiest] = 0.0, run
    return runs


def _useful_runs(task: _Task) -> Numbers:
    """Return the longest run of each column with which the sheets can still be kept.

    A sheet of a column that falls short of the linear prices costs the difference, and the sheets
    to spare above the linear solution pay for so many of them (reduced costs).
    """
    from scipy.optimize import linprog  # noqa: PLC0415 - slow to load

    demand = task.demand
    sheets = task.sheets[1]
    most = np.minimum(demand.most, sheets)
    solved = linprog(np.ones(len(most)), A_ub=-demand.copies, b_ub=-demand.wanted)
    if solved.x is None:
        return most
    short = 1.0 + demand.copies.T @ solved.ineqlin.marginals
    spare = sheets - float(solved.x.sum())
    runs = np.floor(spare / np.maximum(short, 1e-9) + 1e-6)
    return np.where(short > 1e-9, np.minimum(most, np.maximum(runs, 0.0)), most)


def _solve(task: _Task) -> tuple[Numbers | None, bool]:
    """Return the cheapest run lengths and whether that is proved."""
    from scipy.optimize import Bounds, LinearConstraint, milp  # noqa: PLC0415 - slow to load

    demand, n = task.demand, len(task.each_sheet)
    flags = n if task.with_flags else 0
    each_layout = np.zeros(n) if task.each_layout is None else task.each_layout
    most = demand.most if task.most is None else task.most
    tail = np.zeros(flags)
    limits = [
        LinearConstraint(
            np.hstack([demand.copies, np.zeros((len(demand.wanted), flags))]),
            demand.wanted,
            np.inf,
        ),
        LinearConstraint(np.concatenate([np.ones(n), tail]), *task.sheets),
    ]
    if task.paper is not None:
        row = np.concatenate([demand.paper, tail])
        limits.append(LinearConstraint(row, 0, task.paper * (1 + 1e-9)))
    if flags:
        used = np.hstack([np.eye(n), -np.diag(np.maximum(most, 1.0))])
        limits.append(LinearConstraint(used, -np.inf, 0))
        row = np.concatenate([np.zeros(n), tail + 1])
        limits.append(LinearConstraint(row, 0, task.max_layouts or n))
    solved = milp(
        np.concatenate([task.each_sheet, each_layout[:flags]]),
        constraints=limits,
        integrality=np.ones(n + flags, dtype=np.int64),
        bounds=Bounds(0, np.concatenate([most, tail + 1])),
        options={"node_limit": task.nodes},
    )
    if solved.x is None:
        return None, False
    return np.round(solved.x[:n]), solved.status == 0
