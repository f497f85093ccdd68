"""Sheets against layouts and work at the cutter: what is printed, and what is told."""

import pytest

from inkaccord.layout.model import Costs, Item, LayoutRules, SheetStock
from inkaccord.layout.packing import lay_out
from inkaccord.sizes import Sides, Size

SHEET = SheetStock(name="12x18", size=Size.parse("12x18"), margins=Sides.even(11.9))
FIVE = {"4in x 6in": 79, "5in x 5in": 99, "2in x 3.5in": 225, "4in x 4in": 152, "5.5in x 8.5in": 86}


def pieces(quantities):
    return [
        Item(name=trim, trim=Size.parse(trim), bleed_pt=9, quantity=quantity)
        for trim, quantity in quantities.items()
    ]


@pytest.fixture(scope="module")
def laid():
    return lay_out(pieces(FIVE), [SHEET], LayoutRules(between_pt=18))


def test_as_few_layouts_as_an_independent_solver_finds(laid):
    """Of all mixes that straight cuts allow, OR-Tools CP-SAT proves 73 sheets and 4 layouts.

    `other_side` of tests/benchmarks/gangs.py, for these pieces on this sheet.
    """
    assert (laid.sheets, len(laid.layouts)) == (73, 4)


def test_every_way_that_is_told_gains_something(laid):
    chosen, *others = laid.ways
    assert chosen.chosen
    assert (chosen.sheets, chosen.layouts) == (laid.sheets, len(laid.layouts))
    assert others
    for fewer, more in zip(others, laid.ways, strict=False):
        assert not fewer.chosen
        assert fewer.sheets > more.sheets
        assert fewer.layouts <= more.layouts
        assert fewer.cost - fewer.sheets < more.cost - more.sheets


@pytest.mark.slow
def test_stated_costs_decide(laid):
    dear = LayoutRules(between_pt=18, costs=Costs(layout=500, setting=0, turn=0, mixed=0))
    one = lay_out(pieces(FIVE), [SHEET], dear)
    assert len(one.layouts) == 1
    assert one.sheets > laid.sheets
    (chosen,) = (way for way in one.ways if way.chosen)
    assert chosen.cost == one.sheets + 500
    free = LayoutRules(between_pt=18, costs=Costs(layout=0, setting=0, turn=0, mixed=0))
    assert lay_out(pieces(FIVE), [SHEET], free).sheets == laid.sheets


def test_one_piece_lies_one_way_where_that_takes_no_sheet_more():
    """23 go on a sheet in both directions, 21 in one: for 100 either takes five."""
    (layout,) = lay_out(pieces({"2in x 3.5in": 100}), [SHEET], LayoutRules(between_pt=18)).layouts
    assert len({placed.turned for placed in layout.placements}) == 1
    assert layout.run == 5
    many = lay_out(pieces({"2in x 3.5in": 1000}), [SHEET], LayoutRules(between_pt=18))
    assert many.sheets == 44
    assert [(way.sheets, way.mixed) for way in many.ways][:2] == [(44, 1), (48, 0)]
    plain = LayoutRules(between_pt=18, costs=Costs(layout=0, setting=0, turn=0, mixed=10))
    assert lay_out(pieces({"2in x 3.5in": 1000}), [SHEET], plain).sheets == 48
