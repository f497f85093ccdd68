"""What fills a sheet beyond the order is left off, as far as whole places go."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inkaccord.layout.model import Axis, Duplex, Item, LayoutRules, SheetStock
from inkaccord.layout.packing import lay_out, misfit
from inkaccord.sizes import Sides, Size

LETTER = SheetStock(name="letter", size=Size.parse("letter"), margins=Sides.even(12))


def item(name: str, trim: str, quantity: int, **more: object) -> Item:
    return Item(name=name, trim=Size.parse(trim), bleed_pt=9, quantity=quantity, **more)


def test_a_band_beside_a_card_is_printed_as_often_as_ordered() -> None:
    """One card fills most of a sheet, and two bands fit beside it: one is ordered for each."""
    card, band = item("card", "5in x 8in", 60), item("band", "1in x 8in", 60)
    alone = lay_out([card], [LETTER])
    made = lay_out([card, band], [LETTER])
    assert made.sheets == alone.sheets == 60
    assert made.printed == {"card": 60, "band": 60}


def test_one_forme_prints_both_sides_and_gives_two_of_each_place() -> None:
    rules = LayoutRules(duplex=Duplex.WORK_AND_TURN)
    parts = [
        item("card", "4in x 7in", 60, sides=2), item("tag", "2in x 2in", 60, sides=2)
    ]  # fmt: skip
    sheet = SheetStock(name="tabloid", size=Size.parse("17in x 11in"), margins=Sides.even(12))
    made = lay_out(parts, [sheet], rules)
    assert made.printed == {"card": 60, "tag": 60}
    assert all(n % 2 == 0 for it in made.layouts for n in map(it.copies_of, ("card", "tag")))


@pytest.mark.slow
@settings(max_examples=10, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(2, 6), st.integers(2, 6), st.integers(1, 90)),
        min_size=1, max_size=4,
    )
)  # fmt: skip
def test_nothing_is_printed_that_a_whole_run_of_a_place_could_spare(parts) -> None:
    items = [item(f"p{n}", f"{w}in x {h}in", quantity) for n, (w, h, quantity) in enumerate(parts)]
    made = lay_out(items, [LETTER])
    for it in items:
        more = made.printed[it.name] - it.quantity
        runs = [layout.run for layout in made.layouts if layout.copies_of(it.name)]
        assert 0 <= more < sum(runs)
    assert made.sheets >= made.lower_bound


def test_copies_beside_others_take_no_layout_of_their_own() -> None:
    """30 bands too many cost no sheet; to print them on fewer would take another set-up."""
    made = lay_out([item("card", "5in x 8in", 60), item("band", "1in x 8in", 90)], [LETTER])
    assert made.printed == {"card": 60, "band": 120}
    assert len(made.layouts) == 1


BIG = Item(name="band", trim=Size.parse("12in x 2in"), bleed_pt=9, quantity=1)
FOLDED = Item(
    name="menu", trim=Size.parse("10in x 6in"), bleed_pt=9, quantity=1, grain=Axis.UPRIGHT
)


@pytest.mark.parametrize(
    ("piece", "sheet", "said", "field"),
    [
        (BIG, LETTER, "larger than the sheet itself", "'trim'"),
        (BIG.model_copy(update={"trim": Size.parse("10.6in x 8in")}), LETTER,
         "it would fit without the bleed", "'bleed: 0'"),
        (BIG.model_copy(update={"trim": Size.parse("10.9in x 8in"), "bleed_pt": 0.0}), LETTER,
         "the margins that the device can't print", "'margin'"),
        (BIG.model_copy(update={"trim": LETTER.size}), LETTER,
         "with its bleed it is larger than the sheet itself", "'trim'"),
        (FOLDED.model_copy(update={"may_turn": False, "grain": None}), LETTER,
         "it would go turned, but the stock's look has a direction", "'directional'"),
        (FOLDED, LETTER.model_copy(update={"grain": Axis.UPRIGHT}), "the wrong way", "'grain'"),
    ],
)  # fmt: skip
def test_what_keeps_a_piece_off_every_sheet_is_named_with_its_field(
    piece, sheet, said, field
) -> None:
    finding = misfit(piece, [sheet])
    assert finding is not None
    assert said in finding.message
    assert str(sheet.name) in finding.message
    assert field in finding.hint


def test_bleed_and_room_are_said_in_figures() -> None:
    finding = misfit(BIG, [LETTER])
    assert "12 × 2 in, with 0.125 in of bleed all round" in finding.message
    assert "leaves 8.17 × 10.67 in inside" in finding.message  # 8.5 and 11 in, less 24 pt
    metric = misfit(BIG.model_copy(update={"trim": Size.parse("300mm x 50mm")}), [LETTER])
    assert "300 × 50 mm, with 3.2 mm of bleed all round" in metric.message  # 9 pt are 3.175 mm
