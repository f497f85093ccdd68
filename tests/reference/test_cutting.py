"""Cutting instances of the literature.

The optima of the unlimited instances and of cgcut1 are proved by exact methods and printed in
the papers named in ``cutting_instances.json``, or were computed exhaustively where a paper
treats another variant (Beasley's instances without limits on copies, value = area; both kinds
were computed independently of this package). The instances were read from copies of OR-Library
and 2DPackLib.
"""

import json
from pathlib import Path
from typing import Any

import pytest

from inkaccord.layout.columns import Bed, sheets_in
from inkaccord.layout.guillotine import Cutter, Part, counts
from inkaccord.layout.patterns import Catalogue
from inkaccord.layout.runs import plan_runs

INSTANCES: dict[str, list[dict[str, Any]]] = json.loads(
    (Path(__file__).parent / "cutting_instances.json").read_text("utf-8")
)


def _named(group: str) -> list[Any]:
    """Return every instance of a group, upright and, where a value is known, with turning."""
    return [
        pytest.param(instance, turned, id=f"{instance['name']}-{'turned' if turned else 'upright'}")
        for instance in INSTANCES[group]
        for turned in (False, True)
        if ("best_turned" if turned else "best") in instance
    ]


@pytest.mark.parametrize(("instance", "turned"), _named("unlimited, value = area"))
def test_unlimited_copies(instance: dict[str, Any], turned: bool) -> None:
    best = instance["best_turned" if turned else "best"]
    parts = [Part(w, h, turned=turned) for w, h in instance["parts"]]
    areas = [w * h for w, h in instance["parts"]]

    value, tree = Cutter(parts, *instance["sheet"]).best([float(area) for area in areas])

    assert value == best
    taken = counts(tree, len(parts))
    assert sum(n * area for n, area in zip(taken, areas, strict=True)) == best


@pytest.mark.parametrize(("instance", "turned"), _named("limited"))
def test_limited_copies(instance: dict[str, Any], turned: bool) -> None:
    parts = [Part(w, h, turned=turned) for w, h, _, _ in instance["parts"]]
    limits = [limit for _, _, limit, _ in instance["parts"]]
    values = [value for _, _, _, value in instance["parts"]]

    mixes = Catalogue(parts, *instance["sheet"], limits).mixes

    best = max(int(mix @ values) for mix in mixes)
    assert best == instance["best_turned" if turned else "best"]


@pytest.mark.parametrize(("instance", "turned"), _named("sheets"))
def test_fewest_sheets(instance: dict[str, Any], turned: bool) -> None:
    demand: dict[tuple[int, int], int] = {}
    for w, h in instance["parts"]:
        demand[w, h] = demand.get((w, h), 0) + 1
    parts = tuple(Part(w, h, turned=turned) for w, h in demand)
    width, height = instance["sheet"]

    runs = plan_runs([Bed(width, height, parts, width * height)], list(demand.values()))

    assert runs is not None
    best = instance["best_turned" if turned else "best"]
    assert sheets_in(runs.options[0]) == runs.lower_bound == best
