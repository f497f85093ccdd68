import itertools
import math
from collections.abc import Callable, Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from examples_kit import few
from inkaccord.errors import OrderError
from inkaccord.layout.columns import Bed
from inkaccord.layout.duplex import back_of, register_error_pt
from inkaccord.layout.fitting import too_large, usable
from inkaccord.layout.guillotine import Part
from inkaccord.layout.model import (
    Axis,
    Duplex,
    Fold,
    Gripper,
    Gutter,
    Imposition,
    Item,
    LayoutRules,
    SheetStock,
)
from inkaccord.layout.packing import lay_out
from inkaccord.layout.runs import bound_on_sheets, plan_runs
from inkaccord.sizes import Box, Sides, Size
from inkaccord.units import PT_PER_IN, PT_PER_MM

Piece = Callable[..., Item]
Cuttable = Callable[[Sequence[Box]], bool]


def stock(size: str = "12x18", margin_pt: float = 12.0, **more: object) -> SheetStock:
    return SheetStock.model_validate(
        {"name": size, "size": size, "margins": Sides.even(margin_pt), **more}
    )


def check(imposition: Imposition, rules: LayoutRules, cuttable: Cuttable) -> None:
    """Check what must hold of every imposition."""
    for item in imposition.items:
        assert imposition.printed[item.name] >= item.quantity
    assert imposition.sheets >= imposition.lower_bound
    for layout in imposition.layouts:
        room = usable(layout.sheet, rules)
        trims = [placed.trim for placed in layout.placements]
        for k, placed in enumerate(layout.placements):
            assert room.holds(placed.bleed, 1e-3)
            for other in layout.placements[k + 1 :]:
                assert not placed.trim.meets(other.trim, 1e-3)
                if rules.gutter is Gutter.TOUCH:
                    assert not placed.bleed.meets(other.bleed, 1e-3)
        assert cuttable(trims)
        back = back_of(layout, imposition.items)
        assert register_error_pt(layout, back) < 0.01


def test_one_piece_fills_the_sheet_in_a_grid(piece: Piece, cuttable: Cuttable) -> None:
    # 3.5 in and 2 in with 1/8 in bleed: 5 across of 2.25, 4 down of 3.75 in 11.67 × 17.67 in.
    imposition = lay_out([piece("card", "2in x 3.5in", 100, may_turn=False)], [stock()])

    (layout,) = imposition.layouts
    assert layout.copies_of("card") == 20
    assert imposition.sheets == imposition.lower_bound == 5
    assert imposition.gap == 0
    check(imposition, LayoutRules(), cuttable)


def test_exact_fit_in_millimetres(piece: Piece) -> None:
    # Three times 90 mm on 270 mm must not fail by a rounding error.
    sheet = stock("270mm x 55mm", 0.0)
    imposition = lay_out([piece("card", "90mm x 55mm", 3, bleed_pt=0)], [sheet])

    assert imposition.sheets == 1


def test_mixing_saves_sheets(piece: Piece, cuttable: Cuttable) -> None:
    items = [piece("wide", "11in x 9in", 100), piece("low", "11in x 8in", 100)]
    sheet = stock()

    apart = sum(lay_out([item], [sheet]).sheets for item in items)
    together = lay_out(items, [sheet])

    assert apart == 150
    assert together.sheets == together.lower_bound == 100
    check(together, LayoutRules(), cuttable)


def test_smallest_sheet_that_does_as_well_is_taken(piece: Piece) -> None:
    sheets = [stock("13x19"), stock("letter"), stock("12x18")]
    imposition = lay_out([piece("card", "7in x 10in", 10)], sheets)

    # Larger sheets take two, so they need fewer; 12 × 18 in wastes less than 13 × 19 in.
    assert {layout.sheet.name for layout in imposition.layouts} == {"12x18"}
    assert imposition.sheets == 5


def test_share_gutter_is_half_as_wide(piece: Piece) -> None:
    items = [piece("card", "2in x 3.5in", 8, may_turn=False)]
    touch = lay_out(items, [stock()]).layouts[0].placements
    share = lay_out(items, [stock()], LayoutRules(gutter=Gutter.SHARE))

    def gaps(placements: Sequence[object]) -> float:
        lefts = sorted({round(p.x_pt, 3) for p in placements})  # type: ignore[attr-defined]
        return min(b - a for a, b in itertools.pairwise(lefts))

    assert gaps(touch) == pytest.approx(2 * PT_PER_IN + 18)
    assert gaps(share.layouts[0].placements) == pytest.approx(2 * PT_PER_IN + 9)
    assert [f.code for f in share.findings] == ["bleed-shared"]


def test_wider_gutter_keeps_bleed_at_the_edge(piece: Piece, cuttable: Cuttable) -> None:
    rules = LayoutRules(between_pt=10 * PT_PER_MM)
    item = piece("card", "90mm x 50mm", 8, bleed_pt=3 * PT_PER_MM, may_turn=False)
    # 2 × 90 + 10 between + 2 × 3 at the edges = 196 mm.
    imposition = lay_out([item], [stock("196mm x 236mm", 0.0)], rules)

    assert imposition.layouts[0].copies_of("card") == 8
    check(imposition, rules, cuttable)


def test_grain_decides_how_a_piece_lies(piece: Piece) -> None:
    folded = piece(
        "programme",
        "11in x 8.5in",
        10,
        grain=Axis.UPRIGHT,
        folds=(Fold(runs=Axis.UPRIGHT, at_pt=396),),
    )
    along = lay_out([folded], [stock(grain=Axis.UPRIGHT)])
    across = lay_out([folded], [stock(grain=Axis.LEVEL)])

    assert {p.rotation for p in along.layouts[0].placements} == {0}
    assert {p.rotation for p in across.layouts[0].placements} == {90}
    assert not along.findings
    assert not across.findings


def test_fold_across_the_grain_is_reported(piece: Piece) -> None:
    folded = piece(
        "programme", "11in x 8.5in", 10, may_turn=False, folds=(Fold(runs=Axis.LEVEL, at_pt=306),)
    )
    findings = lay_out([folded], [stock(grain=Axis.UPRIGHT)]).findings
    unknown = lay_out([folded], [stock()]).findings

    assert [f.code for f in findings] == ["fold-across-grain"]
    assert [f.code for f in unknown] == ["grain-unknown"]


@pytest.mark.parametrize("duplex", [Duplex.WORK_AND_TURN, Duplex.WORK_AND_TUMBLE])
@pytest.mark.parametrize("edge", ["bottom", "left"])
def test_one_forme_prints_both_sides(
    piece: Piece, cuttable: Cuttable, duplex: Duplex, edge: str
) -> None:
    rules = LayoutRules(duplex=duplex)
    sheet = stock(gripper=Gripper.model_validate({"edge": edge, "depth_pt": 28.0}))
    items = [
        piece("invitation", "5in x 7in", 30, sides=2),
        piece("tag", "2in x 3.5in", 60, sides=2),
    ]

    imposition = lay_out(items, [sheet], rules)

    check(imposition, rules, cuttable)
    for layout in imposition.layouts:
        fronts = [p for p in layout.placements if p.side == 1]
        assert len(fronts) * 2 == len(layout.placements)
        if duplex is Duplex.WORK_AND_TUMBLE:  # the gripper takes either edge in turn
            used = layout.used
            ends = (
                (used.bottom, sheet.size.height_pt - used.top)
                if edge == "bottom"
                else (used.left, sheet.size.width_pt - used.right)
            )
            assert min(ends) >= 28.0 - 1e-6


def test_max_layouts(piece: Piece) -> None:
    items = [piece("a", "5in x 7in", 40), piece("b", "4.25in x 5.5in", 60)]
    two = lay_out(items, [stock()], LayoutRules(max_layouts=2))
    one = lay_out(items, [stock()], LayoutRules(max_layouts=1))

    assert len(two.layouts) <= 2
    assert len(one.layouts) == 1
    assert one.sheets >= two.sheets


def test_wrong_orders_are_refused_with_a_mend(piece: Piece) -> None:
    card = piece("card", "5in x 7in", 10, sides=2)
    with pytest.raises(OrderError, match="two sides"):
        lay_out([card], [stock()])
    with pytest.raises(OrderError, match="two pieces are named card"):
        lay_out([card, card], [stock()], LayoutRules(duplex=Duplex.LONG_EDGE))
    with pytest.raises(OrderError, match=r"fits on no sheet.*letter leaves") as caught:
        lay_out([piece("poster", "20in x 30in", 10)], [stock("letter")])
    assert caught.value.findings[0].hint
    with pytest.raises(OrderError, match="one side"):
        lay_out([piece("card", "2in x 2in")], [stock()], LayoutRules(duplex=Duplex.WORK_AND_TURN))
    with pytest.raises(OrderError, match="at least one piece"):
        lay_out([], [stock()])


SIZES_IN = st.sampled_from([2.0, 2.5, 3.5, 4.25, 5.0, 5.5])  # half of 13 in takes them all


@few(8)
@given(st.data())
def test_every_imposition_is_sound(cuttable: Cuttable, data: st.DataObject) -> None:
    duplex = data.draw(st.sampled_from(list(Duplex)))
    sides = 1 if duplex is Duplex.ONE_SIDED else 2
    items = [
        Item(
            name=f"p{k}",
            trim=Size(
                width_pt=data.draw(SIZES_IN) * PT_PER_IN, height_pt=data.draw(SIZES_IN) * PT_PER_IN
            ),
            bleed_pt=data.draw(st.sampled_from([0.0, 9.0, 3 * PT_PER_MM])),
            quantity=data.draw(st.integers(1, 300)),
            sides=sides,
            may_turn=data.draw(st.booleans()),
        )
        for k in range(data.draw(st.integers(1, 3)))
    ]
    rules = LayoutRules(
        duplex=duplex,
        gutter=data.draw(st.sampled_from(list(Gutter))),
        between_pt=data.draw(st.sampled_from([0.0, 20.0])),
        frame=Sides(bottom=data.draw(st.sampled_from([0.0, 24.0]))),
    )
    margins = Sides(
        left=data.draw(st.sampled_from([0.0, 12.0])),
        top=data.draw(st.sampled_from([6.0, 18.0])),
    )
    gripper = data.draw(st.sampled_from([None, Gripper(depth_pt=28.0)]))
    sheet = SheetStock(name="sheet", size=Size.parse("13x19"), margins=margins, gripper=gripper)

    imposition = lay_out(items, [sheet], rules)

    check(imposition, rules, cuttable)
    area = sum(i.quantity * i.trim.width_pt * i.trim.height_pt for i in items)
    assert imposition.lower_bound >= math.ceil(
        area / (sheet.size.width_pt * sheet.size.height_pt) - 1e-9
    )


@pytest.mark.slow
def test_many_pieces_stay_within_a_stated_gap(piece: Piece, cuttable: Cuttable) -> None:
    # 14 different sizes: far too many for an exact table, so the bound comes from a grid.
    items = [
        piece(f"p{k}", f"{40 + 7.3 * k:.1f}mm x {55 + 3.1 * k:.1f}mm", 40 + 13 * k)
        for k in range(14)
    ]
    imposition = lay_out(items, [stock("13x19")])

    check(imposition, LayoutRules(), cuttable)
    assert imposition.gap / imposition.lower_bound < 0.10
    if imposition.gap:
        assert "sheets-above-bound" in {finding.code for finding in imposition.findings}


def test_sheets_that_differ_by_a_rim_no_piece_reaches_are_planned_once() -> None:
    # Sums of 30 and 45 up to 105: 30, 45, 60, 75, 90 and 105.
    parts = (Part(30, 45, turned=True), Part(45, 45))
    rimmed, bare = (Bed(side, side, parts, 1.0) for side in (104, 90))
    assert (bare.snug, rimmed.snug) == (bare, bare)
    assert plan_runs([rimmed], [70, 9]) is plan_runs([bare], [70, 9])
    assert bound_on_sheets([rimmed], [70, 9]) == bound_on_sheets([bare], [70, 9])
    wider = Bed(105, 90, parts, 1.0)
    assert wider.snug == wider


@pytest.mark.parametrize("duplex", [Duplex.WORK_AND_TURN, Duplex.WORK_AND_TUMBLE])
def test_a_piece_too_large_for_half_a_sheet_is_told_of_two_formes(
    duplex: Duplex, piece: Piece
) -> None:
    """What is left of a half was said to be what margins leave of the sheet."""
    leaflet = piece("leaflet", "320mm x 450mm")
    sheet = stock("480mm x 660mm")
    said = too_large(leaflet, [sheet], LayoutRules(duplex=duplex))
    assert "on each half of it inside its margins" in said.message
    assert f"it would go with two formes: {duplex.value}" in said.message
    assert "'turning: sheetwise'" in (said.hint or "")
    poster = too_large(piece("poster", "700mm x 900mm"), [sheet], LayoutRules(duplex=duplex))
    assert "larger than the sheet itself" in poster.message
    lay_out([leaflet], [sheet], LayoutRules(duplex=Duplex.SHEETWISE))
