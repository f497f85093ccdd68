from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from examples_kit import few
from inkaccord.layout.cutplan import BLADES, Cut, cut_plan
from inkaccord.layout.model import (
    Axis,
    Duplex,
    Edge,
    Gutter,
    Item,
    LayoutRules,
    SheetLayout,
    SheetStock,
)
from inkaccord.layout.packing import lay_out
from inkaccord.sizes import Box, Sides, Size
from inkaccord.units import PT_PER_IN, mm

Piece = Callable[..., Item]
SHEET = SheetStock(name="12x18", size=Size.parse("12x18"), margins=Sides.even(12))


def guillotine(layout: SheetLayout) -> list[Box]:
    """Carry a cut plan out on paper and return what is left, waste and all.

    Asserts that each cut is made on papers that are there, from edge to edge, at the measure
    that was set, and through no piece.
    """
    trims = [placed.trim for placed in layout.placements]
    size = layout.sheet.size
    papers = [Box(0, 0, size.width_pt, size.height_pt)]

    def inside(paper: Box) -> list[tuple[object, ...]]:
        return sorted(
            (placed.item, *(round(v, 2) for v in placed.trim.moved(-paper.left, -paper.bottom)))
            for placed in layout.placements
            if paper.holds(placed.trim)
        )

    for cut in cut_plan(layout):
        like = [
            paper
            for paper in papers
            if abs(paper.width - cut.paper.width) < 0.02
            and abs(paper.height - cut.paper.height) < 0.02
            and inside(paper) == inside(cut.paper)
        ]
        assert any(paper == pytest.approx(cut.paper, abs=0.02) for paper in like), str(cut)
        assert len(like) >= cut.times
        like.sort(
            key=lambda paper: (
                abs(paper.left - cut.paper.left) + abs(paper.bottom - cut.paper.bottom)
            )
        )
        for paper in like[: cut.times]:
            at = _at(cut, paper)
            for trim in trims:
                if paper.holds(trim):
                    low, high = (
                        (trim.left, trim.right)
                        if cut.runs is Axis.UPRIGHT
                        else (trim.bottom, trim.top)
                    )
                    assert not low + 0.02 < at < high - 0.02, f"{cut} goes through a piece"
            papers.remove(paper)
            if cut.runs is Axis.UPRIGHT:
                papers += [paper._replace(right=at), paper._replace(left=at)]
            else:
                papers += [paper._replace(top=at), paper._replace(bottom=at)]
    return papers


def _at(cut: Cut, paper: Box) -> float:
    edge = float(getattr(paper, cut.gauge.value))
    inward = 1 if cut.gauge in {Edge.LEFT, Edge.BOTTOM} else -1
    return edge + inward * cut.measure_pt


def check(layout: SheetLayout) -> None:
    left = guillotine(layout)
    for placed in layout.placements:
        assert any(paper == pytest.approx(placed.trim, abs=0.05) for paper in left), placed


def test_plan_of_a_grid(piece: Piece) -> None:
    imposition = lay_out([piece("card", "5in x 7in", 8, may_turn=False)], [SHEET])
    (layout,) = imposition.layouts
    cuts = cut_plan(layout)

    # 2 × 2: four outer cuts, two between one way, then two between the other on both strips.
    assert len(cuts) == 8
    assert [cut.number for cut in cuts] == list(range(1, 9))
    assert [cut.times for cut in cuts] == [1, 1, 1, 1, 1, 1, 2, 2]
    # The first cut takes the left edge off: the right edge lies at the gauge.
    assert cuts[0].gauge is Edge.RIGHT
    assert cuts[0].measure_pt == pytest.approx(864 - layout.placements[0].x_pt)
    # A cut that frees a piece is set to the piece's own size.
    assert cuts[6].measure_pt / PT_PER_IN == pytest.approx(5) or cuts[
        6
    ].measure_pt / PT_PER_IN == pytest.approx(7)
    assert "frees card" in str(cuts[6])
    assert f"{mm(cuts[6].measure_pt):.2f} mm" in str(cuts[6])
    check(layout)


def test_pieces_without_bleed_share_one_cut(piece: Piece) -> None:
    imposition = lay_out([piece("card", "4in x 6in", 4, bleed_pt=0, may_turn=False)], [SHEET])
    cuts = cut_plan(imposition.layouts[0])

    assert imposition.layouts[0].copies_of("card") == 4
    assert len(cuts) == 4 + 1 + 1
    assert cuts[-1].times == 2
    assert cuts[-1].leaves == "card and card"
    check(imposition.layouts[0])


def test_caution_defers_to_the_maker() -> None:
    assert "maker's instructions" in BLADES
    assert "trained" in BLADES


@few(6)
@given(st.data())
def test_every_plan_frees_every_piece(data: st.DataObject) -> None:
    duplex = data.draw(
        st.sampled_from([Duplex.ONE_SIDED, Duplex.WORK_AND_TURN, Duplex.WORK_AND_TUMBLE])
    )
    side = st.sampled_from([2.0, 2.5, 3.5, 4.25, 5.0])
    items = [
        Item(
            name=f"p{k}",
            trim=Size(width_pt=data.draw(side) * PT_PER_IN, height_pt=data.draw(side) * PT_PER_IN),
            bleed_pt=data.draw(st.sampled_from([0.0, 9.0])),
            quantity=data.draw(st.integers(1, 100)),
            sides=1 if duplex is Duplex.ONE_SIDED else 2,
        )
        for k in range(data.draw(st.integers(1, 4)))
    ]
    rules = LayoutRules(duplex=duplex, gutter=data.draw(st.sampled_from(list(Gutter))))

    for layout in lay_out(items, [SHEET], rules).layouts:
        check(layout)
