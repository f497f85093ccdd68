"""What the ways to print an order take: sheets, layouts, and work at the cutter."""

from collections.abc import Sequence

from inkaccord.layout.cutplan import cut_plan, turns_in
from inkaccord.layout.model import Costs, SheetLayout, Way


def weighed(
    options: Sequence[Sequence[SheetLayout]], costs: Costs | None
) -> tuple[int, tuple[Way, ...]]:
    """Return which option to print, and what is worth telling of all.

    Without costs that are stated the first is printed, which has the fewest sheets, and the others
    are told at what is common practice. An option that another beats in all is not told.
    """
    ways = [way_of(layouts, costs or Costs()) for layouts in options]
    at = 0 if costs is None else min(range(len(ways)), key=lambda n: ways[n].cost)
    ways[at] = ways[at].model_copy(update={"chosen": True})
    several = tuple(dict.fromkeys(ways))
    told = [
        way
        for way in several
        if way.chosen or all(way.gains_on(other) for other in several if other is not way)
    ]
    return at, tuple(told)


def way_of(layouts: Sequence[SheetLayout], costs: Costs) -> Way:
    """Return what a way to print takes, by the cut plans of its layouts."""
    plans = [cut_plan(layout) for layout in layouts]
    settings = [len(plan) for plan in plans]
    turns = [turns_in(plan) for plan in plans]
    mixed = [len({placed.turned for placed in layout.placements}) > 1 for layout in layouts]
    sheets = sum(layout.run for layout in layouts)
    work = sum(
        costs.of_layout(*each[:2], mixed=each[2])
        for each in zip(settings, turns, mixed, strict=True)
    )
    return Way(
        layouts=len(layouts),
        sheets=sheets,
        settings=sum(settings),
        turns=sum(turns),
        mixed=sum(mixed),
        cost=round(sheets + work, 2),
    )
