"""Whole run lengths: how many sheets of each layout, by HiGHS through SciPy."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

NODES = 200
"""The most nodes of each search. A count and not a clock, so that results repeat."""
LAYOUTS = 60
"""Up to so many columns the number of different layouts is made small as well."""


@dataclass(frozen=True)
class Demand:
    """What one sheet of each column gives, what is wanted, and each column's sheet area."""

    copies: NDArray[np.float64]
    """Shape (parts, columns)."""
    wanted: NDArray[np.float64]
    area: NDArray[np.float64]

    @property
    def most(self) -> NDArray[np.float64]:
        """The longest run of each column that can be of use."""
        needed = [
            max(math.ceil(q / c) for q, c in zip(self.wanted, column, strict=True) if c)
            for column in self.copies.T
        ]
        return np.array(needed, dtype=float)


def fewest_sheets(
    demand: Demand, max_layouts: int | None = None, *, at_least: int = 0
) -> tuple[NDArray[np.float64] | None, bool]:
    """Return run lengths of fewest sheets, then least paper, then fewest layouts.

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
    best, proved = _solve(demand, np.ones(n), sheets=(at_least, np.inf), max_layouts=max_layouts)
    if best is None:
        return None, False
    sheets = 0.0, float(best.sum())
    area = demand.area / demand.area.max()
    paper: float | None = None
    if np.ptp(area) > 0:
        thrifty, _ = _solve(demand, area, sheets=sheets, max_layouts=max_layouts)
        best = best if thrifty is None else thrifty
        paper = float(area @ best)
    if n <= LAYOUTS and np.count_nonzero(best) > 2:
        fewest, _ = _solve(demand, np.zeros(n), sheets=sheets, paper=paper, max_layouts=n, flag=1.0)
        best = best if fewest is None else fewest
    return best, proved


def _solve(
    demand: Demand,
    cost: NDArray[np.float64],
    *,
    sheets: tuple[float, float],
    paper: float | None = None,
    max_layouts: int | None = None,
    flag: float = 0.0,
) -> tuple[NDArray[np.float64] | None, bool]:
    """Return the cheapest run lengths and whether that is proved.

    ``flag`` is what the use of a column costs, whatever its run.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp  # noqa: PLC0415 - slow to load

    n = len(cost)
    flags = 0 if max_layouts is None else n
    tail = np.zeros(flags)
    limits = [
        LinearConstraint(
            np.hstack([demand.copies, np.zeros((len(demand.wanted), flags))]),
            demand.wanted,
            np.inf,
        ),
        LinearConstraint(np.concatenate([np.ones(n), tail]), *sheets),
    ]
    if paper is not None:
        area = demand.area / demand.area.max()
        limits.append(LinearConstraint(np.concatenate([area, tail]), 0, paper * (1 + 1e-9)))
    if max_layouts is not None:
        used = np.hstack([np.eye(n), -np.diag(demand.most)])
        limits.append(LinearConstraint(used, -np.inf, 0))
        limits.append(LinearConstraint(np.concatenate([np.zeros(n), tail + 1]), 0, max_layouts))
    solved = milp(
        np.concatenate([cost, tail + flag]),
        constraints=limits,
        integrality=np.ones(n + flags, dtype=np.int64),
        bounds=Bounds(0, np.concatenate([demand.most, tail + 1])),
        options={"node_limit": NODES},
    )
    if solved.x is None:
        return None, False
    return np.round(solved.x[:n]), solved.status == 0
