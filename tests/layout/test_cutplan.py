"""Cut plans, carried out on the written sheets by a guillotine that reads the printed lines."""

import io
from collections import Counter
from collections.abc import Callable, Sequence

import pikepdf
import pytest
from hypothesis import given
from hypothesis import strategies as st

from examples_kit import few
from guillotine_kit import Copy, Guillotine, copies_on
from inkaccord.cautions import BLADES
from inkaccord.drawing.canvas import Drawing
from inkaccord.layout.countdown import LEAST_SETTING_PT
from inkaccord.layout.cutplan import LIES, below_least, cut_plan, in_both_units, turns_in
from inkaccord.layout.impose import impose_sheets
from inkaccord.layout.model import (
    Duplex,
    Edge,
    Gripper,
    Gutter,
    Imposition,
    Item,
    LayoutRules,
    SheetLayout,
    SheetStock,
)
from inkaccord.layout.packing import lay_out
from inkaccord.layout.rules import ImposeRules
from inkaccord.sizes import Sides, Size
from inkaccord.units import PT_PER_MM

Piece = Callable[..., Item]
SHEET = SheetStock(name="12x18", size=Size.parse("12x18"), margins=Sides.even(12))
PRESS = SheetStock(
    name="sra3", size=Size.parse("sra3"), margins=Sides.even(8), gripper=Gripper(depth_pt=30),
    side_lay=Edge.RIGHT,
)  # fmt: skip


def art(number: int, item: Item) -> bytes:
    """Return artwork whose grey tells which side of which piece it is."""
    bleed = item.bleed_pt
    full = Size(width_pt=item.trim.width_pt + 2 * bleed, height_pt=item.trim.height_pt + 2 * bleed)
    drawing = Drawing(full, title="art")
    trim = (bleed, bleed, bleed + item.trim.width_pt, bleed + item.trim.height_pt)
    drawing.page(full, trim_pt=trim, bleed_pt=bleed)
    drawing.canvas.setFillColorCMYK(0, 0, 0, number / 1000)
    drawing.canvas.rect(0, 0, full.width_pt, full.height_pt, stroke=0, fill=1)
    drawing.canvas.showPage()
    return drawing.bytes()


def written(imposition: Imposition) -> list[list[tuple[str, Copy]]]:
    """Write the sheets and read them back: for every page, which side of which piece lies where."""
    sides = [(item.name, side) for item in imposition.items for side in range(1, item.sides + 1)]
    items = {item.name: item for item in imposition.items}
    arts = {key: art(at, items[key[0]]) for at, key in enumerate(sides, start=1)}
    data = impose_sheets(arts, imposition, ImposeRules()).data
    with pikepdf.open(io.BytesIO(data)) as pdf:
        pages = [copies_on(page) for page in pdf.pages]
    grey = {f"{at / 1000:g}".lstrip("0").encode(): key for at, key in enumerate(sides, start=1)}

    def whose(copy: Copy) -> str:
        (key,) = {key for tone, key in grey.items() if b"0 0 0 " + tone + b" k" in copy.form}
        return f"{key[0]}/{key[1]}"

    return [[(whose(copy), copy) for copy in page] for page in pages]


def carry_out(
    layout: SheetLayout, front: Sequence[tuple[str, Copy]], least_pt: float = LEAST_SETTING_PT
) -> Guillotine:
    """Cut the front of a written sheet as the printed lines say; every piece must come out."""
    size = layout.sheet.size
    pieces = [(name.partition("/")[0], copy.box) for name, copy in front]
    plan = cut_plan(layout, least_pt)
    shown = {cut.number: cut.ends for cut in plan}
    table = Guillotine(size.width_pt, size.height_pt, pieces, shown)
    table.cut_all([str(cut) for cut in plan])
    assert Counter(name for name, _ in table.loose) == Counter(name for name, _ in pieces)
    for name, paper in table.loose:
        assert any(name == it and paper == pytest.approx(box, abs=0.1) for it, box in pieces)
    assert turns_in(plan) == table.turns
    return table


def check_backs(
    layout: SheetLayout, front: Sequence[tuple[str, Copy]], back: Sequence[tuple[str, Copy]]
) -> None:
    """Behind the front of each piece lies its back, head to head as a page is turned."""
    width = layout.sheet.size.width_pt
    behind = {
        (name.partition("/")[0], *(round(v, 1) for v in (width - c.box[2], c.box[1])))
        for name, c in back
        if name.endswith("/2")
    }
    fronts = {
        (name.partition("/")[0], round(c.box[0], 1), round(c.box[1], 1))
        for name, c in front
        if name.endswith("/1")
    }
    assert fronts == behind


def test_a_grid_of_24_turns_the_pile_three_times_where_a_foreman_needs_four_or_five(
    piece: Piece,
) -> None:
    """Four by six: edge by edge as it was planned before, 20 turns in 22 settings."""
    card = piece("card", "2.5in x 2.5in", 240, bleed_pt=4.5, may_turn=False)
    sheet = SHEET.model_copy(update={"margins": Sides.even(6)})
    imposition = lay_out([card], [sheet], LayoutRules())
    (layout,) = imposition.layouts
    assert layout.copies_of("card") == 24
    (front,) = written(imposition)
    table = carry_out(layout, front)
    assert table.turns == 3
    assert len(cut_plan(layout)) == 2 * 4 + 2 * 6
    assert table.smallest_mm >= 35


def test_pieces_without_bleed_share_one_cut(piece: Piece) -> None:
    imposition = lay_out([piece("card", "4in x 6in", 4, bleed_pt=0, may_turn=False)], [SHEET])
    (layout,) = imposition.layouts
    cuts = cut_plan(layout)
    assert len(cuts) == 3 + 3
    assert cuts[-1].frees == "2 piles of card"
    carry_out(layout, written(imposition)[0])


def test_cutting_begins_from_the_side_lay_and_the_gripper_edge(piece: Piece) -> None:
    card = piece("card", "55mm x 85mm", 200, sides=2)
    for duplex in (Duplex.SHEETWISE, Duplex.WORK_AND_TURN):
        imposition = lay_out([card], [PRESS], LayoutRules(duplex=duplex))
        for layout, front in zip(imposition.layouts, written(imposition), strict=False):
            cuts = cut_plan(layout)
            begun = {cut.runs: cut for cut in reversed(cuts)}
            assert {cut.gauge for cut in begun.values()} == {Edge.RIGHT, Edge.BOTTOM}
            assert {cut.lay for cut in begun.values()} == {"side lay", "gripper edge"}
            carry_out(layout, front)


def test_what_the_clamp_can_not_reach_is_cut_from_the_other_edge_or_named(piece: Piece) -> None:
    tag = piece("tag", "1in x 4in", 40, may_turn=False)
    imposition = lay_out([tag], [SHEET])
    (layout,) = imposition.layouts
    (front,) = written(imposition)
    table = carry_out(layout, front, 30 * PT_PER_MM)
    assert table.smallest_mm >= 30
    (below,) = [cut for cut in cut_plan(layout, 30 * PT_PER_MM) if cut.too_near]
    assert below.measure_pt == pytest.approx(72)
    assert "25.40 mm (1.000 in), below the least setting of 30.00 mm (1.181 in)" in str(below)
    (said,) = below_least([layout], 30 * PT_PER_MM)
    assert said.code == "below-least-setting"
    assert said.message.startswith("tag is cut at a setting of 25.40 mm (1.000 in); the clamp")
    assert below_least([layout], 20 * PT_PER_MM) == []
    wide = carry_out(layout, front, 20 * PT_PER_MM)
    assert 20 <= wide.smallest_mm <= 25.4
    assert not any(cut.too_near for cut in cut_plan(layout, 20 * PT_PER_MM))


def test_lengths_are_rounded_to_the_nearest() -> None:
    assert in_both_units(4.25 * 72) == "107.95 mm (4.250 in)"
    assert in_both_units(100.125 * PT_PER_MM) == "100.13 mm (3.942 in)"
    assert in_both_units(100.124 * PT_PER_MM) == "100.12 mm (3.942 in)"


def test_mixed_piles_are_named_by_what_is_on_them(piece: Piece) -> None:
    items = [
        piece("card", "5in x 7in", 8), piece("tag", "2in x 3.5in", 24), piece("reply", "a6", 10)
    ]  # fmt: skip
    imposition = lay_out(items, [SHEET])
    for layout, front in zip(imposition.layouts, written(imposition), strict=True):
        carry_out(layout, front)
        assert all("paper" not in str(cut) for cut in cut_plan(layout))


def test_piles_that_look_alike_are_told_apart_by_the_picture() -> None:
    """Mirrored halves of a sheet that is worked and turned: one as large as the other."""
    items = [
        Item(name="wide", trim=Size.parse("5in x 2in"), bleed_pt=9, quantity=46, sides=2),
        Item(name="strip", trim=Size.parse("4.25in x 1in"), quantity=64, sides=2),
    ]
    rules = LayoutRules(duplex=Duplex.WORK_AND_TURN, gutter=Gutter.SHARE)
    imposition = lay_out(items, [SHEET], rules)
    said = []
    for layout, front in zip(imposition.layouts, written(imposition), strict=True):
        carry_out(layout, front)
        said += [cut.piles for cut in cut_plan(layout) if "in the picture" in cut.piles]
    assert said


def test_caution_defers_to_the_maker() -> None:
    assert "maker's instructions" in BLADES
    assert "trained" in BLADES
    assert LIES.startswith("Front up, head away from you")


@pytest.mark.slow
@few(6)
@given(st.data())
def test_every_plan_frees_every_piece(data: st.DataObject) -> None:
    duplex = data.draw(st.sampled_from([Duplex.ONE_SIDED, Duplex.SHEETWISE, Duplex.WORK_AND_TURN]))
    side = st.sampled_from([1.0, 2.0, 2.5, 3.5, 4.25, 5.0])
    items = [
        Item(
            name=f"p{k}",
            trim=Size(width_pt=data.draw(side) * 72, height_pt=data.draw(side) * 72),
            bleed_pt=data.draw(st.sampled_from([0.0, 9.0])),
            quantity=data.draw(st.integers(1, 100)),
            sides=1 if duplex is Duplex.ONE_SIDED else 2,
        )
        for k in range(data.draw(st.integers(1, 4)))
    ]
    rules = LayoutRules(duplex=duplex, gutter=data.draw(st.sampled_from(list(Gutter))))
    sheet = data.draw(st.sampled_from([SHEET, PRESS]))
    least = data.draw(st.sampled_from([20, 35])) * PT_PER_MM
    imposition = lay_out(items, [sheet], rules)
    pages = written(imposition)
    for at, layout in enumerate(imposition.layouts):
        front = pages[2 * at] if duplex is Duplex.SHEETWISE else pages[at]
        carry_out(layout, front, least)
        if duplex is not Duplex.ONE_SIDED:
            check_backs(layout, front, pages[2 * at + 1] if duplex is Duplex.SHEETWISE else front)
